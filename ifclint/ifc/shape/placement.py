"""Positions: local placements composed into frames in metres.

A frame is twelve floats: the x, y and z axes of a coordinate system and its origin (metres).
"""

import math
from collections import Counter
from collections.abc import Iterable
from math import dist

import numpy as np

from ifclint.engineering.extents import box_around, mean, middle
from ifclint.ifc.elements import Box, Element, Point
from ifclint.ifc.shape.frames import FARTHEST, frame_table
from ifclint.ifc.step.arrays import Bools, Floats, Ints
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref, TextIndex

Frame = tuple[float, ...]  # xx xy xz  yx yy yz  zx zy zz  ox oy oz
STRAIGHT: Frame = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
IDENTITY: Frame = (*STRAIGHT, 0.0, 0.0, 0.0)
DEEPEST = 200  # placements in a chain; more is a cycle
FAR_OFF_M = 1.0  # what is placed farther from its body or ends is not placed where it stands
FAR_BESIDE_M = 0.3  # nor what is placed farther beside its body in plan
BESIDE_M = 0.05  # nor what is placed where many are, and that is no farther off than this
MANY = 4  # elements in one place, more than meet there


def to_world(f: Frame, p: Point) -> Point:
    """A point given in a frame, in the coordinates the frame is given in."""
    xx, xy, xz, yx, yy, yz, zx, zy, zz, ox, oy, oz = f
    x, y, z = p
    return (
        xx * x + yx * y + zx * z + ox,
        xy * x + yy * y + zy * z + oy,
        xz * x + yz * y + zz * z + oz,
    )


def rotate(f: Frame, v: Point) -> Point:
    """A direction given in a frame."""
    x, y, z = v
    return (
        f[0] * x + f[3] * y + f[6] * z,
        f[1] * x + f[4] * y + f[7] * z,
        f[2] * x + f[5] * y + f[8] * z,
    )


def turned_deg(f: Frame | None) -> float:
    """How far the x axis of a frame is turned in plan; 0 where it stands up, or is not known."""
    return math.degrees(math.atan2(f[1], f[0])) if f and math.hypot(f[0], f[1]) > 1e-6 else 0.0


def origin(f: Frame) -> Point:
    return (f[9], f[10], f[11])


def compose(outer: Frame, inner: Frame) -> Frame:
    """The inner frame in the coordinates of the outer one."""
    if inner[:9] == STRAIGHT:
        return outer[:9] + to_world(outer, inner[9:])  # type: ignore[arg-type]
    return (
        *rotate(outer, inner[0:3]),  # type: ignore[arg-type]
        *rotate(outer, inner[3:6]),  # type: ignore[arg-type]
        *rotate(outer, inner[6:9]),  # type: ignore[arg-type]
        *to_world(outer, inner[9:]),  # type: ignore[arg-type]
    )


def inverse(f: Frame) -> Frame:
    """The frame that undoes a frame of unit axes."""
    turned: Frame = (f[0], f[3], f[6], f[1], f[4], f[7], f[2], f[5], f[8], 0.0, 0.0, 0.0)
    back = rotate(turned, (f[9], f[10], f[11]))
    return (*turned[:9], -back[0], -back[1], -back[2])


