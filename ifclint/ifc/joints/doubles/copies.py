"""Fixtures and equipment that another file holds again where they stand, as the architect's does
beside that of the plumbing: the copy that nothing is joined to is none that is built."""

from __future__ import annotations

from collections import Counter
from math import dist

from ifclint.engineering.extents import middle
from ifclint.engineering.near import NearPlaces
from ifclint.ifc.elements import Box, Element, Model, Role
from ifclint.ifc.facts.classify import FURNITURE
from ifclint.ifc.joints.free_ends import DRAWN

COPIED = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK})
OVERLAP = 0.5  # of the smaller as seen from above; ours, as are the next
ONE_PLACE_M = 0.15  # between the middles of two that are one, seen from above
APART_M = 1.0  # no farther off is a copy looked for


def copies(model: Model) -> dict[int, int]:
    """What stands in the place of another of its kind in another file without a joint of its own,
    with the row of the one that stays: with the most joints, then the most ports, then of the
    earlier file."""
    standing = {
        row: e.box
        for row, e in enumerate(model.elements)
        if e.role in COPIED and e.box is not None and e.ifc_class not in FURNITURE
    }
    if len(standing) < 2:
        return {}
    joined = Counter(row for joint in model.joints for row in (joint.a, joint.b))
    rows, middles = [*standing], [middle(*box) for box in standing.values()]
    found: dict[int, int] = {}

    def stays(row: int) -> tuple[int, int, int, int]:
        element = model.elements[row]
        return -joined[row], -_ports(element), element.model, row

    near = NearPlaces(middles).around(middles, APART_M)
    around = {row: [rows[n] for n in numbers] for row, numbers in zip(rows, near, strict=True)}
    for row in sorted(rows, key=stays):
        if joined[row]:
            continue
        first = (r for r in around[row] if stays(r) < stays(row) and r not in found)
        heir = next((r for r in first if _is_copy(model, row, r)), None)
        if heir is not None:
            found[row] = heir
    return found


def _ports(element: Element) -> int:
    return sum(end.name != DRAWN for end in element.ends)


def _is_copy(model: Model, row: int, other: int) -> bool:
    one, first = model.elements[row], model.elements[other]
    if one.model == first.model or one.role is not first.role:
        return False
    if not _of_one_kind(one.kind, first.kind):
        return False
    if one.box is None or first.box is None or not _overlap(one.box, first.box, 2):
        return False
    if dist(middle(*one.box)[:2], middle(*first.box)[:2]) <= ONE_PLACE_M:
        return True
    shared = [_overlap(one.box, first.box, k) for k in (0, 1)]
    least = min(_area(one.box), _area(first.box))
    return shared[0] * shared[1] >= OVERLAP * least > 0


def _of_one_kind(one: str, other: str) -> bool:
    """Whether two kinds may be of one thing: the same, one of them not known, or two basins."""
    return one == other or not one or not other or (_is_basin(one) and _is_basin(other))


def _is_basin(kind: str) -> bool:
    return kind == "lavatory" or kind.endswith("sink")


def _overlap(one: Box, other: Box, axis: int) -> float:
    low, high = max(one[0][axis], other[0][axis]), min(one[1][axis], other[1][axis])
    return max(high - low, 0.0)


def _area(box: Box) -> float:
    low, high = box
    return (high[0] - low[0]) * (high[1] - low[1])
