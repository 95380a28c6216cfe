"""Pipe between a carbonator and its backflow preventer: what carbonic acid does not dissolve."""

from itertools import takewhile

from ifclint.checks import PASS, Fact, known, violation
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.rules.protection.devices import Device, device_of
from ifclint.rules.protection.hazards import Hazard

DISSOLVED = frozenset({"copper", "brass", "galvanized steel"})  # by carbonic acid
OWN = frozenset({Device.AIR_GAP, Device.REDUCED_PRESSURE, Device.VENTED})  # that keep it back
MATERIAL = Fact(
    "what {} is made of, between a carbonator and its backflow preventer, is not known.",
    "Give the tubing to carbonators its material: stainless steel or plastic.",
)


def _past_device(hazard: Hazard) -> list[Element]:
    """Pipe and fittings past the last device before each connection of a hazard."""
    found: list[Element] = []
    if device_of(hazard.element) in OWN:
        return found
    for path in hazard.paths:
        piping = [e for e in path if e is not hazard.element]
        past = list(takewhile(lambda e: device_of(e) is None, piping))
        if len(past) < len(piping):
            found += [e for e in past if e.role in (Role.PIPE, Role.FITTING)]
    return found


@rule(
    title="No copper past the backflow preventer of a carbonator",
    clauses={"upc": "603.5.12", "ipc": "608.17.1.1", "irc": ""},
    applies=lambda hazard: hazard.kind == "carbonated-beverages" and bool(_past_device(hazard)),
)
def carbonator_piping(hazard: Hazard, context: Context) -> Answer:
    """Carbonic acid that comes back to a copper tube dissolves it into the next drink.

    Pipe and fittings between the carbonator and the last backflow preventer before it, by their
    material: none of copper, brass or galvanized steel; a carbonator with such a preventer built in
    has none. Pipe of no stated material is asked about; a fitting may leave it to its pipe. The
    UPC's clause was read in that of 2024, the IPC's is from memory.
    """
    piping = _past_device(hazard)
    wrong = next((e for e in piping if e.material in DISSOLVED), None)
    if wrong is not None:
        return violation(
            message=f"{wrong.label} of {wrong.material} lies between {hazard.label} and its "
            "backflow preventer; carbonic acid dissolves it.",
            remedy="Run stainless steel or plastic tubing from the backflow preventer on.",
            elements=tuple(e.guid for e in piping if e.material in DISSOLVED),
        )
    unstated = next((e for e in piping if e.role is Role.PIPE and not e.material), None)
    known(None if unstated else True, MATERIAL, unstated or hazard.label)
    return PASS
