"""Rules about relief valves and the lines they discharge through."""

from __future__ import annotations

from math import hypot

from ifclint.checks import PASS, advise, check, missing, unverified, violation
from ifclint.engineering.units import M_PER_FT, M_PER_IN, PA_PER_PSI
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change, Measure, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Heater, ReliefLine
from ifclint.rules.heaters.answers import SHAPE, limit_step, says, start
from ifclint.rules.heaters.ends import Place, air_gap, place_of_end
from ifclint.rules.heaters.parts import RELIEF_LINES, RELIEF_VALVES

DISCHARGE = {"upc": "608.5", "ipc": "504.6", "irc": "P2804.6.1"}
THREAD_WORDS = ("male adapter", "threaded", "mpt", "hose thread")
LEVEL_M = 0.3  # ours, no source: a shorter pipe may lie level
FLAT = 0.001  # ours, no source: fall along the run below which it counts as level
TEES = frozenset({"tee", "cross", "wye", "sanitary-tee"})


def _is_drawn(line: ReliefLine) -> bool:
    return line.is_drawn


@rule(
    title="Relief valve on every water heater",
    subject=Heater,
    clauses={"upc": "504.6 and 608.3", "ipc": "504.4", "irc": "P2804.1"},
    severity=Severity.HIGH,
)
def heater_relief_valve(heater: Heater, context: Context) -> Answer:
    """A heater whose control fails and that cannot relieve bursts like a bomb.

    A relief valve on the heater, joined to it directly or by relief piping; at a tankless heater,
    one close to it in its water piping serves too. At a tank, whether a valve in the cold or hot
    water piping senses the tank's temperature is not told, and that is unverified. Where the
    heater is of the tankless kind, or shows no connection at all, one that is missing is
    unverified: its listing may not ask for one, or it may not have been drawn.
    """
    if any(r.is_direct or heater.kind == "tankless" for r in heater.relief):
        return PASS
    if heater.relief:
        valve = heater.relief[0].valve
        return unverified(
            f'"{valve.label}" stands in the water piping of {heater.label}; whether it senses the '
            "tank's temperature is not told.",
            "Join the temperature and pressure relief valve to the heater's own tapping for it.",
            (valve.guid, *heater.element_ids),
        )
    if heater.kind == "tankless" or not heater.element.ends:
        return unverified(f"No relief valve is drawn at {heater.label}.", RELIEF_VALVES.remedy)
    return missing(
        RELIEF_VALVES,
        message=f"{heater.label} has no relief valve.",
        remedy="Fit a temperature and pressure relief valve in the heater's tapping for it.",
    )


@rule(
    title="Relief valve set low enough",
    subject=ReliefLine,
    clauses={"upc": "608.3", "ipc": "504.5", "irc": "P2804.4"},
    severity=Severity.HIGH,
)
def relief_setting(relief: ReliefLine, context: Context) -> Answer:
    """A valve that opens above what the tank is made for opens too late.

    The set pressure that the model gives the valve against the highest the code allows. The
    working pressure of the tank may ask for less.
    """
    stated = relief.valve.properties.get("relief_pressure_pa")
    if not isinstance(stated, float):
        return unverified(
            f'The set pressure of "{relief.valve.label}" is not known.',
            "Give the valve Pset_ValveTypePressureRelief.ReliefPressure.",
            (relief.valve.guid,),
        )
    key = "relief_set_max_psi"
    limit, psi = context.code.limit(key), stated / PA_PER_PSI
    return check(
        psi,
        at_most=limit,
        message=f'"{relief.valve.label}" opens at {number_text(psi)} psi; '
        f"{limit.value:g} psi is the most.",
        remedy=f"Fit a valve set at {limit.value:g} psi or less, and not above the tank's "
        "working pressure.",
        steps=lambda: (limit_step(context.code, key, "Highest setting"),),
        elements=(relief.valve.guid,),
    )


@rule(
    title="Relief valve discharges through a line",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
)
def relief_line_present(relief: ReliefLine, context: Context) -> Answer:
    """A relief valve that opens into the room scalds whoever stands there.

    Pipe joined to the valve's outlet.
    """
    if relief.is_drawn:
        return PASS
    return missing(
        RELIEF_LINES,
        message=f'"{relief.valve.label}" has no discharge line.',
        remedy="Run a full-size line from the valve to where the code lets it end.",
        elements=(relief.valve.guid, *relief.heater.element_ids),
    )


