"""World frames of many placements at once.

Only the placements asked for are read, with what they hang on. What is not written in the usual
way, is placed relative to nothing or to itself is left out.
"""

from __future__ import annotations

import numpy as np

from ifclint.engineering.distinct import distinct
from ifclint.ifc.step.arrays import Bools, Floats, Ints
from ifclint.ifc.step.columns import numbers, references, rows_of
from ifclint.ifc.step.text_index import Ref, TextIndex

AxisPlacements = tuple[Ints, Floats, Floats, Bools]
LEVELS = 200  # placements in a chain; more is a cycle
FARTHEST = 1e12  # metres; a position beyond is damage
PARALLEL = 0.999999


class FrameTable:
    """World frames of placements with these ascending `ids`, their `origins` in metres.

    Axes (rows x, y, z) are worked out for placements that others are relative to: the world axes
    of row `i` stand in row `slot[i]` of `world`. Of the others (slot -1) their own axes are kept,
    in row `own[i]` of `axes`, and the row of the placement that turns them (`turned_by`, -1 for
    none).
    """

    def __init__(
        self,
        ids: Ints,
        origins: Floats,
        axes: Floats,
        own: Ints,
        world: Floats,
        slot: Ints,
        turned_by: Ints,
    ) -> None:
        self._ids, self._origins = ids, origins
        self._axes, self._own = axes, own
        self._world, self._slot, self._turned_by = world, slot, turned_by

    def only(self, kept: Bools) -> FrameTable:
        """The same without some rows, which turn no others."""
        new = np.cumsum(kept) - 1
        turned_by = np.where(self._turned_by >= 0, new[self._turned_by], -1)[kept]
        used, own = np.unique(self._own[kept], return_inverse=True)
        return FrameTable(
            self._ids[kept], self._origins[kept], self._axes[used], own,
            self._world, self._slot[kept], turned_by,
        )  # fmt: skip

    def without(self, refs: Ints) -> FrameTable:
        """The same without some placements, but for those that others are relative to."""
        return self.only(~np.isin(self._ids, refs) | (self._slot >= 0))

    def frame(self, ref: Ref) -> tuple[float, ...] | None:
        """Twelve numbers: x, y and z axis, and origin."""
        row = int(self._ids.searchsorted(ref))
        if row == len(self._ids) or self._ids[row] != ref:
            return None
        slot, parent = self._slot[row], self._turned_by[row]
        axes = self._world[slot] if slot >= 0 else self._axes[self._own[row]]
        if parent >= 0:
            axes = in_world(axes, self._world[self._slot[parent], None])
        return (*axes.ravel().tolist(), *self._origins[row].tolist())

    def frames(self, refs: Ints) -> tuple[Floats, Floats, Bools]:
        """Axes (n, 3, 3), origins (n, 3) and which of the references are known."""
        rows = rows_of(self._ids, refs)
        if not len(self._ids):
            return np.zeros((len(refs), 3, 3)), np.zeros((len(refs), 3)), rows >= 0
        return self._axes_of(rows), self._origins[rows], rows >= 0

    def _axes_of(self, rows: Ints) -> Floats:
        """World axes of rows."""
        axes, slot, parents = self._axes[self._own[rows]], self._slot[rows], self._turned_by[rows]
        borne = slot >= 0
        axes[borne] = self._world[slot[borne]]
        hung = parents >= 0
        outer = self._world[self._slot[parents[hung]]]
        for i in range(3):
            axes[hung, i] = in_world(axes[hung, i], outer)
        return axes

    def origins(self, refs: Ints) -> Floats:
        """Origins (n, 3), NaN where not known."""
        rows = rows_of(self._ids, refs)
        found = np.full((len(refs), 3), np.nan)
        found[rows >= 0] = self._origins[rows[rows >= 0]]
        return found


