"""World frames of all placements of a file at once.

Rows of nine numbers are the x, y and z axes of a coordinate system, rows of three its origin
(metres). What is not written in the usual way, hangs on nothing or on itself is left out.
"""

from __future__ import annotations

from typing import Any

from ifclint.ifc.columns import reals, references, rows_of
from ifclint.ifc.elements import Point
from ifclint.ifc.text_index import Ref, TextIndex

LEVELS = 200  # placements in a chain; more is a cycle
FARTHEST = 1e12  # metres; a position beyond is damage
PARALLEL = 0.999999


class FrameTable:
    """World axes (n, 3, 3) and origins (n, 3) of the placements with these ascending `ids`."""

    def __init__(self, ids: Any, axes: Any, origins: Any) -> None:
        self._ids, self._axes, self._origins = ids, axes, origins

    def frame(self, ref: Ref) -> tuple[float, ...] | None:
        """Twelve numbers: x, y and z axis, and origin."""
        row = int(self._ids.searchsorted(ref)) if self._ids is not None else 0
        if self._ids is None or row == len(self._ids) or self._ids[row] != ref:
            return None
        return (*self._axes[row].ravel().tolist(), *self._origins[row].tolist())

    def origins(self, refs: list[Ref]) -> list[Point | None]:
        import numpy as np

        if self._ids is None or not len(self._ids):
            return [None] * len(refs)
        rows = rows_of(self._ids, np.array(refs, dtype=np.int64))
        found: list[Point | None] = list(map(tuple, self._origins[rows].tolist()))
        for i in np.flatnonzero(rows < 0).tolist():
            found[i] = None
        return found


NO_FRAMES = FrameTable(None, None, None)


def frame_table(text: TextIndex, metres_per_unit: float) -> FrameTable:
    """The world frames of all IfcLocalPlacements."""
    import numpy as np

    ids, arguments = text.of_class(b"IFCLOCALPLACEMENT")
    found = references(arguments, 2) if arguments else None
    own = _axis_placements(np, text, metres_per_unit) if found is not None else None
    if found is None or own is None:
        return NO_FRAMES
    order = np.argsort(ids, kind="stable")
    ids, found = ids[order], found[order]
    if (np.diff(ids) == 0).any():
        return NO_FRAMES
    return _composed(np, ids, found[:, 0], found[:, 1], own)


def _composed(np: Any, ids: Any, parents: Any, locals_: Any, own: Any) -> FrameTable:
    """Placements in the world, from the outermost inward, one level of the tree after another."""
    own_ids, own_axes, own_origins = own
    at = rows_of(own_ids, locals_)
    up = rows_of(ids, parents)
    axes, origins = own_axes[at], own_origins[at]
    known = (parents == 0) & (at >= 0)
    waiting = np.flatnonzero((up >= 0) & (at >= 0) & (parents != 0))
    for _ in range(LEVELS):
        ready = known[up[waiting]]
        if not ready.any():
            break
        now = waiting[ready]
        outer = up[now]
        origins[now] = np.einsum("ni,nij->nj", origins[now], axes[outer]) + origins[outer]
        axes[now] = np.matmul(axes[now], axes[outer])
        known[now] = True
        waiting = waiting[~ready]
    return FrameTable(ids[known], axes[known], origins[known])


def _axis_placements(np: Any, text: TextIndex, scale: float) -> Any:
    """Numbers, axes and origins of the IfcAxis2Placement3Ds."""
    ids, arguments = text.of_class(b"IFCAXIS2PLACEMENT3D")
    found = references(arguments, 3) if arguments else None
    points = _triples(np, text, b"IFCCARTESIANPOINT", scale)
    directions = _triples(np, text, b"IFCDIRECTION", 1.0)
    if found is None or points is None or directions is None:
        return None
    at = rows_of(points[0], found[:, 0])
    origins = points[1][at]
    usable = (at >= 0) & (np.abs(origins).sum(axis=1) < FARTHEST)
    axes = np.tile(np.eye(3), (len(ids), 1, 1))
    turned = np.flatnonzero((found[:, 1] != 0) | (found[:, 2] != 0))
    z, z_given = _units(np, directions, found[turned, 1])
    x, x_given = _units(np, directions, found[turned, 2])
    usable[turned] &= z_given & x_given
    z = np.where((found[turned, 1] != 0)[:, None], z, [0.0, 0.0, 1.0])
    axes[turned], well = _right_handed(np, z, x, found[turned, 2] != 0)
    usable[turned] &= well
    order = np.flatnonzero(usable)[np.argsort(ids[usable], kind="stable")]
    order = np.append(order, -1)  # so that row -1, which stands for nothing, is there
    return ids[order[:-1]], axes[order], origins[order]


def _triples(np: Any, text: TextIndex, name: bytes, scale: float) -> Any:
    """Numbers and, with one row of zeros more, the coordinates of a class's three-dimensional
    instances."""
    ids, arguments = text.of_class(name)
    three = [a.count(b",") == 2 for a in arguments]
    if not all(three):
        ids, arguments = ids[three], [a for a, ok in zip(arguments, three, strict=True) if ok]
    rows = reals(arguments, 3) if arguments else np.zeros((0, 3))
    if rows is None:
        return None
    order = np.argsort(ids, kind="stable")
    return ids[order], np.concatenate((rows[order] * scale, np.zeros((1, 3))))  # -1: nothing


def _units(np: Any, directions: Any, refs: Any) -> tuple[Any, Any]:
    """Unit vectors of directions, and which are fit for use (those not asked for are)."""
    at = rows_of(directions[0], refs)
    given = directions[1][at]
    size = np.sqrt((given * given).sum(axis=1))
    fit = (at >= 0) & (size > 1e-12) & (size < 1e12)
    return given / np.where(fit, size, 1.0)[:, None], fit | (refs == 0)


def _right_handed(np: Any, z: Any, x: Any, x_given: Any) -> tuple[Any, Any]:
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
