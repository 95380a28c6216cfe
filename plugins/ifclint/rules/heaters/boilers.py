"""Rules about boilers that heat rooms: their relief valves, and where these let off."""

from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, missing, not_known, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import PA_PER_PSI, W_PER_BTU_PER_H
from ifclint.engineering.wording import number_text, sentence
from ifclint.findings import Answer, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Boiler, ReliefLine
from ifclint.rules.heaters.ends import ReliefEnd, place_of_end, unknown_end
from ifclint.rules.heaters.lines import joins_drainage
from ifclint.rules.heaters.parts import RELIEF_LINES, RELIEF_VALVES, is_relief_tapping
from ifclint.rules.heaters.venting import input_kbtuh

RELIEF = {"upc": "UMC 1005", "ipc": "IMC 1006", "irc": "M2002.4"}  # from memory
FIT = "Fit a pressure relief valve at the boiler, set for it and rated for its input."
BOILER_VALVES = PartKind(
    "relief valves of boilers",
    RELIEF_VALVES.drawn,
    "Draw the pressure relief valve (IfcValve, PRESSURERELIEF) joined to the boiler, or show that "
    "the boiler comes with one.",
)
RATED = Fact(
    "whether {} carries off what {} takes",
    "Give each relief valve its rating (DischargeCapacity, or in its name: 105,000 Btu/h), and "
    "the boiler its input.",
    asked_once=True,
)
USUAL_PSI = 30.0  # what boilers of hot water are mostly made for; common practice, no source
MADE_FOR = Fact(
    "{}, which opens at {} psi, is set higher than most boilers of hot water are made for "
    "(30 psi); what {} is made for",
    "Give the boiler the pressure that it is made for (WorkingPressure, or in its name: MAWP).",
)
NO_CIRCUIT = Fact(
    "No relief valve is drawn at {}, nor the heating piping that it may stand in.",
    "Review together with the file that has the heating piping, or join the valve to the boiler.",
)


@rule(
    title="Relief valve on every boiler, with nothing that closes between",
    clauses=RELIEF,
    severity=Severity.HIGH,
)
def boiler_relief_valve(boiler: Boiler, context: Context) -> Answer:
    """A boiler that cannot relieve its pressure bursts.

    A relief valve at the boiler or in the heating piping beside it, with no other valve between.
    One behind the fill valve or a backflow preventer is no relief of the boiler. Where the boiler
    shows a tapping for relief that nothing is joined to, or the model draws relief valves
    elsewhere, one that is missing is wrong; where no heating piping is drawn, it is a question.
    """
    if boiler.relief:
        relief, *more = boiler.relief
        closing = _closing(relief)
        if not closing or any(not _closing(other) for other in more):
            return PASS
        return violation(
            message=f'{closing[0].label} stands between {boiler.label} and "{relief.valve.label}".',
            remedy="Take the valve out: no valve may stand between a boiler and its relief valve.",
            elements=(closing[0].guid, relief.valve.guid),
        )
    if any(map(is_relief_tapping, context.plumbing.network.open_ends(boiler.index))):
        return violation(
            message=f"{boiler.label} has no relief valve: its tapping for one is open.", remedy=FIT
        )
    if not boiler.has_circuit:
        return not_known(NO_CIRCUIT, boiler)
    return missing(BOILER_VALVES, message=f"{boiler.label} has no relief valve.", remedy=FIT)


def _closing(relief: ReliefLine) -> list[Element]:
    return [e for e in relief.before if e.role is Role.VALVE]


