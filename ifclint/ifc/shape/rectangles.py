"""Many rectangular profiles at once. Those written in an unusual way, or turned in their plane, are
left out."""

from __future__ import annotations

import numpy as np

from ifclint.ifc.shape.frames import FARTHEST, pairs
from ifclint.ifc.step.arrays import Bools, Floats, Ints
from ifclint.ifc.step.columns import COMMA, last_of, numbers, references, rows_of
from ifclint.ifc.step.text_index import TextIndex

CORNERS = np.array([(i, j, 0.0) for i in (-0.5, 0.5) for j in (-0.5, 0.5)])


def rectangles(text: TextIndex, scale: float, profiles: Ints) -> tuple[Ints, Floats]:
    """Ascending numbers and corners (n, 4, 3), in metres, of the rectangles among profiles."""
    ids, rows = text.distinct(profiles, b"IFCRECTANGLEPROFILEDEF")
    begins, ends = text.opens[rows], text.ends[rows] - 1
    before_height = last_of(text, COMMA, ends, begins)
    before_width = last_of(text, COMMA, before_height, begins)
    sizes, plain = numbers(text.between(before_width + 1, ends), b",")
    positions, _, well = references(text, before_width - 1, 1)
    middles, straight = _middles(text, scale, positions[:, 0])
    sizes = np.abs(sizes) * scale
    fit = plain & well & straight & ((sizes > 0) & (sizes < FARTHEST)).all(axis=1)
    reach = np.column_stack([sizes, np.zeros(len(sizes))])[fit, None]
    return ids[fit], CORNERS * reach + middles[fit, None]


def _middles(text: TextIndex, scale: float, placements: Ints) -> tuple[Floats, Bools]:
    """The origins (n, 3) of placements in a plane, and which are known and not turned."""
    ids, rows = text.distinct(placements, b"IFCAXIS2PLACEMENT2D")
    found, _, well = references(text, text.ends[rows] - 2, 2)
    points, known = _given(text, b"IFCCARTESIANPOINT", found[:, 0])
    along, directed = _given(text, b"IFCDIRECTION", found[:, 1])
    along_x = directed & (along[:, 0] > 0) & (along[:, 1] == 0)
    well &= known & ((found[:, 1] == 0) | along_x)
    well &= np.abs(points).sum(axis=1) * scale < FARTHEST
    at = rows_of(ids[well], placements)
    middles = np.zeros((len(placements), 3))
    middles[at >= 0] = points[well][at[at >= 0]] * scale
    return middles, (at >= 0) | (placements == 0)


def _given(text: TextIndex, name: bytes, refs: Ints) -> tuple[Floats, Bools]:
    """The coordinates (n, 3) of two-dimensional instances, and which are known."""
    ids, coordinates = pairs(text, name, refs)
    at = rows_of(ids, refs)
    return coordinates[at], at >= 0