@rule(
    title="Relief line not smaller than the valve's outlet",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=_is_drawn,
)
def relief_line_size(relief: ReliefLine, context: Context) -> Answer:
    """A narrowed line holds back the very water that must get out.

    The nominal size of every pipe of the line against that of the valve's outlet.
    """
    outlet = relief.outlet_in
    if outlet is None:
        return unverified(
            f'The outlet size of "{relief.valve.label}" is not known.',
            "Give the valve's ports a nominal diameter.",
            (relief.valve.guid,),
        )
    small = [p for p in relief.line.pipes if p.size_in is not None and p.size_in < outlet]
    least = min((p.size_in or 0.0 for p in small), default=outlet)
    unsized = [p.guid for p in relief.line.pipes if p.size_in is None]
    sized = check(
        least,
        at_least=outlet,
        unit="in",
        message=f"{start(relief)} is {trade_size(least)} on a {trade_size(outlet)} valve outlet.",
        remedy=lambda: Change(
            "size",
            tuple(p.guid for p in small),
            outlet,
            f"Make the line {trade_size(outlet)} over its full length.",
        ),
        steps=(Step("Outlet of the valve", outlet, "in"),),
        elements=tuple(p.guid for p in small),
    )
    if unsized and sized is PASS:
        return unverified(
            f"The size of part of {relief.label} is not known.",
            "Give the pipe a nominal diameter (Pset_PipeSegmentTypeCommon.NominalDiameter, on the "
            "pipe or its type).",
            unsized,
        )
    return sized


@rule(
    title="Relief line falls all the way",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=_is_drawn,
)
def relief_line_falls(relief: ReliefLine, context: Context) -> Answer:
    """Water that stands in a relief line corrodes the valve shut, and freezes.

    The heights at which the line passes from pipe to fitting, from the valve to its end: none
    may be higher than the one before. A pipe that runs level is advised against.
    """
    if len(relief.line.points) < 2:
        return unverified(f"The course of {relief.label} is not known.", SHAPE)
    rise = relief.line.first_rise
    if rise is None:
        return _level(relief) or PASS
    element, metres = rise
    return violation(
        message=f"{start(relief)} rises {number_text(metres / M_PER_IN)} in at {element.label}.",
        remedy="Run the line downward from the valve to its end, without a trap.",
        measured=Measure(metres / M_PER_IN, "in"),
        required=Measure(0.0, "in", "at most"),
        elements=_around_rise(relief, element.guid),
    )


def _level(relief: ReliefLine) -> Answer | None:
    """An advisory where a pipe of the line does not fall at all."""
    points = relief.line.points
    for element, a, b in zip(relief.line.elements, points, points[1:], strict=False):
        length = hypot(b[0] - a[0], b[1] - a[1])
        if length > LEVEL_M and a[2] - b[2] <= FLAT * length:
            return advise(
                (
                    f"{start(relief)} is level for {number_text(length / M_PER_FT)} ft at "
                    f"{element.label}, and may not drain."
                ),
                "Give the whole line a fall from the valve to its end.",
                measured=Measure((a[2] - b[2]) / M_PER_IN, "in"),
                elements=(element.guid,),
            )
    return None


def _around_rise(relief: ReliefLine, guid: str) -> tuple[str, ...]:
    """The element that rises, and the fitting it rises to."""
    ids = [e.guid for e in relief.line.elements]
    at = ids.index(guid)
    return tuple(ids[at : at + 2])


def _shut_off_by(relief: ReliefLine) -> list[Element]:
    """The valves between the heater and its relief valve."""
    if not relief.is_direct and any(r.is_direct for r in relief.heater.relief):
        return []
    return [e for e in relief.before if e.role is Role.VALVE]


