"""Furniture that is named as a fixture or appliance, as architects' programs write them.

Where a pipe ends at it, it is what it is called. Where none does it may be no more than furniture,
and where another fixture stands in its place it is that one's cabinet, or its double.
"""

from __future__ import annotations

from math import prod

from ifclint.engineering.extents import middle
from ifclint.ifc.elements import Box, Model, Note, Point, Role
from ifclint.ifc.facts.taken_out import counted, take_out

FURNITURE = frozenset({"IfcFurnishingElement", "IfcFurniture", "IfcSystemFurnitureElement"})
SERVED = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
UNMET = "furniture named as fixtures or appliances, at which no pipe ends"


def without_cabinets(model: Model, boxes: dict[int, Box]) -> None:
    """Take out furniture in whose place another fixture or appliance stands."""
    rows = _furniture(model)
    if not rows:
        return
    standing = {
        row: box
        for row, element in enumerate(model.elements)
        if element.role in SERVED and (box := element.box or boxes.get(row))
    }
    doubles = [row for row in rows if _holds_another(model, row, standing)]
    accessories = [row for row in rows if model.elements[row].role is Role.OTHER]
    if out := {*doubles, *accessories}:
        take_out(model, boxes, dict.fromkeys(sorted(out)), "")


def without_unmet(model: Model, boxes: dict[int, Box]) -> None:
    """Take out furniture that nothing was joined to; it is counted and named."""
    met = {row for joint in model.joints for row in (joint.a, joint.b)}
    rows = [row for row in _furniture(model) if row not in met]
    if not rows:
        return
    names = counted([model.elements[row] for row in rows])
    take_out(model, boxes, dict.fromkeys(rows), UNMET)
    what = f"{len(rows)} piece(s) of {UNMET}, were not read: {names}."
    remedy = "Where they are fixtures, draw their pipes to them, or give them their IFC class."
    model.notes.append(Note(what, remedy, "", "role"))


def _furniture(model: Model) -> list[int]:
    return [row for row, e in enumerate(model.elements) if e.ifc_class in FURNITURE]


def _holds_another(model: Model, row: int, standing: dict[int, Box]) -> bool:
    """Whether another one stands in the place of a piece of furniture: one of its own class, as a
    sink or heater, or a smaller piece of furniture, as the basin in a vanity."""
    own = standing.get(row)
    if own is None:
        return False
    for other, box in standing.items():
        if other == row or not (_holds(own, middle(*box)) or _holds(box, middle(*own))):
            continue
        if model.elements[other].ifc_class not in FURNITURE:
            return True
        if (_volume(box), other) < (_volume(own), row) and _alike(model, row, other):
            return True
    return False


def _alike(model: Model, row: int, other: int) -> bool:
    one, two = model.elements[row], model.elements[other]
    return one.role is two.role


def _holds(box: Box, place: Point) -> bool:
    return all(a <= c <= b for a, c, b in zip(box[0], place, box[1], strict=True))


def _volume(box: Box) -> float:
    low, high = box
    return prod(b - a for a, b in zip(low, high, strict=True))
