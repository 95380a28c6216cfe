"""Rules about the lines that relief valves discharge through, from the valve to the end."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import PASS, advise, check, unverified, violation
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change, Measure, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import ReliefLine
from ifclint.rules.heaters.lines import narrow, passages, rises, unsized
from ifclint.rules.heaters.relief_valves import DISCHARGE
from ifclint.rules.heaters.wording import SHAPE, discharge_clause, feet, inches, start

LEVEL_M = 0.3  # ours, no source: a shorter pipe may lie level
FLAT = 0.001  # ours, no source: fall along the run below which it counts as level
TEES = frozenset({"tee", "cross", "wye", "sanitary-tee"})


@rule(
    title="Relief line not smaller than the valve's outlet",
    subject=ReliefLine,
    clauses=DISCHARGE,
    severity=Severity.HIGH,
    needs=("outlet_in",),
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
        message=f"{start(relief)} is {trade_size(size)} on a {text} valve outlet.",
        remedy=Change("size", small, outlet, f"Make the line {text} over its full length."),
        limit_step="Outlet of the valve",
        elements=small,
    )
    yield from unsized(relief.line, relief.label)


@rule(
    title="Relief line falls all the way",
    subject=ReliefLine,
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
        yield unverified(f"The path of {relief.label} is not known.", SHAPE)
    for passage in rises(relief.line):
        element, rise = passage.element, inches(passage.rise_m)
        yield check(
            rise,
            at_most=0.0,
            unit="in",
            message=f"{start(relief)} rises {number_text(rise)} in at {element.label}.",
            remedy="Run the line downward from the valve to its end, without a trap.",
            elements=[e.guid for e in (element, passage.leads_to) if e is not None],
            about=element.guid,
        )
    yield from _level(relief)
    yield PASS


def _level(relief: ReliefLine) -> Iterator[Answer]:
    """Advice on each pipe of the line that does not fall."""
    for passed in passages(relief.line):
        if passed.rises or passed.level_m <= LEVEL_M or -passed.rise_m > FLAT * passed.level_m:
            continue
        yield advise(
            f"{start(relief)} is level for {number_text(feet(passed.level_m))} ft at "
            f"{passed.element.label}, and may not drain.",
            "Give the whole line a fall from the valve to its end.",
            measured=Measure(inches(-passed.rise_m), "in"),
            elements=(passed.element.guid,),
            about=passed.element.guid,
        )


@rule(
    title="No valve before a relief valve, and no valve, tee or trap in its line",
    subject=ReliefLine,
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
            remedy="Take it out: no valve may stand between a heater and its relief valve.",
            elements=(valve.guid, relief.valve.guid),
            about=valve.guid,
        )
    for element in relief.line.elements:
        yield _clear(relief, element, context)
    if relief.line.last.kind == "cap":
        yield violation(
            message=f"{start(relief)} is capped.",
            remedy="Leave the end of the line open.",
            elements=(relief.line.last.guid,),
        )


def _shut_off_by(relief: ReliefLine) -> list[Element]:
    """The valves between the heater and its relief valve."""
    if not relief.is_direct and any(r.is_direct for r in relief.heater.relief):
        return []
    return [e for e in relief.before if e.role is Role.VALVE]


def _clear(relief: ReliefLine, element: Element, context: Context) -> Answer:
    """Whether an element may stand in a relief line."""
    if element.role in (Role.VALVE, Role.TRAP) or element.kind in TEES:
        key = "trapped" if element.role is Role.TRAP else "valve-or-tee"
        return violation(
            message=f"{start(relief)} has {element.label} in it.",
            remedy="Take it out: nothing but pipe and elbows may stand in the line.",
            elements=(element.guid,),
            about=element.guid,
            clause=discharge_clause(context, key),
        )
    if element.role is Role.FITTING and not element.kind and len(element.ends) > 2:
        return unverified(
            f"A fitting of {relief.label} is of unknown kind.",
            "Set the PredefinedType of the fitting, or name it in trade words.",
            (element.guid,),
            about=element.guid,
        )
    return PASS


@rule(
    title="Every relief valve has a line of its own",
    subject=ReliefLine,
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
        runs_into = relief.line.runs_into is other.valve or other.line.runs_into is relief.valve
        if other is not relief and (shared or runs_into):
            yield violation(
                message=f'{relief.label} is shared with "{other.valve.label}".',
                remedy="Give each relief valve a line of its own to its end.",
                elements=((shared or [other.valve])[0].guid, *relief.element_ids),
                about=other.key,
                clause=discharge_clause(context, "combined-with-other-relief"),
            )
    yield PASS


RULES = (relief_line_size, relief_line_falls, relief_line_clear, relief_line_own)
