"""Rules about the lines of relief valves, down to the last fitting (the end: `relief_ends`)."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import takewhile

from ifclint.checks import PASS, Fact, advise, check, given, missing, not_known, violation
from ifclint.engineering.data import WATER_SIZES
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import feet, inches
from ifclint.engineering.wording import number_text, sentence, trade_size
from ifclint.findings import Answer, Change, Measure, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import ReliefLine
from ifclint.plumbing.facts import fact
from ifclint.rules.heaters.lines import narrow, passages, rises, unsized
from ifclint.rules.heaters.parts import RELIEF_LINES
from ifclint.rules.heaters.wording import discharge_clause

DISCHARGE = {"upc": "608.5", "ipc": "504.6", "irc": "P2804.6.1"}
LEVEL_M = 0.3  # ours, no source: a shorter pipe may lie level
FLAT = 0.001  # ours, no source: fall along the run below which it counts as level
OVER_INSERTS = frozenset({"pex", "pe-rt", "multilayer"})
TEES = frozenset({"tee", "cross", "wye", "sanitary-tee"})
KIND = Fact("A fitting of {} is of unknown kind.", fact("fitting_kind").remedy)


@rule(title="Relief valve discharges through a line", clauses=DISCHARGE, severity=Severity.HIGH)
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
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    needs=("outlet_in",),
    asked_once=True,
    applies=lambda relief: relief.is_drawn,
)
def relief_line_size(relief: ReliefLine, context: Context) -> Iterator[Answer]:
    """A narrowed line holds back the very water that must get out.

    The nominal size of every pipe of the line against that of the valve's outlet.
    """
    assert relief.outlet_in is not None
    outlet, text = relief.outlet_in, trade_size(relief.outlet_in)
    size, small = narrow(relief.line, outlet)
    yield check(
        size,
        at_least=outlet,
        unit="in",
        message=f"{sentence(relief.label)} is {trade_size(size)} on a {text} valve outlet.",
        remedy=Change("size", small, outlet, f"Make the line {text} over its full length."),
        limit_step="Outlet of the valve",
        elements=small,
    )
    yield from unsized(relief.line, relief.label)


@rule(
    title="Relief line of plastic tube one size larger than the valve's outlet",
    clauses={"ipc": "504.6", "irc": "P2804.6.1"},
    needs=("outlet_in",),
    asked_once=True,
    applies=lambda relief: bool(_tube(relief)),
)
def relief_tube_size(relief: ReliefLine, context: Context) -> Answer:
    """Tube is joined over inserts, which are narrower inside than the valve's outlet.

    The smallest tube of PEX, PE-RT or of PEX with aluminium in the line, against the trade size
    next above that of the valve's outlet. That its end is fastened, as the clause also asks, is
    seen at the site.
    """
    outlet, limit = given(relief.outlet_in), context.code.limit("relief_tube_sizes_larger")
    above = [size for size in WATER_SIZES if size > outlet]
    least = above[int(limit.value) - 1] if above else outlet
    tube = _tube(relief)
    line = replace(relief.line, elements=tuple(tube))
    size, small = narrow(line, least)
    return check(
        size,
        at_least=least,
        unit="in",
        message=f"{sentence(relief.label)} is {trade_size(size)} tube of {tube[0].material} "
        f"on a {trade_size(outlet)} valve outlet.",
        remedy=Change(
            "size", small, least,
            f"Make the tube {trade_size(least)} and fasten its end, or run the line in metal pipe "
            f"of {trade_size(outlet)}.",
        ),
        steps=(Step("Outlet of the valve", outlet, "in"),
               limit.step("Larger by")),
        limit_step="Trade size of the tube",
        elements=small,
        clause=limit.clause,
    )  # fmt: skip


def _tube(relief: ReliefLine) -> list[Element]:
    """The pipes of a line that are joined over inserts."""
    return [pipe for pipe in relief.line.pipes if pipe.material in OVER_INSERTS]


@rule(
    title="Relief line falls all the way",
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=lambda relief: relief.is_drawn,
)
def relief_line_falls(relief: ReliefLine, context: Context) -> Iterator[Answer]:
    """Water that stands in a relief line corrodes the valve shut, and freezes.

    The heights at which the line passes from pipe to fitting, from the valve to its end: none
    may be higher than the one before. Each pipe that runs level is advised against.
    """
    if len(relief.line.points) < 2:
        yield not_known("path", relief)
    for passage in rises(relief.line):
        element, rise = passage.element, inches(passage.rise_m)
        yield check(
            rise,
            at_most=0.0,
            unit="in",
            message=f"{sentence(relief.label)} rises {number_text(rise)} in at {element.label}.",
            remedy="Run the line downward from the valve to its end, without a trap.",
            elements=[e.guid for e in (element, passage.leads_to) if e is not None],
            about=element.guid,
        )
    for passed in passages(relief.line):
        if (
            passed.rises
            or at_most(passed.level_m, LEVEL_M, "m")
            or -passed.rise_m > FLAT * passed.level_m
        ):
            continue
        yield advise(
            f"{sentence(relief.label)} is level for {number_text(feet(passed.level_m))} ft at "
            f"{passed.element.label}, and may not drain.",
            "Give the whole line a fall from the valve to its end.",
            measured=Measure(inches(-passed.rise_m), "in"),
            elements=(passed.element.guid,),
            about=passed.element.guid,
        )
    yield PASS


@rule(
    title="No valve before a relief valve, and no valve, tee or trap in its line",
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    applies=lambda relief: relief.is_drawn or bool(_shut_off_by(relief)),
)
def relief_line_clear(relief: ReliefLine, context: Context) -> Iterator[Answer]:
    """A valve that someone closes, or a trap that stays full, makes the relief valve useless.

    The elements between the heater and the relief valve, and those of its line. A further relief
    valve out in the piping of a heater that has one at its tank may stand behind a valve.
    """
    for valve in _shut_off_by(relief):
        yield violation(
            message=f"{valve.label} stands between {relief.heater.label} and "
            f'"{relief.valve.label}".',
            remedy="Take the valve out: no valve may stand between a heater and its relief valve.",
            elements=(valve.guid, relief.valve.guid),
            about=valve.guid,
        )
    drain = relief.line.entered  # what is wrong from there on is told by its end
    for element in takewhile(lambda e: e is not drain, relief.line.elements):
        yield _clear(relief, element, context)
    if relief.line.last.kind == "cap":
        yield violation(
            message=f"{sentence(relief.label)} is capped.",
            remedy="Leave the end of the line open.",
            elements=(relief.line.last.guid,),
        )


def _shut_off_by(relief: ReliefLine) -> list[Element]:
    """The valves between the heater and its relief valve."""
    if not relief.is_direct and any(r.is_direct for r in relief.heater.relief):
        return []
    return [e for e in relief.before if e.role is Role.VALVE]


def _taken_out(element: Element) -> Change:
    text = "Take the part out: nothing but pipe and elbows may stand in the line."
    if element.kind in TEES:
        text = "Take the tee out, and lead each line to an end of its own: nothing but pipe and "
        text += "elbows may stand in it."
    return Change("work", (element.guid,), "taking out", text)


def _parted(met: Element) -> Change:
    """What is done where the lines of two relief valves meet."""
    text = "Give each relief valve a line of its own to its end."
    is_tee = met.kind in TEES
    return _taken_out(met) if is_tee else Change("work", (met.guid,), "line of its own", text)


def _clear(relief: ReliefLine, element: Element, context: Context) -> Answer:
    """Whether an element may stand in a relief line."""
    if element.role in (Role.VALVE, Role.TRAP) or element.kind in TEES:
        key = "trapped" if element.role is Role.TRAP else "valve-or-tee"
        return violation(
            message=f"{sentence(relief.label)} has {element.label} in it.",
            remedy=_taken_out(element),
            elements=(element.guid,),
            about=element.guid,
            clause=discharge_clause(context, key),
        )
    if element.role is Role.FITTING and not element.kind and len(element.ends) > 2:
        return not_known(KIND, relief, elements=(element.guid,), about=element.guid)
    return PASS


@rule(
    title="Every relief valve has a line of its own",
    clauses={"ipc": "504.6", "irc": "P2804.6.1"},
    severity=Severity.HIGH,
    applies=lambda relief: relief.is_drawn,
)
def relief_line_own(relief: ReliefLine, context: Context) -> Iterator[Answer]:
    """Two valves on one line push against each other, and nobody sees which one leaks.

    Whether the line meets that of another relief valve, or runs into one.
    """
    mine = set(relief.line.element_ids)
    for other in context.plumbing.heaters.relief_lines:
        shared = [e for e in other.line.elements if e.guid in mine]
        into_mine = other.line.runs_into is relief.valve
        if other is not relief and (shared or into_mine or relief.line.runs_into is other.valve):
            met = shared[0] if shared else relief.valve if into_mine else other.valve
            yield violation(
                message=f'{sentence(relief.label)} is shared with "{other.valve.label}".',
                remedy=_parted(met),
                elements=(met.guid, *relief.element_ids),
                about=other.key,
                clause=discharge_clause(context, "combined-with-other-relief"),
            )
    yield PASS
