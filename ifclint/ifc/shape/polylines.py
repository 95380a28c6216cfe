"""Many polylines at once, in space or in a plane. What is written in an unusual way is left out."""

from __future__ import annotations

import numpy as np

from ifclint.ifc.elements import Point
from ifclint.ifc.shape.frames import FARTHEST, pairs, triples
from ifclint.ifc.step.arrays import Ints
from ifclint.ifc.step.columns import lists, references, rows_of
from ifclint.ifc.step.text_index import Ref, TextIndex


def polylines(
    text: TextIndex, scale: float, curves: Ints, in_plane: bool = False
) -> dict[Ref, tuple[Point, ...]]:
    """The points, in metres, of the polylines among curves, of those that have two or more; of
    curves in a plane with 0 for z."""
    curves, rows = text.distinct(curves, b"IFCPOLYLINE")
    held = lists(text, text.ends[rows] - 2)
    well = held.well & (held.before + 1 == text.opens[rows]) & (held.counts > 1)
    ids, coordinates = (pairs if in_plane else triples)(text, b"IFCCARTESIANPOINT", held.members)
    at = rows_of(ids, held.members)
    given = coordinates[at] * scale
    owner = np.arange(len(curves)).repeat(held.counts)
    well[owner[(at < 0) | ~(np.abs(given).sum(axis=1) < FARTHEST)]] = False
    points: list[Point] = list(map(tuple, given.tolist()))
    last = np.cumsum(held.counts)
    spans = zip(
        curves[well].tolist(), (last - held.counts)[well].tolist(), last[well].tolist(), strict=True
    )
    return {curve: tuple(points[a:b]) for curve, a, b in spans}


def outlines(text: TextIndex, scale: float, profiles: Ints) -> dict[Ref, tuple[Point, ...]]:
    """The corners of the profiles whose outline is a polyline."""
    profiles, rows = text.distinct(profiles, b"IFCARBITRARYCLOSEDPROFILEDEF")
    curves, _, well = references(text, text.ends[rows] - 2, 1)
    known = polylines(text, scale, curves[well, 0], in_plane=True)
    of_each = zip(profiles[well].tolist(), curves[well, 0].tolist(), strict=True)
    return {profile: known[curve] for profile, curve in of_each if curve in known}
