"""A straight pipe drawn as a mesh or as faces of true surfaces: the cylinder it lies on."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ifclint.engineering.distinct import distinct
from ifclint.ifc.elements import Point
from ifclint.ifc.shape.items import ItemReader
from ifclint.ifc.shape.placement import Placements, dot
from ifclint.ifc.step.arrays import Floats, Ints
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref

SURFACE = b"IFCCYLINDRICALSURFACE("
BENT = b"IFCTOROIDALSURFACE("  # of an elbow
SAME_M = 1e-4  # centres and radii no farther apart are one
PARALLEL = 1.0 - 1e-6
RING_TOLERANCE = 0.015  # corners whose distances from the axis differ less are one ring
RING_CORNERS = 12  # six at either end
WIDEST_BELL = 2.0  # of the barrel; what is wider is no bell or flange
LEAST_SIDES = 6  # a round pipe is drawn with at least so many
ANGLE_STEP = 0.05  # rad; corners closer than this around the axis are one direction
MOST_RINGS = 5  # bore, barrel, and a bell with its own bore
BARREL_SHARE = 0.8  # of the whole length; a shorter ring is a bell, a collar or a flange
LEAST_SLENDERNESS = 0.1  # length over outside diameter: a close nipple, no plate


@dataclass(frozen=True, slots=True)
class Cylinder:
    ends: tuple[Point, Point]
    outside_m: float
    inside_m: float | None


def fit_cylinder(corners: list[Point]) -> Cylinder | None:
    """The longest round body the corners fit; None where they are not round about any axis.

    Each principal direction is tried. Across the right one, the distances from the axis fall
    into few rings. The barrel is the widest ring that runs most of the length, the bore the
    narrowest; a wider, shorter ring is a bell and does not count. The ends are the barrel's.
    """
    cloud = np.asarray(corners, dtype=float)
    _, _, directions = np.linalg.svd(cloud - cloud.mean(axis=0), full_matrices=False)
    fitted = [c for c in (_about(cloud, direction) for direction in directions) if c is not None]
    return max(fitted, key=_length, default=None)


def _about(cloud: Floats, direction: Floats) -> Cylinder | None:
    """The cylinder about an axis in this direction, if the corners are round about it."""
    direction = direction if direction[np.argmax(np.abs(direction))] > 0 else -direction
    side = np.linalg.svd(direction[None, :])[2][1:]
    flat, along = cloud @ side.T, cloud @ direction
    centre = (flat.max(axis=0) + flat.min(axis=0)) / 2
    radii = np.hypot(*(flat - centre).T)
    rings = _rings(radii)
    whole = float(np.ptp(along))
    if rings is None or whole < LEAST_SLENDERNESS * 2 * float(radii.max()):
        return None
    barrel = [r for r in rings if np.ptp(along[r]) >= BARREL_SHARE * whole]
    if not barrel or len(barrel[0]) < RING_CORNERS:
        return None
    bore, skin = barrel[0], barrel[-1]
    if radii.max() > WIDEST_BELL * radii[skin].mean():
        return None
    if _sides(flat[skin] - centre) < LEAST_SIDES:
        return None
    low, high = along[bore].min(), along[bore].max()
    base = centre @ side
    ends = tuple(tuple(float(c) for c in base + at * direction) for at in (low, high))
    hollow = len(barrel) > 1
    inside = 2 * float(radii[bore].mean()) if hollow else None
    return Cylinder(ends, 2 * float(radii[skin].mean()), inside)  # type: ignore[arg-type]


def _sides(spokes: Floats) -> int:
    """In how many directions from the axis there are corners."""
    angles = np.arctan2(spokes[:, 1], spokes[:, 0])
    return int(distinct(np.round(angles / ANGLE_STEP)).size)


def _rings(radii: Floats) -> list[Ints] | None:
    """Indices of the corners by ring, narrowest first; None where there are no clear rings."""
    order = np.argsort(radii)
    steps = np.diff(radii[order])
    largest = float(radii.max())
    if largest <= 0:
        return None
    rings: list[Ints] = np.split(order, np.flatnonzero(steps > RING_TOLERANCE * largest) + 1)
    on_axis = [r for r in rings if radii[r].max() < RING_TOLERANCE * largest]
    rings = [r for r in rings if radii[r].max() >= RING_TOLERANCE * largest]
    clear = all(np.ptp(radii[r]) <= 2 * RING_TOLERANCE * largest for r in rings)
    return rings if clear and len(rings) <= MOST_RINGS and len(on_axis) <= 1 else None


def _length(cylinder: Cylinder) -> float:
    a, b = cylinder.ends
    return sum((p - q) ** 2 for p, q in zip(a, b, strict=True))


class Ring(NamedTuple):
    """A circle, or the surface of a cylinder at one place of its axis."""

    centre: Point
    along: Point
    radius_m: float


def cylinder_of(
    items: ItemReader, placements: Placements, metres_per_unit: float, item: Ref
) -> Cylinder | None:
    """The round body of an advanced brep; None where its cylindrical faces have not all one axis.

    The barrel is the widest face that runs most of the length, the bore the narrowest, as of a
    mesh; a wider, shorter one is a bell.
    """

    def ring(ref: Ref) -> Ring | None:
        _, (position, radius) = items.written(ref)
        frame = placements.axis_placement(number(position))
        if frame is None:
            return None
        return Ring((frame[9], frame[10], frame[11]), (frame[6], frame[7], frame[8]),
                    float(radius) * metres_per_unit)  # fmt: skip

    faces = [found for ref in items.referred(item, SURFACE) if (found := ring(ref))]
    if not faces or items.referred(item, BENT) or not all(_on(f, faces[0]) for f in faces):
        return None
    curves = {curve for _, _, curve, _ in items.edges(item)}
    circles = [c for ref in sorted(curves) if items.written(ref)[0] == b"IFCCIRCLE"
               and (c := ring(ref)) and _on(c, faces[0])]  # fmt: skip
    return _barrel(faces, circles)


def _barrel(faces: list[Ring], circles: list[Ring]) -> Cylinder | None:
    axis = faces[0]
    at = {c: _along_m(axis, c.centre) for c in circles}
    whole = max(at.values(), default=0.0) - min(at.values(), default=0.0)
    spans = {}
    for radius in {round(f.radius_m, 6) for f in faces}:
        of = [m for c, m in at.items() if abs(c.radius_m - radius) <= SAME_M]
        if of and max(of) - min(of) >= max(BARREL_SHARE * whole, SAME_M):
            spans[radius] = min(of), max(of)
    if not spans:
        return None
    skin, bore = max(spans), min(spans)
    if skin <= 0 or max(f.radius_m for f in faces) > WIDEST_BELL * skin:
        return None
    low, high = (_at(axis, m) for m in spans[bore])
    return Cylinder((low, high), 2 * skin, 2 * bore if bore < skin else None)


def _on(ring: Ring, axis: Ring) -> bool:
    """Whether a ring lies about an axis."""
    foot = _at(axis, _along_m(axis, ring.centre))
    return abs(dot(ring.along, axis.along)) >= PARALLEL and math.dist(foot, ring.centre) <= SAME_M


def _along_m(axis: Ring, p: Point) -> float:
    x, y, z = (b - a for a, b in zip(axis.centre, p, strict=True))
    return dot((x, y, z), axis.along)


def _at(axis: Ring, along_m: float) -> Point:
    x, y, z = (c + along_m * d for c, d in zip(axis.centre, axis.along, strict=True))
    return x, y, z