@rule(
    title="No valve before a relief valve, and no valve, tee or trap in its line",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=lambda relief: relief.is_drawn or bool(_shut_off_by(relief)),
)
def relief_line_clear(relief: ReliefLine, context: Context) -> Answer:
    """A valve that someone closes, or a trap that stays full, makes the relief valve useless.

    The elements between the heater and the relief valve, and those of its line. A further relief
    valve out in the piping of a heater that has one at its tank may stand behind a valve.
    """
    line, before = relief.line, _shut_off_by(relief)
    if before:
        return violation(
            message=f"{before[0].label} stands between {relief.heater.label} and "
            f'"{relief.valve.label}".',
            remedy="Take it out: no valve may stand between a heater and its relief valve.",
            elements=(*(e.guid for e in before), relief.valve.guid),
        )
    wrong = [e for e in line.elements if e.role is Role.VALVE]
    wrong += [e for e in line.elements if e.role is Role.TRAP]
    wrong += [e for e in line.elements if e.kind in TEES]
    if wrong:
        key = "trapped" if wrong[0].role is Role.TRAP else "valve-or-tee"
        row = context.code.table("relief_discharge").one(key=key)
        return violation(
            message=f"{start(relief)} has {wrong[0].label} in it.",
            remedy="Take it out: nothing but pipe and elbows may stand in the line.",
            elements=tuple(e.guid for e in wrong),
            clause=row.clause if row else "",
        )
    if line.last.kind == "cap":
        return violation(
            message=f"{start(relief)} is capped.",
            remedy="Leave the end of the line open.",
            elements=(line.last.guid,),
        )
    if any(e.role is Role.FITTING and not e.kind and len(e.ends) > 2 for e in line.elements):
        return unverified(
            f"A fitting of {relief.label} is of unknown kind.",
            "Set the PredefinedType of the fitting, or name it in trade words.",
        )
    return PASS


@rule(
    title="Every relief valve has a line of its own",
    subject=ReliefLine,
    clauses={"ipc": "504.6", "irc": "P2804.6.1"},
    severity=Severity.HIGH,
    applies=_is_drawn,
)
def relief_line_own(relief: ReliefLine, context: Context) -> Answer:
    """Two valves on one line push against each other, and nobody sees which one leaks.

    Whether the line meets that of another relief valve, or runs into one.
    """
    mine = {e.guid for e in relief.line.elements}
    for other in context.plumbing.heaters.relief_lines:
        if other is relief:
            continue
        shared = [e for e in other.line.elements if e.guid in mine]
        into = relief.line.runs_into is other.valve or other.line.runs_into is relief.valve
        if shared or into:
            row = context.code.table("relief_discharge").one(key="combined-with-other-relief")
            return violation(
                message=f'{relief.label} is shared with "{other.valve.label}".',
                remedy="Give each relief valve a line of its own to its end.",
                elements=((shared or [other.valve])[0].guid, *relief.element_ids),
                clause=row.clause if row else "",
            )
    return PASS


@rule(
    title="Relief line ends where it may, in the open air",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=_is_drawn,
)
def relief_line_end(relief: ReliefLine, context: Context) -> Answer:
    """Whoever stands near must not be scalded, and whoever passes must see that it drips.

    Where the line ends (over a receptor, in a pan, outdoors, over a floor) against what the code
    allows, and how high: the IPC counts from floor or receptor, the UPC from the ground outdoors.
    A line that runs into a drain without an air gap is wrong under every code.
    """
    into = relief.line.runs_into
    if into is not None and into.kind != "relief":
        row = context.code.table("relief_discharge").one(key="direct-drain-connection")
        return violation(
            message=f"{start(relief)} is joined to {into.label} without an air gap.",
            remedy="End the line above the receptor's rim, so that it drips through an air gap.",
            elements=(into.guid, *relief.element_ids),
            clause=row.clause if row else "",
        )
    place = place_of_end(relief.line, context)
    if not place.kind:
        return unverified(
            f"Where {relief.label} ends is not known: {place.words}.",
            "Draw the line to its end, the receptor under it, and the walls and slabs around it "
            "(or add the architect's file to the review).",
        )
    key = f"into-{place.kind}" if place.kind == "pan" else f"to-{place.kind}"
    row = context.code.table("relief_discharge").one(key=key)
    if row is None or row.text("allowed") != "yes":
        return violation(
            message=(
                f"{start(relief)} ends {place.words}, which {context.code.short} does not allow."
            ),
            remedy=(
                "End it where the code allows: over a drain through an air gap, or outdoors "
                "in sight."
            ),
            elements=(relief.line.last.guid,),
            clause=row.clause if row else "",
        )
    return _height(relief, place, context)


