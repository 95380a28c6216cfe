"""Kinds of devices before hazards, for the policy of absence, and what valves are said to be set
to."""

import re
from collections.abc import Callable
from itertools import takewhile

from ifclint.engineering.joined import onward
from ifclint.findings import PartKind
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.primers import is_primer
from ifclint.rules.protection.devices import device_of
from ifclint.rules.protection.hazards import Hazard, hazards
from ifclint.rules.protection.hoses import hoses_told

SET_F = 80.0, 160.0  # beyond is the rating of a body or of the hot side. Ours, no source
_NUMBER = r"(?<![\w.,/])(\d{2,3}(?:[.,]\d+)?)\s*-?\s*"
_UNIT = r"(?:°|º|deg(?:rees?)?\b\.?)?\s*([FC]|fahrenheit|celsius)\b"
_TOLD = re.compile(_NUMBER + _UNIT, re.I)
_RANGE = re.compile(
    rf"\d{{2,3}}\s*(?:(?:°|º|deg)?\.?\s*[FC]\b)?\s*(?:[-–]|to\b|bis\b|à\b|a\b)\s*{_NUMBER}{_UNIT}",
    re.I,
)
_OF_INLET = re.compile(r"\b(?:inlet|entering|supply|adjustable|range|up to|rated)\W*$", re.I)
_IS_INLET = re.compile(r"^\W*(?:inlet|entering|supply|hot side|rated|rating)\b", re.I)


def _part(name: str, kinds: tuple[str, ...], *told_by: Callable[[Context], bool]) -> PartKind:
    """The devices before hazards of some kinds, and what else tells that a model draws such."""

    def drawn(context: Context) -> bool:
        mine = [h for h in hazards(context) if h.kind in kinds]
        own = any(any(found) for h in mine for found in h.devices)
        return own or any(is_told(context) for is_told in told_by)

    remedy = "Model the device in the branch, its type named (reduced pressure, double check …)."
    return PartKind(name, drawn, remedy)


def _assembly_told(context: Context) -> bool:
    """Whether a backflow preventer stands anywhere in the supply, as at its entry."""
    supply = context.plumbing.supply
    piping = (supply.elements[i] for i in supply.distribution.members)
    return any(e.kind == "backflow-preventer" for e in piping)


@derived
def _told_at_appliance(context: Context) -> bool:
    """Whether a device stands in the branch of any one appliance."""
    supply = context.plumbing.supply
    made = supply.distribution
    serves = made.how_many(c.up for c in made.connections)
    taps = (t for f in supply.fixtures if f.element.role is Role.APPLIANCE for t in f.fed)
    return any(
        device_of(supply.elements[i]) is not None
        for tap in taps
        for i in takewhile(lambda i: serves[i] <= 1, onward(tap.connection.up, made.up))
    )


PIPED = (_assembly_told, hoses_told)  # of those on a branch of their own
IRRIGATION = _part(
    "backflow preventers of irrigation", ("irrigation", "irrigation-chemicals"), *PIPED
)
TO_SYSTEMS = _part(
    "backflow preventers between systems",
    (
        "boiler-make-up", "boiler-make-up-chemicals", "fire-sprinklers",
        "fire-sprinklers-chemicals", "non-potable", "other-service",
    ),
    *PIPED,
)  # fmt: skip
PLANT = (
    "chemicals", "cooling-tower", "swimming-pool", "car-wash", "film-processor", "ornamental-pool",
    "dental-vacuum", "vacuum-pump",
)  # fmt: skip
EQUIPMENT = (
    "carbonated-beverages", "still-beverages", "kitchen-equipment", "hand-spray",
)  # fmt: skip
AT_PLANT = _part("backflow preventers at plant", PLANT, *PIPED)
AT_EQUIPMENT = _part("backflow preventers at equipment", (*PLANT, *EQUIPMENT), _told_at_appliance)
OUTLETS = ("laboratory", "medical")
AT_OUTLETS = _part("vacuum breakers of laboratory and medical outlets", OUTLETS)
AT_STERILIZERS = _part("backflow preventers at sterilizers", ("medical",), *PIPED)
PRIMED = PartKind(
    "trap primers",
    drawn=lambda context: any(map(is_primer, context.plumbing.network.elements)),
    remedy="Model the trap primer (IfcValve, named so) in the line to the floor drain.",
)
PART_OF = {
    "irrigation": IRRIGATION, "irrigation-chemicals": IRRIGATION,
    **dict.fromkeys(PLANT, AT_PLANT), **dict.fromkeys(EQUIPMENT, AT_EQUIPMENT),
    "laboratory": AT_OUTLETS, "medical": AT_OUTLETS,
}  # fmt: skip


def part_of(hazard: Hazard) -> PartKind:
    """The devices that may be missing before a hazard: a dental unit may have its own within."""
    is_medical = hazard.kind == "medical" and hazard.element.kind != "dental-unit"
    return AT_STERILIZERS if is_medical else PART_OF.get(hazard.kind, TO_SYSTEMS)


def set_point_f(element: Element) -> float | None:
    """The temperature (°F) that a name tells as the setting; None where it tells none, a range or
    several."""
    text = _RANGE.sub(" ", element.called)
    found = set()
    for match in _TOLD.finditer(text):
        before, after = text[: match.start()], text[match.end() :]
        value = _fahrenheit(match[1], match[2])
        if SET_F[0] <= value <= SET_F[1] and not (
            _OF_INLET.search(before) or _IS_INLET.match(after)
        ):
            found.add(round(value, 1))
    return found.pop() if len(found) == 1 else None


def _fahrenheit(number: str, unit: str) -> float:
    value = float(number.replace(",", "."))
    return value * 9 / 5 + 32 if unit[0] in "cC" else value