class Placements:
    """World frames of placements, points and directions of one file, by reference."""

    def __init__(
        self,
        text: TextIndex,
        metres_per_unit: float,
        wanted: Ints | None = None,
        world: Frame = IDENTITY,
    ) -> None:
        """Those of an array of references are read at once, others when they are asked for.
        `world` is what a placement relative to nothing is relative to."""
        self.world = world
        self._text = text
        self._scale = metres_per_unit
        at_once = np.zeros(0, dtype=np.int64) if wanted is None else wanted
        self._table = frame_table(text, metres_per_unit, at_once, world)
        self.damaged: set[Ref] = set()
        self.unknown: set[Ref] = set()
        self._frames: dict[Ref, Frame | None] = {0: None}
        self._axes: dict[Ref, Frame | None] = {0: IDENTITY}
        self._directions: dict[Ref, Point | None] = {0: None}

    def positions(self, refs: Ints) -> Floats:
        """The origins (n, 3) of an array of placements in the world, NaN where there is none;
        those that cannot be read are `damaged`, those that tell no place in numbers `unknown`."""
        found = self._table.origins(refs)  # those written in the usual way
        for i in np.flatnonzero(np.isnan(found[:, 0]) & (refs != 0)).tolist():
            ref = int(refs[i])
            try:
                frame = self.frame(ref)
            except ValueError:
                self.damaged.add(ref)
                continue
            if frame is not None and all(map(math.isfinite, origin(frame))):
                found[i] = origin(frame)
            else:
                self.unknown.add(ref)
        return found

    def forget(self, refs: Ints) -> None:
        """Let placements go that were read at once and are not asked for again."""
        self._table = self._table.without(refs)

    def frames(self, refs: list[Ref]) -> tuple[Floats, Floats, Bools]:
        """Axes (n, 3, 3) and origins (n, 3) of placements, and which are at hand."""
        return self._table.frames(np.array(refs, dtype=np.int64))

    def read(self, refs: list[Ref]) -> None:
        """Have the frames of many placements at hand, of those written in the usual way, and no
        others."""
        axes, origins, known = self.frames(refs)
        frames = np.concatenate([axes.reshape(-1, 9), origins], axis=1)[known].tolist()
        at_hand = zip(np.array(refs)[known].tolist(), map(tuple, frames), strict=True)
        self._frames = {**dict(at_hand), 0: None}

    def frame(self, ref: Ref, depth: int = 0) -> Frame | None:
        """The world frame of a placement; None where it cannot be worked out."""
        frames = self._frames
        if ref in frames:
            return frames[ref]
        frame = self._table.frame(ref)
        if frame is None:
            text = self._text.get(ref)
            if text is None or depth > DEEPEST or text[:3] != b"IFC" or b"PLACEMENT(" not in text:
                return None
            parent, own = self._parent_and_own(text)
            outer = self.frame(parent, depth + 1) if parent else self.world
            frame = compose(outer, own) if outer is not None and own is not None else None
            frames[ref] = frame
        return frame

    def _parent_and_own(self, text: bytes) -> tuple[Ref, Frame | None]:
        """Parent and own frame of IFCLOCALPLACEMENT(#1,#2), or of a linear placement, whose
        Cartesian position is its last argument."""
        parts = text[text.index(b"(") + 1 : text.rindex(b")")].split(b",")
        local = number(parts[-1])
        return number(parts[0]), self.axis_placement(local) if local else None

    def axis_placement(self, ref: Ref) -> Frame | None:
        """An IfcAxis2Placement3D or 2D as a frame; the identity for 0."""
        if ref not in self._axes:
            self._axes[ref] = self._axis_placement(ref)
        return self._axes[ref]

    def _axis_placement(self, ref: Ref) -> Frame | None:
        text = self._text.get(ref)
        if text is None or not text.startswith(b"IFCAXIS2"):
            return None
        parts = text[text.index(b"(") + 1 : text.rindex(b")")].split(b",")
        at = self.point(number(parts[0]))
        if at is None:
            return None
        z_axis, x_axis = (number(parts[1]) if len(parts) == 3 else 0), number(parts[-1])
        if not z_axis and not x_axis:
            return STRAIGHT + at
        z = self.direction(z_axis) or (0.0, 0.0, 1.0)
        return right_handed(z, self.direction(x_axis)) + at

    def point(self, ref: Ref) -> Point | None:
        """An IfcCartesianPoint in metres, z = 0 where it is two-dimensional."""
        text = self._text.get(ref)
        if text is None or text[:17] != b"IFCCARTESIANPOINT":
            return None
        given = _numbers(text)
        if len(given) != 3:
            given = [*given, 0.0, 0.0, 0.0][:3]
        x, y, z = given
        s = self._scale
        far = (abs(x) + abs(y) + abs(z)) * s
        return (x * s, y * s, z * s) if far < FARTHEST else None

    def direction(self, ref: Ref) -> Point | None:
        """An IfcDirection as a unit vector; None where it has no length."""
        if ref not in self._directions:
            text = self._text.get(ref)
            directed = text is not None and text[:12] == b"IFCDIRECTION"
            given = _numbers(text) if directed and text is not None else []
            x, y, z = (*given, 0.0, 0.0, 0.0)[:3]
            self._directions[ref] = unit((x, y, z))
        return self._directions[ref]


