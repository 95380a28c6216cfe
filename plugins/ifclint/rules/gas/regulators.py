"""Rules about what stands at a line regulator: its valve, and what protects from its failure."""

from collections.abc import Iterator
from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    given,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT, PA_PER_PSI
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing import GasRegulator
from ifclint.plumbing.facts import fact
from ifclint.plumbing.gas.gas_piping import SHUTOFFS, is_regulator, middle_of
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.words import says
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.piping import members
from ifclint.rules.gas.places import is_indoors
from ifclint.rules.gas.zone_service import zone_pressure_pa

LIMITER_WORDS = ("vent limiter", "vent limiting", "ventless")
OUTDOORS_WORDS = tuple(
    f"{vent} {where}"
    for vent in ("vented", "vented to", "vent to", "vent piped", "vent piped to", "vent line to")
    for where in ("outdoors", "outside", "the outside", "atmosphere", "exterior")
)
REGULATOR_VENTS = PartKind(
    "vents of gas regulators",
    drawn=lambda context: any(_is_vented(r, context) for r in _regulators(context)),
    remedy="Draw the regulator's vent line to its end outdoors, with the walls around it, or name "
    "its vent limiter.",
)
VENTED = Fact("how {} is vented", REGULATOR_VENTS.remedy, asked_once=True)


@gas_rule(
    title="Line regulator vented outdoors, or of the kind that needs no vent",
    clauses={"upc": "1208.8", "ipc": "IFGC 410.3", "irc": "G2421.3"},
    severity=Severity.MEDIUM,
)
def gas_regulator_vent(regulator: GasRegulator, context: Context) -> Answer:
    """When its diaphragm tears, a regulator blows gas out of its vent: into the room, if it may.

    A regulator outdoors needs no vent line; one inside has a vent pipe that ends outdoors, or says
    that it has one or a vent limiter. A pipe that is drawn and ends inside outweighs the name.
    """
    place = middle_of(regulator.element)
    inside = is_indoors(place, context) if place is not None else None
    if inside is False or says(regulator.element, LIMITER_WORDS):
        return PASS
    line = _vent_line(regulator, context)
    ends_inside = is_indoors(line.end, context) if line is not None and line.end else None
    if not ends_inside and says(regulator.element, OUTDOORS_WORDS):
        return PASS
    if line is None and inside:
        text = "Carry a vent line outdoors, or fit a regulator with a vent limiter."
        return missing(
            REGULATOR_VENTS,
            message=f"{regulator.label} has no vent.",
            remedy=Change("part", regulator.element_ids, "vent line", text),
        )
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
    called = says(regulator.element, (*LIMITER_WORDS, *OUTDOORS_WORDS))
    return called or _vent_line(regulator, context) is not None


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


VALVES = PartKind(
    "gas shutoff valves",
    drawn=lambda context: any(e.kind in SHUTOFFS for e in members(context)),
    remedy="Model the valve before each line regulator (IfcValve, GASCOCK or ISOLATING).",
)
PROTECTION = (
    "overpressure*", "over pressure*", "opd", "opss", "opco", "monitor*", "slam shut",
    "relief", "internal relief",
)  # fmt: skip
PROTECT = (
    "Fit a regulator with overpressure protection (a listed line regulator with its device), or a "
    "relief, monitor or shutoff device beside it."
)
PROTECTORS = PartKind(
    "overpressure protection of gas",
    drawn=lambda context: any(map(_protects, members(context))),
    remedy="Name the regulator or the device beside it by its overpressure protection (OPD).",
)
BESIDE_M = 1.83  # a valve so near stands just before the regulator: 6 ft. Ours, no source
FAR_M = 7.6  # one farther off does not: 25 ft, the breadth of a room. Ours, no source
LETS_DOWN = Fact(
    "whether {} lets the gas down to what appliances take",
    "Write the regulator into the job file, as gas.regulators with its outlet_pressure.",
    asked_once=True,
)
AHEAD = Fact(
    "whether {}, {} from {}, stands immediately ahead of it",
    "Set the regulator's shutoff beside it.",
)
SHUTS_OFF = Fact("whether the valve before {} shuts off its gas", fact("valve_kind").remedy)


@gas_rule(
    title="Shutoff before every line regulator",
    clauses={"upc": "1210.11", "ipc": "IFGC 409.4", "irc": "G2420.4"},
    severity=Severity.MEDIUM,
)
def gas_regulator_shutoff(regulator: GasRegulator, context: Context) -> Answer:
    """A regulator that fails is shut off at its own valve, and the rest of the house keeps its gas.

    A shutoff on the pipe that leads to the regulator and to nothing else, back to the last branch
    or the regulator before. The fuel gas code asks for it immediately ahead of the regulator: one
    in another room or more than 25 ft off is wrong, one more than 6 ft off a question; the UPC has
    it upstream. Where the gas comes at no more than what appliances take, the regulator is that of
    an appliance, and its shutoff does. The regulators behind a tank that take more than line
    regulators do, and the first of all, stand before the point of delivery: the container's own
    valve closes them (NFPA 58). The sections are from memory.
    """
    pressure = zone_pressure_pa(regulator.zone, context)
    if _is_of_container(regulator, pressure, context):
        return NOT_APPLICABLE
    most = context.code.limit("gas_appliance_max_psi")
    if pressure is not None and at_most(pressure / PA_PER_PSI, most.value, most.unit):
        return NOT_APPLICABLE
    own = list(_own(regulator, context))
    if (shutoff := next((e for e in own if e.kind in SHUTOFFS), None)) is not None:
        return PASS if context.code.family == "upc" else _ahead(regulator, shutoff)
    doubtful = [e.guid for e in own if e.role is Role.VALVE and not e.kind]
    if doubtful:
        return not_known(SHUTS_OFF, regulator, elements=doubtful)
    return missing(
        VALVES,
        message=f"{regulator.label} has no shutoff before it.",
        remedy=_shutoff_of(regulator),
    )


