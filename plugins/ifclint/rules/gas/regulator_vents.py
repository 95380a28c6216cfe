"""Rule about the vents of gas regulators."""

from __future__ import annotations

from ifclint.checks import PASS, Fact, missing, not_known, require
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.packs import Context, derived
from ifclint.plumbing import GasRegulator
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.words import says
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import is_indoors

LIMITER_WORDS = ("vent limiter", "vent limiting", "ventless")
REGULATOR_VENTS = PartKind(
    "vents of gas regulators",
    drawn=lambda context: any(_is_vented(r, context) for r in _regulators(context)),
    remedy="Draw the regulator's vent line to its end outdoors, with the walls around it, or name "
    "its vent limiter.",
)
VENTED = Fact("how {} is vented", REGULATOR_VENTS.remedy)


@gas_rule(
    title="Line regulator vented outdoors, or of the kind that needs no vent",
    subject=GasRegulator,
    clauses={"upc": "1208.8", "ipc": "IFGC 410.3", "irc": "G2421.3"},
    severity=Severity.MEDIUM,
)
def gas_regulator_vent(regulator: GasRegulator, context: Context) -> Answer:
    """When its diaphragm tears, a regulator blows gas out of its vent: into the room, if it may.

    A regulator outdoors needs no vent line; one inside has a vent pipe that ends outdoors, or says
    that it has a vent limiter.
    """
    place = middle_of(regulator.element)
    inside = is_indoors(place, context) if place is not None else None
    if inside is False or says(regulator.element, LIMITER_WORDS):
        return PASS
    line = _vent_line(regulator, context)
    if line is None and inside:
        text = "Carry a vent line outdoors, or fit a regulator with a vent limiter."
        return missing(
            REGULATOR_VENTS,
            message=f"{regulator.label} has no vent.",
            remedy=Change("part", regulator.element_ids, "vent line", text),
        )
    ends_inside = is_indoors(line.end, context) if line is not None and line.end else None
    if line is None or ends_inside is None:
        return not_known(VENTED, regulator)
    return require(
        not ends_inside,
        message=f"The vent of {regulator.label} ends in the building.",
        remedy="Carry the vent line outdoors, or fit a regulator with a vent limiter.",
        elements=(line.last.guid, *regulator.element_ids),
    )


def _regulators(context: Context) -> list[GasRegulator]:
    return context.plumbing.gas.regulators if context.plumbing.gas is not None else []


def _is_vented(regulator: GasRegulator, context: Context) -> bool:
    return says(regulator.element, LIMITER_WORDS) or _vent_line(regulator, context) is not None


def _vent_line(regulator: GasRegulator, context: Context) -> DischargeLine | None:
    """The line from the regulator that feeds nothing."""
    network, index = context.plumbing.network, regulator.index
    outlets = [n for n in neighbours(network, index) if n[0] not in carrying(context)]
    return follow(network, index, outlets) if outlets else None


@derived
def carrying(context: Context) -> set[int]:
    """The elements through which gas comes to an appliance."""
    piping = context.plumbing.gas
    return piping.distribution.serving if piping is not None else set()