def points(positions: Floats) -> list[Point | None]:
    """Rows of an array (n, 3), None where they are NaN."""
    found: list[Point | None] = list(map(tuple, positions.tolist()))
    for row in np.flatnonzero(np.isnan(positions[:, 0])).tolist():
        found[row] = None
    return found


def _numbers(text: bytes) -> list[float]:
    """The numbers of IFCCARTESIANPOINT((1.,2.,3.))."""
    inner = text[text.rindex(b"(") + 1 : text.index(b")")]
    return [float(c) for c in inner.split(b",")] if inner else []


def unit(v: Point) -> Point | None:
    n = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    return (v[0] / n, v[1] / n, v[2] / n) if 1e-12 < n < 1e12 else None


def cross(a: Point, b: Point) -> Point:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def turned(p: Point, pivot: Point, about: Point, angle: float) -> Point:
    """A point turned about an axis through the pivot, by an angle in radians (Rodrigues)."""
    v = (p[0] - pivot[0], p[1] - pivot[1], p[2] - pivot[2])
    c, s = math.cos(angle), math.sin(angle)
    w, along = cross(about, v), dot(about, v) * (1 - c)
    return (
        pivot[0] + v[0] * c + w[0] * s + about[0] * along,
        pivot[1] + v[1] * c + w[1] * s + about[1] * along,
        pivot[2] + v[2] * c + w[2] * s + about[2] * along,
    )


def right_handed(z: Point, ref: Point | None) -> Frame:
    """Right-handed axes with the given z and x as near `ref` as it can be (ISO 10303-42)."""
    for guess in (ref, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
        if guess is None:
            continue
        along = dot(guess, z)
        x = unit((guess[0] - along * z[0], guess[1] - along * z[1], guess[2] - along * z[2]))
        if x is not None and abs(along) < 0.999999:
            return x + cross(z, x) + z
    return STRAIGHT


def shared_places(places: Iterable[Point | None]) -> frozenset[Point]:
    """The places where a file has many elements, as an origin of all is."""
    return frozenset(p for p, n in Counter(places).items() if p is not None and n >= MANY)


def place_of(element: Element, body: Box | None = None, is_shared: bool = False) -> Point | None:
    """Where an element is: its placement, unless its body or its ends lie far from that, as where
    a program places everything at one origin and draws the bodies where they belong. `body` is the
    box of one that is known by nothing else; `is_shared` tells that many are placed there."""
    position = element.position
    if position is None:
        return None
    far_m = BESIDE_M if is_shared else FAR_OFF_M
    if element.box is not None:
        low, high = element.box
        nearest = _clamped(position, low, high)
        beside_m = dist(nearest[:2], position[:2])
        if dist(nearest, position) <= far_m and beside_m <= FAR_BESIDE_M:
            return position
        return *middle(low, high)[:2], low[2]
    ends = []
    for end in element.ends:
        if end.position == position:
            return end.position  # one point, kept once
        if end.position is not None:
            if not is_shared and dist(end.position, position) <= far_m:
                return position
            ends.append(end.position)
    if not ends and body is not None and dist(_clamped(position, *body), position) > far_m:
        return middle(*body)
    if not ends or (is_shared and dist(_clamped(position, *box_around(ends)), position) <= far_m):
        return position
    return mean(ends)


def _clamped(p: Point, low: Point, high: Point) -> Point:
    x, y, z = (min(max(v, a), b) for v, a, b in zip(p, low, high, strict=True))
    return (x, y, z)