def frame_table(
    text: TextIndex, metres_per_unit: float, wanted: Ints, outermost: tuple[float, ...]
) -> FrameTable:
    """The world frames of the wanted placements (an array of references); what is placed relative
    to nothing is placed in the outermost frame (twelve numbers)."""
    ids, parents, locals_ = _with_parents(text, wanted)
    own = axis_placements(text, metres_per_unit, locals_)
    return _composed(ids, parents, locals_, own, np.reshape(outermost, (4, 3)))


def _with_parents(text: TextIndex, wanted: Ints) -> tuple[Ints, Ints, Ints]:
    """Ascending numbers of IfcLocalPlacements, the one each is relative to, and its own axes."""
    wanted = np.asarray(wanted, dtype=np.int64)
    seen = np.zeros(len(text), dtype=bool)
    found = [np.zeros((3, 0), dtype=np.int64)]
    for _ in range(LEVELS):
        ids, rows = text.distinct(wanted, b"IFCLOCALPLACEMENT")
        ids, rows = ids[~seen[rows]], rows[~seen[rows]]
        if not len(rows):
            break
        seen[rows] = True
        fields, _, well = references(text, text.ends[rows] - 2, 2)
        found.append(np.stack([ids, fields[:, 0], fields[:, 1]])[:, well])
        wanted = found[-1][1]
    everything = np.concatenate(found, axis=1)
    ids, parents, locals_ = everything[:, np.argsort(everything[0], kind="stable")]
    return ids, parents, locals_


def _composed(
    ids: Ints, parents: Ints, locals_: Ints, own: AxisPlacements, outermost: Floats
) -> FrameTable:
    """Placements in the world, from the outermost inward, one level of the tree after another."""
    own_ids, own_axes, own_origins, own_turned = own
    at, up = rows_of(own_ids, locals_), rows_of(ids, parents)
    usable = (at >= 0) & ((parents == 0) | (up >= 0))
    origins, turned = own_origins[at], own_turned[at]
    moved = not np.array_equal(outermost, np.eye(4, 3))
    roots = np.flatnonzero(usable & (parents == 0)) if moved else np.zeros(0, dtype=np.int64)
    bearing = distinct(np.concatenate([up[up >= 0], roots]))
    slot = np.full(len(ids), -1)
    slot[bearing] = np.arange(len(bearing))
    world = own_axes[at[bearing]]
    turned_by = np.full(len(ids), -1)
    _place_in(outermost, roots, origins, world, slot)
    turned[roots] = True
    known = usable & (parents == 0)
    waiting = np.flatnonzero(usable & (parents != 0))
    for _ in range(LEVELS):
        ready = known[up[waiting]]
        if not ready.any():
            break
        now = waiting[ready]
        known[now] = True
        waiting = waiting[~ready]
        outer = up[now]
        straight = ~turned[outer]
        origins[now[straight]] += origins[outer[straight]]
        now, outer = now[~straight], outer[~straight]
        origins[now] = in_world(origins[now], world[slot[outer]]) + origins[outer]
        turned[now] = True
        turned_by[now] = outer
        borne = slot[now] >= 0
        own_slot, outer_slot = slot[now[borne]], slot[outer[borne]]
        for i in range(3):
            world[own_slot, i] = in_world(world[own_slot, i], world[outer_slot])
        turned_by[now[borne]] = -1
    table = FrameTable(ids, origins, own_axes, at, world, slot, turned_by)
    return table if known.all() else table.only(known)


def _place_in(outer: Floats, rows: Ints, origins: Floats, world: Floats, slot: Ints) -> None:
    """Put rows that are relative to nothing into an outer frame: axes and, last, its origin."""
    axes = outer[None, :3]
    origins[rows] = in_world(origins[rows], axes) + outer[3]
    for i in range(3):
        world[slot[rows], i] = in_world(world[slot[rows], i], axes)


