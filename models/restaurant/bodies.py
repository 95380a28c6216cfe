"""Bodies of parts, in feet: swept disks, extrusions and facets."""

import math
from collections.abc import Sequence

from .step import Ref, Step, Word

Point = tuple[float, float, float]
FACETS = 8


def swept(step: Step, points: Sequence[Point], radius: float) -> Ref:
    """A disk carried along straight lines."""
    line = step.add("IFCPOLYLINE", tuple(step.point(*each) for each in points))
    return step.add("IFCSWEPTDISKSOLID", line, radius, None, None, None)


def extruded_pipe(step: Step, length: float, radius: float) -> Ref:
    """A hollow round along local z."""
    at = step.add("IFCAXIS2PLACEMENT2D", step.point(0, 0), None)
    profile = step.add(
        "IFCCIRCLEHOLLOWPROFILEDEF", Word("AREA"), None, at, radius, max(radius * 0.1, 0.004)
    )
    return _extruded(step, profile, length, (0.0, 0.0, 0.0))


def cylinder(step: Step, length: float, radius: float, base: Point = (0, 0, 0)) -> Ref:
    """A solid round along local z."""
    at = step.add("IFCAXIS2PLACEMENT2D", step.point(0, 0), None)
    profile = step.add("IFCCIRCLEPROFILEDEF", Word("AREA"), None, at, radius)
    return _extruded(step, profile, length, base)


def box(step: Step, low: Point, high: Point) -> Ref:
    """A box between two corners."""
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    at = step.add("IFCAXIS2PLACEMENT2D", step.point(*middle), None)
    profile = step.add(
        "IFCRECTANGLEPROFILEDEF", Word("AREA"), None, at, high[0] - low[0], high[1] - low[1]
    )
    return _extruded(step, profile, high[2] - low[2], (0.0, 0.0, low[2]))


def _extruded(step: Step, profile: Ref, length: float, base: Point) -> Ref:
    at = step.add("IFCAXIS2PLACEMENT3D", step.point(*base), None, None)
    return step.add("IFCEXTRUDEDAREASOLID", profile, at, step.direction(0, 0, 1), length)


def faceted_pipe(step: Step, length: float, radius: float) -> Ref:
    """An eight-sided prism along local z."""
    turns = [2 * math.pi * each / FACETS for each in range(FACETS)]
    rings = [
        [step.point(radius * math.cos(turn), radius * math.sin(turn), z) for turn in turns]
        for z in (0.0, length)
    ]
    loops = [tuple(reversed(rings[0])), tuple(rings[1])]
    for each in range(FACETS):
        after = (each + 1) % FACETS
        loops.append((rings[0][each], rings[0][after], rings[1][after], rings[1][each]))
    faces = []
    for loop in loops:
        bound = step.add("IFCFACEOUTERBOUND", step.add("IFCPOLYLOOP", loop), True)
        faces.append(step.add("IFCFACE", (bound,)))
    return step.add("IFCFACETEDBREP", step.add("IFCCLOSEDSHELL", tuple(faces)))


def local_axes(direction: Point) -> tuple[Point, Point]:
    """Local z along a unit vector, and a local x square to it."""
    x, y, z = direction
    across = (0.0, 1.0, 0.0) if abs(z) > 0.9 else (-y, x, 0.0)
    # made square: the part along the direction is taken away
    along = sum(a * b for a, b in zip(across, direction, strict=True))
    square = tuple(a - along * b for a, b in zip(across, direction, strict=True))
    size = math.sqrt(sum(each * each for each in square))
    return direction, (square[0] / size, square[1] / size, square[2] / size)
