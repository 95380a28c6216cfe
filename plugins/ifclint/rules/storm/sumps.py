"""Rules about sumps of storm and ground water: the pit, and the check valve behind its pump."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ifclint.checks import NOT_APPLICABLE, PASS, Answer, Fact, check, known, missing
from ifclint.engineering.extents import covers, sides_m
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Change, PartKind
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.drainage.pumped import ejectors
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import GROUND_WATER, says, says_text

STORM = ("storm", "rain*", "drainage sump", *GROUND_WATER)
PIPING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP})
HOW_LARGE = Fact("how large {} is, is not known.", "Give the sump a shape.")


@dataclass(eq=False)
class StormSump(OfElement):
    """A pit from which storm or ground water is pumped."""

    element: Element
    index: int
    service = System.STORM


@derived
def storm_sumps(context: Context) -> list[StormSump]:
    """The sumps of storm drainage, by system or name, that no fixture drains into."""
    used = ejectors(context)
    return [
        StormSump(e, index)
        for index, e in enumerate(context.plumbing.network.elements)
        if e.role is Role.CHAMBER and e.kind == "sump" and e.guid not in used and _is_storm(e)
    ]


def _is_storm(sump: Element) -> bool:
    named = says(sump, STORM) or says_text(sump.system_name, STORM)
    return sump.system is System.STORM or named


@rule(
    title="Storm sump large enough for its pump",
    subject=StormSump,
    clauses={"ipc": "1113.1.2", "irc": "P3303.1.2"},
    of_load=True,
)
def storm_sump_size(sump: StormSump, context: Context) -> Iterator[Answer]:
    """In a pit too small the pump starts every minute, and is worn out when the storm comes.

    The narrower side and the depth of the sump's box, walls and all, so that what is too small is
    so for certain.
    """
    e = sump.element
    low, high = known(e.box, HOW_LARGE, e)
    x, y, depth = (side / M_PER_IN for side in sides_m(low, high))
    for name, value, wide in (("diameter", min(x, y), "wide"), ("depth", depth, "deep")):
        least = context.code.limit(f"storm_sump_{name}_in")
        yield check(
            value,
            at_least=least,
            message=f"{e.label} is {number_text(value)} in {wide}.",
            remedy=f"Set a sump with a {name} of at least {number_text(least.value)} in.",
            limit_step=f"Least {name} of a storm sump",
            elements=(e.guid,),
            about=name,
        )


CHECKS = PartKind(
    "check valves of storm pumps",
    drawn=lambda context: any(_checks(sump, context) for sump in storm_sumps(context)),
    remedy="Model the check valve in the discharge of the pump (IfcValve, CHECK).",
)


@rule(
    title="Check valve behind a storm pump",
    subject=StormSump,
    clauses={"ipc": "1113.1.4", "irc": "P3303.1.4"},
)
def storm_pump_checked(sump: StormSump, context: Context) -> Answer:
    """What stands in the riser runs back into the pit, and the pump lifts the same water again.

    The piping that is joined to the pump at or in the sump, up to where it leads: a check valve is
    in it. A sump whose pump or discharge is not drawn is not asked.
    """
    discharge = _discharge(sump, context)
    if not any(e.role is Role.PIPE for e in discharge):
        return NOT_APPLICABLE
    if _checks(sump, context):
        return PASS
    text = "Set a full-flow check valve, where it can be reached, in the discharge of the pump."
    return missing(
        CHECKS,
        message=f"The discharge of {sump.label} has no check valve.",
        remedy=Change("part", (sump.element.guid,), "check valve", text),
    )


def _checks(sump: StormSump, context: Context) -> bool:
    return any(e.role is Role.VALVE and e.kind == "check" for e in _discharge(sump, context))


def _discharge(sump: StormSump, context: Context) -> list[Element]:
    """What is joined to the pumps of a sump, chambers and fixtures apart."""
    network, elements = context.plumbing.network, context.plumbing.network.elements
    pumps = {i for i in network.neighbours(sump.index) if elements[i].role is Role.PUMP}
    pumps |= {i for i, e in enumerate(elements) if e.role is Role.PUMP and _stands_in(e, sump)}
    found, waiting = set(pumps), sorted(pumps)
    while waiting:
        for index in network.neighbours(waiting.pop()):
            if index not in found and elements[index].role in PIPING:
                found.add(index)
                waiting.append(index)
    return [elements[i] for i in sorted(found)]


def _stands_in(pump: Element, sump: StormSump) -> bool:
    if pump.position is None or sump.element.box is None:
        return False
    return covers(*sump.element.box, pump.position)


RULES = (storm_sump_size, storm_pump_checked)