def in_world(vectors: Floats, axes: Floats) -> Floats:
    """Vectors (n, 3) given in these axes (n, 3, 3), in the coordinates the axes are given in."""
    x, y, z = (vectors[:, i, None] for i in range(3))
    return axes[:, 0] * x + axes[:, 1] * y + axes[:, 2] * z


def axis_placements(text: TextIndex, scale: float, refs: Ints) -> AxisPlacements:
    """Ascending numbers, axes, origins and whether they are turned, of the IfcAxis2Placement3Ds
    among references; a row that stands for nothing ends each but the first."""
    ids, rows = text.distinct(refs, b"IFCAXIS2PLACEMENT3D")
    found, _, usable = references(text, text.ends[rows] - 2, 3)
    points = triples(text, b"IFCCARTESIANPOINT", found[:, 0])
    at = rows_of(points[0], found[:, 0])
    origins = points[1][at] * scale
    usable &= (at >= 0) & (np.abs(origins).sum(axis=1) < FARTHEST)
    axes = np.tile(np.eye(3), (len(ids), 1, 1))
    turned = (found[:, 1] != 0) | (found[:, 2] != 0)
    some = np.flatnonzero(turned)
    z, z_given = unit_vectors(text, found[some, 1])
    x, x_given = unit_vectors(text, found[some, 2])
    z = np.where((found[some, 1] != 0)[:, None], z, [0.0, 0.0, 1.0])
    axes[some], well = _right_handed(z, x, found[some, 2] != 0)
    usable[some] &= z_given & x_given & well
    order = np.append(np.flatnonzero(usable), -1)
    if not len(ids):
        return ids, np.zeros((1, 3, 3)), np.zeros((1, 3)), np.zeros(1, dtype=bool)
    return ids[order[:-1]], axes[order], origins[order], turned[order]


def triples(text: TextIndex, name: bytes, refs: Ints) -> tuple[Ints, Floats]:
    """Numbers and, with one row of zeros more, the coordinates of three-dimensional instances."""
    ids, rows = text.distinct(refs, name)
    found, well = numbers(text.arguments(rows), b"(,,)")
    return ids[well], np.concatenate((found[well], np.zeros((1, 3))))  # -1: nothing


def pairs(text: TextIndex, name: bytes, refs: Ints) -> tuple[Ints, Floats]:
    """The same of two-dimensional instances, with 0 for z."""
    ids, rows = text.distinct(refs, name)
    found, well = numbers(text.arguments(rows), b"(,)")
    flat = np.zeros((int(well.sum()) + 1, 3))
    flat[:-1, :2] = found[well]
    return ids[well], flat


def unit_vectors(text: TextIndex, refs: Ints) -> tuple[Floats, Bools]:
    """Unit vectors of IfcDirections, and which are fit for use (those not asked for are)."""
    directions = triples(text, b"IFCDIRECTION", refs)
    at = rows_of(directions[0], refs)
    given = directions[1][at]
    size = np.sqrt((given * given).sum(axis=1))
    fit = (at >= 0) & (size > 1e-12) & (size < 1e12)
    return given / np.where(fit, size, 1.0)[:, None], fit | (refs == 0)


def _right_handed(z: Floats, x: Floats, x_given: Bools) -> tuple[Floats, Bools]:
    """Axes with the given z and x as near the given one as it can be (ISO 10303-42), and where
    that was plain. Without a given x, the world's x is meant, or its y where z is that x."""
    world_x, world_y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    by_default = np.where((np.abs(z[:, 0]) < PARALLEL)[:, None], world_x, world_y)
    x = np.where(x_given[:, None], x, by_default)
    along = (x * z).sum(axis=1)
    x = x - along[:, None] * z
    size = np.sqrt((x * x).sum(axis=1))
    well = (np.abs(along) < PARALLEL) & (size > 1e-12)
    x = x / np.where(well, size, 1.0)[:, None]
    return np.stack([x, np.cross(z, x), z], axis=1), well
