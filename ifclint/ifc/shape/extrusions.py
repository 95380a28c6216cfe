"""Many extruded solids at once: the axes of round ones, and the corners of whatever they are.

Solids that are written in an unusual way are left out.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ifclint.ifc.elements import Box, Point
from ifclint.ifc.shape.frames import FARTHEST, axis_placements, in_world, pairs, unit_vectors
from ifclint.ifc.shape.profiles import RoundProfile
from ifclint.ifc.step.arrays import Bools, Floats, Ints
from ifclint.ifc.step.columns import COMMA, last_of, numbers, references, rows_of
from ifclint.ifc.step.text_index import Ref, TextIndex

EXTRUSION = b"IFCEXTRUDEDAREASOLID"
DEEPEST_M = 1e100  # beyond, lengths cannot be reckoned; what is far too long is told elsewhere
StraightAxis = tuple[Ref, tuple[Point, Point], float, float | None]  # item, ends, diameters
CORNERS = np.array([(i, j, 0.0) for i in (-0.5, 0.5) for j in (-0.5, 0.5)])


class Extrusions(NamedTuple):
    """Ascending `items` with their profiles, axes (n, 3, 3), origins, directions and depths."""

    items: Ints
    profiles: Ints
    axes: Floats
    origins: Floats
    direction: Floats
    depth: Floats


class Bodies(NamedTuple):
    """Ascending `elements`, the first row of each in `corners`, and the corners (n, 3) of all."""

    elements: Ints
    firsts: Ints
    corners: Floats

    def boxes(self) -> Iterator[tuple[int, Box]]:
        """Each element with the box around its corners."""
        if not len(self.elements):
            return
        low = np.minimum.reduceat(self.corners, self.firsts, axis=0).tolist()
        high = np.maximum.reduceat(self.corners, self.firsts, axis=0).tolist()
        for element, a, b in zip(self.elements.tolist(), low, high, strict=True):
            yield element, ((a[0], a[1], a[2]), (b[0], b[1], b[2]))

    def corners_of(self, wanted: Callable[[int], bool]) -> Iterator[tuple[int, tuple[Point, ...]]]:
        """Each element wanted with its corners."""
        each = pairwise([*self.firsts.tolist(), len(self.corners)])
        for element, (a, b) in zip(self.elements.tolist(), each, strict=True):
            if wanted(element):
                yield element, tuple(map(tuple, self.corners[a:b].tolist()))


def read_extrusions(text: TextIndex, scale: float, items: Ints) -> Extrusions:
    """The extruded solids among `items` (an array of references)."""
    items, rows = text.distinct(items, EXTRUSION)
    ends = text.ends[rows] - 1
    comma = last_of(text, COMMA, ends, text.opens[rows])
    refs, before, well = references(text, comma - 1, 3)
    depth, plain = numbers(text.between(comma + 1, ends), b"")
    depth *= scale
    ids, axes, origins, _ = axis_placements(text, scale, refs[:, 1])
    at, unset = rows_of(ids, refs[:, 1]), refs[:, 1] == 0
    axes, origins = axes[at], origins[at]
    axes[unset], origins[unset] = np.eye(3), 0.0
    direction, directed = unit_vectors(text, refs[:, 2])
    fit = well & (before == text.opens[rows]) & plain
    fit &= ((at >= 0) | unset) & directed & (refs[:, 2] != 0)
    fit &= ((depth > 0) & (depth < DEEPEST_M))[:, 0]
    return Extrusions(*(a[fit] for a in (items, refs[:, 0], axes, origins, direction, depth)))


def straight_axes(
    solids: Extrusions, profile: Callable[[Ref], RoundProfile | None]
) -> Iterator[StraightAxis]:
    """The axes of the solids whose profile is round."""
    different, row = np.unique(solids.profiles, return_inverse=True)
    table = np.full((len(different), 5), np.nan)
    for i, ref in enumerate(different.tolist()):
        found = profile(ref)
        if found is not None:
            table[i] = (*found[0], found[1], found[2] or np.nan)
    of_each = table[row]
    fit = ~np.isnan(of_each[:, 3])
    centre, outside, inside = of_each[:, :3], of_each[fit, 3], of_each[fit, 4]
    ends = [
        (in_world(p, solids.axes) + solids.origins)[fit].tolist()
        for p in (centre, centre + solids.direction * solids.depth)
    ]
    return zip(
        solids.items[fit].tolist(), zip(*(map(tuple, end) for end in ends), strict=True),
        outside.tolist(), (None if d != d else d for d in inside.tolist()), strict=True,
    )  # fmt: skip


def bodies(
    solids: Extrusions,
    items: Ints,
    counts: Ints,
    axes: Floats,
    origins: Floats,
    outlines: Callable[[Ints], tuple[Ints, Floats]],
) -> Bodies:
    """World corners of elements in these frames (n, 3, 3) and (n, 3), each made of so many `items`.

    `outlines` tells how many corners enclose each of some profiles, and these in turn. An element
    of which an item is no plain extrusion is left out.
    """
    whole = counts > 0
    owner = np.arange(len(counts)).repeat(counts)
    solid = rows_of(solids.items, items)
    whole[owner[solid < 0]] = False
    solid, owner = solid[whole[owner]], owner[whole[owner]]
    if not len(owner):
        return Bodies(owner, owner, np.empty((0, 3)))
    different, row = np.unique(solids.profiles[solid], return_inverse=True)
    sizes, corners = outlines(different)
    whole[owner[sizes[row] == 0]] = False
    keep = whole[owner]
    solid, owner, row = solid[keep], owner[keep], row[keep]
    each = _ragged(np.cumsum(sizes) - sizes, sizes, row)
    solid, owner = solid.repeat(sizes[row]), owner.repeat(sizes[row])
    frame, origin = axes[owner], in_world(solids.origins[solid], axes[owner]) + origins[owner]
    turned = np.stack([in_world(solids.axes[solid, i], frame) for i in range(3)], axis=1)
    base = in_world(corners[each], turned) + origin
    top = base + in_world(solids.direction[solid], turned) * solids.depth[solid]
    owner = np.concatenate([owner, owner])
    by_owner = np.argsort(owner, kind="stable")
    owner = owner[by_owner]
    firsts = np.flatnonzero(np.diff(owner, prepend=-1))
    return Bodies(owner[firsts], firsts, np.concatenate([base, top])[by_owner])


def _ragged(starts: Ints, sizes: Ints, rows: Ints) -> Ints:
    """For each row in turn, the numbers from its start, as many as its size."""
    counts = sizes[rows]
    within = np.arange(int(counts.sum())) - (np.cumsum(counts) - counts).repeat(counts)
    return starts[rows].repeat(counts) + within


def rectangles(text: TextIndex, scale: float, profiles: Ints) -> tuple[Ints, Floats]:
    """Ascending numbers and corners (n, 4, 3), in metres, of the rectangles among profiles; those
    written in an unusual way, or turned in their plane, are left out."""
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