def _height(relief: ReliefLine, place: Place, context: Context) -> Answer:
    """The height of an end against the least and the most the code sets for such a place."""
    above = place.above_in
    bounds = _bounds(relief, place, context)
    if above is None or bounds is None:
        return PASS
    least, most, steps = bounds
    if above < least - 0.05 or (most is not None and above > most + 0.05):
        bound = Measure(least, "in", "at least")
        if most is not None and above > most:
            bound = Measure(most, "in", "at most")
        low = (
            f"between {number_text(least)} and {number_text(most)} in"
            if most
            else (f"at least {number_text(least)} in")
        )
        return violation(
            message=(
                f"{start(relief)} ends {number_text(above)} in above {_under(place)}; "
                f"{low} is asked "
                "for."
            ),
            remedy=f"End the line {low} above {_under(place)}.",
            measured=Measure(above, "in"),
            required=bound,
            steps=steps,
            elements=(relief.line.last.guid,),
        )
    return PASS


def _under(place: Place) -> str:
    return {"waste-receptor": "the receptor", "outdoors": "the ground"}.get(place.kind, "the floor")


def _bounds(
    relief: ReliefLine, place: Place, context: Context
) -> tuple[float, float | None, tuple[Step, ...]] | None:
    code, keys = context.code, _limits(context)
    over_receptor = place.kind == "waste-receptor"
    gap = air_gap(relief.line, relief.outlet_in, context) if over_receptor else None
    if "relief_end_above_floor_max_in" in keys:
        diameters = code.limit("relief_end_min_diameters")
        least = max(diameters.value * (relief.outlet_in or 0.75), (gap and gap.value) or 0.0)
        most = code.limit("relief_end_above_floor_max_in")
        words = f"{diameters.value:g} pipe diameters"
        return least, most.value, (
            Step(words, least, "in", diameters.clause),
            Step("At most", most.value, "in", most.clause),
        )  # fmt: skip
    if place.kind == "outdoors":
        low, high = (code.limit(f"relief_end_outdoors_{k}_in") for k in ("min", "max"))
        return low.value, high.value, (
            Step("At least", low.value, "in", low.clause),
            Step("At most", high.value, "in", high.clause),
        )  # fmt: skip
    return (gap.value, None, (gap,)) if gap and gap.value else None


def _limits(context: Context) -> set[str]:
    return {row.text("key") for row in context.code.table("limits").rows}


@rule(
    title="No thread at the end of a relief line",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.LOW,
    applies=_is_drawn,
)
def relief_line_no_thread(relief: ReliefLine, context: Context) -> Answer:
    """A thread invites somebody to stop a drip with a cap.

    Whether the last piece of the line is named as threaded or plain. Most drawings do not tell.
    """
    last = relief.line.last
    stated = last.properties.get("threaded_end")
    if stated is True or says(last, *THREAD_WORDS):
        row = context.code.table("relief_discharge").one(key="threaded-end")
        return violation(
            message=f"{start(relief)} ends in a thread.",
            remedy="Cut the end plain, so that it cannot be capped.",
            elements=(last.guid,),
            clause=row.clause if row else "",
        )
    if stated is False or says(last, "plain end", "open outlet", "unthreaded"):
        return PASS
    return unverified(
        f"Whether {relief.label} ends in a thread is not known.",
        "Name the last piece of each relief line as a plain or open end.",
        (last.guid,),
    )


@rule(
    title="Relief line ends in the room of its heater, or outdoors",
    subject=ReliefLine,
    clauses={"ipc": "504.6", "irc": "P2804.6.1"},
    severity=Severity.MEDIUM,
    applies=_is_drawn,
)
def relief_line_in_sight(relief: ReliefLine, context: Context) -> Answer:
    """A valve that drips unseen in another room goes on until it fails.

    The space of the receptor under the end against that of the heater; outdoors is in sight.
    """
    place = place_of_end(relief.line, context)
    if place.kind == "outdoors":
        return PASS
    there = place.element.space if place.element else relief.line.last.space
    here = relief.heater.element.space
    if not there or not here:
        return unverified(
            f"Whether {relief.label} ends in the room of its heater is not known.",
            "Contain heaters and receptors in their spaces (IfcSpace).",
            (relief.line.last.guid,),
        )
    if there == here:
        return PASS
    return violation(
        message=f"{start(relief)} ends in {there}; {relief.heater.label} stands in {here}.",
        remedy="End the line through an air gap in the room of the heater.",
        elements=(relief.line.last.guid, *relief.heater.element_ids),
    )


RULES = (
    heater_relief_valve, relief_setting, relief_line_present, relief_line_size, relief_line_falls,
    relief_line_clear, relief_line_own, relief_line_end, relief_line_no_thread,
    relief_line_in_sight,
)  # fmt: skip