@rule(
    title="Relief valve of a boiler set and rated for it",
    clauses=RELIEF,
    severity=Severity.HIGH,
    applies=lambda boiler: bool(boiler.relief),
    of_load=True,
)
def boiler_relief_rating(boiler: Boiler, context: Context) -> Iterator[Answer]:
    """A valve that opens late, or lets off less than the burner brings in, is none.

    What each relief valve of a boiler opens at against the pressure that the boiler is made for,
    where both are stated, and what its valves are rated for, all together, against its input. What
    a boiler is made for is asked where a valve is set higher than most are.
    """
    made_for = boiler.element.properties.positive("working_pressure_pa")
    for relief in boiler.relief:
        if made_for is not None:
            yield _setting(boiler, relief, made_for)
        elif not at_most(or_zero(relief.set_pressure_pa) / PA_PER_PSI, USUAL_PSI, "psi"):
            psi = number_text(or_zero(relief.set_pressure_pa) / PA_PER_PSI)
            guids = (boiler.element.guid, relief.valve.guid)
            yield not_known(MADE_FOR, relief.valve, psi, boiler, elements=guids)
    rated_w = [relief.capacity_w for relief in boiler.relief]
    kbtuh = input_kbtuh(boiler.element, context)
    if kbtuh is None or None in rated_w:
        lacking = next((r.valve for r in boiler.relief if r.capacity_w is None), boiler.element)
        yield replace(not_known(RATED, lacking, boiler), severity=Severity.LOW)
        return
    rated = float(round(sum(map(or_zero, rated_w)) / W_PER_BTU_PER_H))
    yield check(
        rated,
        at_least=float(round(1000 * kbtuh)),
        unit="Btu/h",
        message=f"The relief of {boiler.label} is rated {number_text(rated)} Btu/h; the boiler "
        f"takes {number_text(1000 * kbtuh)} Btu/h.",
        remedy=f"Fit a relief valve rated {number_text(1000 * kbtuh)} Btu/h or more.",
        limit_step="Input of the boiler",
        elements=tuple(relief.valve.guid for relief in boiler.relief),
        about="rating",
    )


def _setting(boiler: Boiler, relief: ReliefLine, made_for: float) -> Answer:
    """What one relief valve opens at."""
    if relief.set_pressure_pa is None:
        return not_known("set_pressure_pa", relief, elements=(relief.valve.guid,))
    psi, most = relief.set_pressure_pa / PA_PER_PSI, made_for / PA_PER_PSI
    return check(
        psi,
        at_most=most,
        unit="psi",
        message=f'"{relief.valve.label}" opens at {number_text(psi)} psi; {boiler.label} is made '
        f"for {number_text(most)} psi.",
        remedy=f"Fit a valve set at {number_text(most)} psi or less.",
        limit_step="What the boiler is made for",
        elements=(relief.valve.guid, boiler.element.guid),
        about=relief.valve.guid,
    )


@rule(
    title="Relief valve of a boiler lets off where nobody is scalded",
    clauses=RELIEF,
    severity=Severity.HIGH,
    applies=lambda boiler: bool(boiler.relief),
)
def boiler_relief_line(boiler: Boiler, context: Context) -> Iterator[Answer]:
    """A capped line is no relief, and one that ends unseen floods and scalds.

    Of each relief valve of a boiler: a line joined to its outlet, with no cap, valve or trap in
    it, that ends over a receptor, over the floor, in a pan or outdoors, and not hidden. How high it
    ends is not judged. What is joined to the drainage is judged with all lines of clear water.
    """
    for relief in boiler.relief:
        yield _line(relief, context)


def _line(relief: ReliefLine, context: Context) -> Answer:
    """Whether the line of one relief valve is open to a place where it may let off."""
    valve, line = relief.valve, relief.line
    if not relief.is_drawn:
        return missing(
            RELIEF_LINES,
            message=f'"{valve.label}" of {relief.heater.label} has no discharge line.',
            remedy="Run a full-size line from the valve to a receptor or the floor.",
            elements=(valve.guid, *relief.heater.element_ids),
            about=valve.guid,
        )
    closed = next((e for e in line.elements if _closes(e)), None)
    if closed is not None:
        return violation(
            message=f"{sentence(relief.label)} is closed by {closed.label}.",
            remedy="Leave the line open from the valve to its end, without cap, valve or trap.",
            elements=(closed.guid, valve.guid),
            about=valve.guid,
        )
    if joins_drainage(line, context):
        return NOT_APPLICABLE
    if (into := line.runs_into) is not None:
        return violation(
            message=f"{sentence(relief.label)} is joined to {into.label} without an air gap.",
            remedy="End the line above the rim of a receptor, so that it drips through an air gap.",
            elements=(into.guid, *line.element_ids),
            about=valve.guid,
        )
    place = place_of_end(relief.line, context)
    if place.end is ReliefEnd.UNKNOWN:
        return unknown_end(relief.label, place)
    if place.end is not ReliefEnd.HIDDEN:
        return PASS
    return violation(
        message=f"{sentence(relief.label)} ends {place.words}, where nobody sees it.",
        remedy="End the line over a receptor or the floor in the room of the boiler.",
        elements=(relief.line.last.guid,),
        about=relief.valve.guid,
    )


def _closes(element: Element) -> bool:
    return element.role in (Role.VALVE, Role.TRAP) or element.kind == "cap"
