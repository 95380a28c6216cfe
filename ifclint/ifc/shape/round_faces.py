"""A pipe drawn as faces of true surfaces: its cylindrical faces tell axis and radius, the circles
along their edges where it ends."""

from __future__ import annotations

import math
from typing import NamedTuple

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.cylinders import BARREL_SHARE, WIDEST_BELL, Cylinder
from ifclint.ifc.shape.items import ItemReader
from ifclint.ifc.shape.placement import Placements, dot
from ifclint.ifc.step.spf import number
from ifclint.ifc.step.text_index import Ref

SURFACE = b"IFCCYLINDRICALSURFACE("
BENT = b"IFCTOROIDALSURFACE("  # of an elbow
SAME_M = 1e-4  # centres and radii no farther apart are one
PARALLEL = 1.0 - 1e-6


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