def _is_of_container(regulator: GasRegulator, pressure: float | None, context: Context) -> bool:
    """Whether the gas comes to a regulator from a tank, and through no other or at a pressure that
    no line regulator takes."""
    if not any(e.role is Role.TANK for e in members(context)):
        return False
    elements = context.plumbing.network.elements
    way = given(context.plumbing.gas).distribution.path(regulator.index)[:-1]
    most = context.code.limit("line_regulator_max_psi")
    is_higher = pressure is not None and not at_most(pressure / PA_PER_PSI, most.value, most.unit)
    return is_higher or not any(is_regulator(elements[i]) for i in way)


def _shutoff_of(regulator: GasRegulator) -> Change:
    text = "Set a listed gas shutoff just before the regulator."
    return Change("part", regulator.element_ids, "gas shutoff", text)


def _ahead(regulator: GasRegulator, shutoff: Element) -> Answer:
    """Whether the shutoff on the line of a regulator stands immediately ahead of it."""
    at, valve = middle_of(regulator.element), middle_of(shutoff)
    away_m = dist(at, valve) if at is not None and valve is not None else 0.0
    rooms = {regulator.element.space, shutoff.space} - {""}
    ids = (shutoff.guid, *regulator.element_ids)
    away = feet_text(away_m / M_PER_FT)
    if len(rooms) > 1 or not at_most(away_m, FAR_M, "m"):
        return violation(
            message=f"{shutoff.label} is {away} from {regulator.label}, not immediately ahead of "
            "it.",
            remedy=_shutoff_of(regulator),
            elements=ids,
        )
    if not at_most(away_m, BESIDE_M, "m"):
        return not_known(AHEAD, shutoff, away, regulator, elements=ids)
    return PASS


def _own(regulator: GasRegulator, context: Context) -> Iterator[Element]:
    """The elements before a regulator that lead to it alone, the nearest first."""
    piping = given(context.plumbing.gas)
    made, leads = piping.distribution, carrying(context)
    down, elements = made.down(), context.plumbing.network.elements
    for index in made.path(regulator.index)[-2::-1]:
        if sum(i in leads for i in down[index]) > 1 or is_regulator(elements[index]):
            return
        yield elements[index]


@gas_rule(
    title="Appliances of low pressure protected where a regulator fails",
    clauses={"upc": "1208.9", "ipc": "IFGC 416.1", "irc": ""},
)
def gas_overpressure_protected(regulator: GasRegulator, context: Context) -> Answer:
    """Five pounds behind a regulator that fails open put the flame of a range to the ceiling.

    Where natural gas is delivered at more than 2 psi, each regulator that lets it down to what
    appliances take has an overpressure protection device: named so in it, or beside it on its line
    (a relief valve, a monitor regulator, a shutoff on overpressure). One of unknown setting is
    asked for it. The sections are from memory.
    """
    delivered = context.job.gas.delivery_pressure
    behind = zone_pressure_pa(regulator.behind, context)
    most = context.code.limit("gas_overpressure_psi")
    low = context.code.limit("gas_appliance_max_psi")
    if context.job.gas.name == "propane" or delivered is None:
        return NOT_APPLICABLE
    if at_most(delivered / PA_PER_PSI, most.value, most.unit):
        return NOT_APPLICABLE
    if behind is not None and not at_most(behind / PA_PER_PSI, low.value, low.unit):
        return NOT_APPLICABLE
    if any(
        _protects(e)
        for e in (regulator.element, *_own(regulator, context), *_behind(regulator, context))
    ):
        return PASS
    known(behind, LETS_DOWN, regulator)
    return missing(
        PROTECTORS,
        message=f"Nothing is drawn that protects the appliances behind {regulator.label}, to which "
        f"gas of {delivered / PA_PER_PSI:g} psi comes, from overpressure.",
        remedy=Change("part", regulator.element_ids, "overpressure protection", PROTECT),
    )


def _protects(element: Element) -> bool:
    return element.kind == "relief" or says(element, PROTECTION)


def _behind(regulator: GasRegulator, context: Context) -> Iterator[Element]:
    """The elements behind a regulator to the first branch, and what stands at it."""
    piping = given(context.plumbing.gas)
    elements, down = context.plumbing.network.elements, piping.distribution.down()
    here = [regulator.index]
    while len(here) == 1:
        here = down[here[0]]
        yield from (elements[i] for i in here)
