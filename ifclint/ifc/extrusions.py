"""Extruded solids: the axes of many at once, and what the text of one says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ifclint.ifc.columns import numbers, rows_of
from ifclint.ifc.elements import Point
from ifclint.ifc.frames import axis_placements, in_world, unit_vectors
from ifclint.ifc.profiles import Round
from ifclint.ifc.text_index import Ref, TextIndex

EXTRUSION = b"IFCEXTRUDEDAREASOLID"
DEEPEST_M = 1e6
LARGEST_REF = 2**53  # exact as a float
Straight = tuple[Point, Point, float, float | None]  # both ends, outside and inside diameter


def straight_axes(
    text: TextIndex, scale: float, items: Any, profile: Callable[[Ref], Round | None]
) -> dict[Ref, Straight]:
    """The axes of those among `items` (an array) that are round and written in the usual way."""
    import numpy as np

    items, rows = text.distinct(items, EXTRUSION)
    fields, well = numbers(text.arguments(rows), b"#,#,#,")
    well &= (fields[:, :3] < LARGEST_REF).all(axis=1)
    items, fields = items[well], fields[well]
    outline, position, way = fields[:, :3].astype(np.int64).T
    depth = fields[:, 3, None] * scale
    which, centre, outside, inside = _profiles(np, outline, profile)
    axes, origins, placed = _positions(np, text, scale, position)
    along, directed = unit_vectors(text, way)
    fit = which & placed & directed & (way != 0) & (depth > 0)[:, 0] & (depth < DEEPEST_M)[:, 0]
    ends = [(in_world(p, axes) + origins)[fit].tolist() for p in (centre, centre + along * depth)]
    made = zip(
        map(tuple, ends[0]), map(tuple, ends[1]), outside[fit].tolist(),
        [None if d != d else d for d in inside[fit].tolist()], strict=True,
    )  # fmt: skip
    return dict(zip(items[fit].tolist(), made, strict=True))


def _profiles(np: Any, refs: Any, profile: Callable[[Ref], Round | None]) -> tuple[Any, ...]:
    """Which profiles are round, their centres (n, 3), outside and inside diameters."""
    different, row = np.unique(refs, return_inverse=True)
    table = np.full((len(different), 5), np.nan)
    for i, ref in enumerate(different.tolist()):
        found = profile(ref)
        if found is not None:
            table[i] = (*found[0], found[1], found[2] or np.nan)
    of_each = table[row]
    return ~np.isnan(of_each[:, 3]), of_each[:, :3], of_each[:, 3], of_each[:, 4]


def _positions(np: Any, text: TextIndex, scale: float, refs: Any) -> tuple[Any, Any, Any]:
    """Axes and origins of positions, straight where there is none, and which are known."""
    ids, axes, origins, _ = axis_placements(text, scale, refs)
    at = rows_of(ids, refs)
    axes, origins = axes[at], origins[at]
    axes[refs == 0], origins[refs == 0] = np.eye(3), 0.0
    return axes, origins, (at >= 0) | (refs == 0)
