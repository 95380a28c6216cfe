"""What keeps grit out of pressure-reducing valves."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import PASS, missing
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.plumbing.words import says
from ifclint.rules.supply.static_pressure import regulators

STRAINER_WORDS = ("strainer*", "sieve", "dirt separator", "schmutzfanger*", "tamis", "colador")
STRAINERS = PartKind(
    "strainers of regulators",
    drawn=lambda context: any(map(strains, context.plumbing.supply.elements)),
    remedy="Draw the strainer before the regulator (IfcFilter, STRAINER), or name the regulator as "
    "one with a strainer.",
)


def strains(element: Element) -> bool:
    """Whether it is a strainer or filter in the line, or says that it has one."""
    is_one = element.predefined_type == "STRAINER" or element.kind == "water-filter"
    return is_one or says(element, STRAINER_WORDS)


@rule(
    title="Strainer before every pressure-reducing valve",
    subject=WaterService,
    clauses={"upc": "608.2", "ipc": "604.8", "irc": ""},
    severity=Severity.LOW,
)
def regulator_strainer(service: WaterService, context: Context) -> Iterator[Answer]:
    """Grit from the street lodges in the seat of a regulator, and the house gets the street's
    pressure.

    A strainer or filter anywhere before the valve, or within it by its name. The IRC asks for none.
    The sections are from memory.
    """
    yield PASS
    made, elements = service.supply.distribution, service.supply.elements
    for each in regulators(context):
        before = made.path(each.line[0])
        if not service.holds(each.line[0]) or any(strains(elements[i]) for i in before):
            continue
        text = "Set a strainer before the regulator, or take a regulator that has one."
        yield missing(
            STRAINERS,
            message=f"No strainer is drawn before {each.valve.label}.",
            remedy=Change("part", (each.valve.guid,), "strainer", text),
            elements=(each.valve.guid,),
            about=each.valve.guid,
        )
