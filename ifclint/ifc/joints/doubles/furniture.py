"""Furniture that is named as a fixture or appliance, as architects' programs write them.

Where a pipe ends at it, it is what it is called. Where none does it may be no more than furniture,
and where another fixture stands in its place it is that one's cabinet, or its double.
"""

from math import dist, prod

from ifclint.engineering.extents import middle
from ifclint.engineering.near import NearPlaces
from ifclint.engineering.tolerance import LENGTH_M
from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Box, Model, Note, Point, Role
from ifclint.ifc.facts.classify import FURNITURE
from ifclint.ifc.facts.taken_out import counted, take_out

SERVED = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
UNMET = "furniture named as fixtures or appliances, at which no pipe ends"


def without_cabinets(model: Model, boxes: dict[int, Box]) -> None:
    """Take out furniture in whose place another fixture or appliance stands."""
    rows = _furniture(model)
    if not rows:
        return
    doubles = _doubles(model, boxes)
    accessories = [row for row in rows if model.elements[row].role is Role.OTHER]
    if out := doubles.union(accessories):
        take_out(model, boxes, dict.fromkeys(sorted(out)), "")


def without_unmet(model: Model, boxes: dict[int, Box]) -> None:
    """Take out furniture that nothing was joined to; it is counted and named."""
    met = {row for joint in model.joints for row in (joint.a, joint.b)}
    rows = [row for row in _furniture(model) if row not in met]
    if not rows:
        return
    names = counted([model.elements[row] for row in rows])
    take_out(model, boxes, dict.fromkeys(rows), UNMET)
    what = f"Not read: {how_many(len(rows), f'piece of {UNMET}')}, {names}."
    remedy = "Where they are fixtures, draw their pipes to them, or give them their IFC class."
    model.notes.append(Note(what, remedy, "", "role"))


def _furniture(model: Model) -> list[int]:
    return [row for row, e in enumerate(model.elements) if e.ifc_class in FURNITURE]


def _doubles(model: Model, boxes: dict[int, Box]) -> set[int]:
    """The furniture in whose place another one stands: one of its own class, as a sink or heater,
    or a smaller piece of furniture of its role, as the basin in a vanity."""
    doubles, standing = set[int](), dict[int, Box]()
    first: dict[tuple[Box, Role], int] = {}
    for row, element in enumerate(model.elements):
        box = element.box or boxes.get(row)
        if element.role not in SERVED or box is None:
            continue
        if element.ifc_class in FURNITURE and first.setdefault((box, element.role), row) != row:
            doubles.add(row)
        else:
            standing[row] = box
    rows, middles = [*standing], [middle(*box) for box in standing.values()]
    reach_m = [dist(*box) / 2 + LENGTH_M for box in standing.values()]
    for row, near in zip(rows, NearPlaces(middles).around(middles, reach_m), strict=True):
        for other in (rows[n] for n in near if _holds(standing[row], middles[n])):
            if other != row:
                doubles |= _less(model, {row: standing[row], other: standing[other]})
    return doubles


def _less(model: Model, standing: dict[int, Box]) -> set[int]:
    """What of two in one place is furniture beside what is none, or the larger of one role."""
    furniture = {row for row in standing if model.elements[row].ifc_class in FURNITURE}
    if len(furniture) < 2:
        return furniture
    if len({model.elements[row].role for row in furniture}) > 1:
        return set()
    return {max(furniture, key=lambda row: (_volume(standing[row]), row))}


def _holds(box: Box, place: Point) -> bool:
    return all(a <= c <= b for a, c, b in zip(box[0], place, box[1], strict=True))


def _volume(box: Box) -> float:
    low, high = box
    return prod(b - a for a, b in zip(low, high, strict=True))
