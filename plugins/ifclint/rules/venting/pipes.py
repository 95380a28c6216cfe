"""Rules about vent pipe: its size, its height above the rims it serves, its grade, its take-off."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, unverified, violation
from ifclint.codes import Row
from ifclint.engineering import tolerance
from ifclint.engineering.trade_sizes import TRADE_SIZES
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, slope_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import VentGroup, VentSegment
from ifclint.rules.venting.airflow import airflow, load_steps
from ifclint.rules.venting.wording import feet, limit, rows, vent_steps

LEVEL_M = 0.002
CENTRE_LINE_M = 0.005


def _serves(pipe: VentSegment) -> bool:
    return pipe.serves > 0


def _wider(size: float) -> float:
    return next((s for s in TRADE_SIZES if s > size), size)


@rule(
    title="Vent no smaller than the least size, or half the drain it serves",
    subject=VentSegment,
    clauses={"upc": "904.1", "ipc": "906.2", "irc-2021": "P3113.1"},
    severity=Severity.HIGH,
    needs=("size_in",),
    applies=_serves,
)
def vent_least_size(pipe: VentSegment, context: Context) -> Answer:
    """A narrow vent lets air in too slowly, and closes with frost or rust.

    Every vent, from the drain to the open air, against the code's least size, half the largest
    drain it serves (UPC: as laid; IPC: as the code asks of its fixtures), and what closets ask.
    """
    assert pipe.size_in is not None
    wanted = _demands(pipe, context)
    least, why, clause = max(wanted, key=lambda d: d[0])
    if pipe.size_in >= least:
        return PASS
    listed = next((s for s in TRADE_SIZES if s >= least), least)
    return violation(
        message=f"{_cap(pipe.label)} is smaller than {why} asks for.",
        remedy=f"Make it {trade_size(listed)}, and no smaller on to the open air.",
        measured=Measure(pipe.size_in, "in"),
        required=Measure(least, "in", "at least"),
        steps=(
            *(Step(what, value, "in", source) for value, what, source in wanted),
            *_path(pipe, context),
        ),
        clause=clause,
    )


def _path(pipe: VentSegment, context: Context) -> tuple[Step, ...]:
    """The way of the air, from the farthest drain the vent serves."""
    joint = airflow(context).joint_of(pipe)
    return vent_steps(joint) if joint is not None else ()


def _cap(label: str) -> str:
    return label[0].upper() + label[1:]


def _demands(pipe: VentSegment, context: Context) -> list[tuple[float, str, str]]:
    """(size, what asks for it, clause)."""
    air, found = airflow(context), []
    least, ratio = limit(context, "vent_minimum_in"), limit(context, "vent_drain_ratio")
    if least is not None:
        found.append((least.value, "the least size of a vent", least.clause))
    laid = context.code.family == "upc"
    drain = air.of(pipe, air.largest_drain_in if laid else air.asked_drain_in)
    if ratio is not None and drain:
        words = f"{number_text(ratio.value)} of the {trade_size(drain)} drain "
        found.append((drain * ratio.value, words + ("laid" if laid else "asked"), ratio.clause))
    if air.of(pipe, air.closets) and context.code.table("limits").where(key="closet_vent_in"):
        closet = context.code.limit("closet_vent_in")
        found.append((closet.value, "a water closet", closet.clause))
    return found


@rule(
    title="Vent large enough for its load and length",
    subject=VentSegment,
    clauses={
        "upc": "703.1 and Table 703.2",
        "ipc": "906.1, 906.2 and Table 906.1",
        "irc-2021": "P3113.1",
    },
    needs=("size_in", "developed_m"),
    applies=_serves,
)
def vent_capacity(pipe: VentSegment, context: Context) -> Answer:
    """The more a vent serves and the longer it is, the larger it must be.

    UPC: the fixture units that breathe through it and its developed length to the open air, by the
    table, no more than a third of that length horizontal; one size larger throughout waives the
    lengths. IPC: stack vents by the table of stack size, load and length; other vents one size
    larger beyond 40 ft, measured to the stack vent.
    """
    least = limit(context, "vent_minimum_in")
    if least is not None and (pipe.size_in or 0.0) < least.value:
        return NOT_APPLICABLE  # the rule about the least size finds it
    if context.code.family == "upc":
        return _by_load_and_length(pipe, context)
    joint = airflow(context).stack_joint(pipe)
    return _stack_vent(pipe, context) if joint is not None else _branch_vent(pipe, context)


def _by_load_and_length(pipe: VentSegment, context: Context) -> Answer:
    air, table = airflow(context), rows(context, "vent_capacity")
    share = limit(context, "vent_horizontal_share")
    load, length = air.of(pipe, air.dfu), feet(pipe.farthest_m or 0.0)
    level = feet(air.of(pipe, air.level_m))

    def enough(row: Row, waived: bool) -> bool:
        if load > row.number("max_dfu"):
            return False
        most = row.number("max_length_ft")
        long = length > most or (
            share is not None and not tolerance.at_most(level, most * share.value, "ft")
        )
        return waived or not long

    carrying = next((r for r in table if load <= r.number("max_dfu")), None)
    fitting = next((r for r in table if enough(r, waived=False)), None)
    least = max((demand[0] for demand in _demands(pipe, context)), default=0.0)
    by_load = max(carrying.number("size_in"), least) if carrying is not None else None
    wanted = fitting.number("size_in") if fitting is not None else None
    if by_load is not None:
        larger = next(
            (s for s in context.code.table("vent_capacity").numbers("size_in") if s > by_load),
            by_load,
        )
        wanted = min(wanted or larger, larger)
    size = pipe.size_in or 0.0
    if wanted is not None and size >= wanted:
        return PASS
    row = next((r for r in reversed(table) if r.number("size_in") <= size), table[0])
    too_much = load > row.number("max_dfu")
    most = row.number("max_length_ft")
    long = length > most
    measured = (
        Measure(load, "DFU") if too_much else Measure(round(length if long else level, 2), "ft")
    )
    required = Measure(
        row.number("max_dfu")
        if too_much
        else most
        if long
        else round(most * (share.value if share else 1), 2),
        "DFU" if too_much else "ft",
        "at most",
    )
    what = (
        f"serves {number_text(load)} DFU"
        if too_much
        else f"is {length:.0f} ft long to the open air"
        if long
        else f"runs {level:.0f} ft horizontally"
    )
    return _too_small(
        pipe, context, f"{_cap(pipe.label)} {what}.", measured, required, wanted, row.clause
    )


def _stack_vent(pipe: VentSegment, context: Context) -> Answer:
    """IPC: by the size and load of the stack, and the length of its vent to the open air."""
    air, table = airflow(context), rows(context, "stack_vent_length")
    joint = air.stack_joint(pipe)
    stack = air.stack_of[joint] if joint is not None else None
    if not table or stack is None or joint is None:
        return NOT_APPLICABLE
    if stack.size_in is None or joint.to_air_m is None:
        return unverified(
            f"The size of {stack.label}, or the length of its vent, is not known.",
            "Give stack and vent a nominal diameter and a shape.",
        )
    load, length = air.of(pipe, air.dfu), feet(joint.to_air_m)
    loads_listed = sorted({r.number("dfu") for r in table if r.number("stack_in") == stack.size_in})
    listed = next(
        (d for d in loads_listed if d >= load), loads_listed[-1] if loads_listed else None
    )
    fitting = [
        r
        for r in table
        if r.number("stack_in") == stack.size_in
        and r.number("dfu") == listed
        and r.number("max_length_ft") >= length
    ]
    wanted = min((r.number("vent_in") for r in fitting), default=None)
    if listed is None or (wanted is not None and (pipe.size_in or 0.0) >= wanted):
        return PASS
    clause = table[0].clause
    return _too_small(
        pipe,
        context,
        f"{_cap(pipe.label)} is the vent of {stack.label}: {number_text(load)} DFU, "
        f"{length:.0f} ft to the open air.",
        Measure(pipe.size_in or 0.0, "in"),
        Measure(wanted or stack.size_in, "in", "at least"),
        wanted or stack.size_in,
        clause,
    )


def _branch_vent(pipe: VentSegment, context: Context) -> Answer:
    """IPC: one size larger than half the drain where it is long."""
    air, long = airflow(context), limit(context, "vent_upsize_length_ft")
    length = feet(air.of(pipe, air.branch_m))
    demands = _demands(pipe, context)
    if long is None or not demands or tolerance.at_most(length, long.value, "ft"):
        return PASS
    least = max(demand[0] for demand in demands)
    wanted = _wider(next((s for s in TRADE_SIZES if s >= least), least))
    if (pipe.size_in or 0.0) >= wanted:
        return PASS
    return _too_small(
        pipe,
        context,
        f"{_cap(pipe.label)} is part of a vent {length:.0f} ft long.",
        Measure(round(length, 2), "ft"),
        Measure(long.value, "ft", "at most"),
        wanted,
        long.clause,
    )


def _too_small(
    pipe: VentSegment,
    context: Context,
    message: str,
    measured: Measure,
    required: Measure,
    wanted: float | None,
    clause: str,
) -> Answer:
    return violation(
        message=message,
        remedy=(
            f"Make it {trade_size(wanted)}, from the drain to the open air."
            if wanted
            else "Divide the load between vents."
        ),
        measured=measured,
        required=required,
        steps=(
            *load_steps(pipe, context),
            *_path(pipe, context),
            Step(f"{trade_size(pipe.size_in)} vent", required.value, required.unit, clause),
        ),
        clause=clause,
    )


@rule(
    title="Vent not turned horizontal below the flood rim",
    subject=VentSegment,
    clauses={"upc": "905.3", "ipc": "905.4 and 905.5", "irc-2021": "P3104.4"},
    severity=Severity.HIGH,
    needs=("orientation",),
    applies=lambda pipe: pipe.serves > 0 and pipe.segment.vertical is not True and not pipe.island,
)
def vent_above_rim(pipe: VentSegment, context: Context) -> Answer:
    """When a fixture stops up, a vent that turns below its rim fills with waste and stays closed.

    The lowest point of every horizontal vent against 6 in above the highest flood-level rim it
    serves. Island vents below their counter are excused. Where the model does not tell a rim, it
    lies between the fixture's outlet and the height usual for its kind.
    """
    least = limit(context, "vent_rise_above_rim_in")
    points = [p for piece in pipe.segment.pipes for p in (piece.up, piece.down) if p is not None]
    if least is None or pipe.rims_m is None or not points:
        return NOT_APPLICABLE
    height = min(p[2] for p in points) / M_PER_IN
    low, high = (rim / M_PER_IN for rim in pipe.rims_m)
    if tolerance.at_least(height - high, least.value, "in"):
        return PASS
    if tolerance.at_least(height - low, least.value, "in"):
        return unverified(
            (
                f"Whether {pipe.label} lies high enough above {pipe.rim_of} is not known: "
                "the model "
                "does not tell the rim."
            ),
            "Give the fixture a shape, or its SpilloverLevel.",
        )
    return violation(
        message=(
            f"{_cap(pipe.label)} turns level {number_text(height - low, 3)} in above the rim of "
            f"{pipe.rim_of}."
            if height >= low
            else f"{_cap(pipe.label)} turns level {number_text(low - height, 3)} in below the rim "
            f"of {pipe.rim_of}."
        ),
        remedy=(
            f"Carry the vent up {number_text(low + least.value - height, 3)} in more before it "
            "turns."
        ),
        measured=Measure(round(height - low, 2), "in"),
        required=Measure(least.value, "in", "at least"),
        steps=(
            Step("Lowest point of the horizontal vent", height, "in"),
            Step(f"Flood-level rim of {pipe.rim_of}", low, "in"),
            Step("Above the rim, at least", least.value, "in", least.clause),
            *_path(pipe, context),
        ),
        clause=least.clause,
    )


@rule(
    title="Vent graded to drain back",
    subject=VentSegment,
    clauses={"upc": "905.1", "ipc": "905.2", "irc-2021": "P3104.2"},
    needs=("orientation", "slope"),
    applies=lambda pipe: pipe.serves > 0 and pipe.segment.vertical is False,
)
def vent_grade(pipe: VentSegment, context: Context) -> Answer:
    """Rain and condensate that stand in a sag close the vent.

    Every horizontal vent must be level or fall toward the drain it serves. Measured on the pipe
    that rises most against that direction.
    """
    found = _rising_piece(pipe, context)
    if found is None:
        return PASS
    element, slope = found
    return violation(
        message=(
            f"{_cap(pipe.label)} rises toward the drain, {slope_text(slope)}: water stands in it."
        ),
        remedy="Lay it level, or falling toward the drain it serves.",
        measured=Measure(round(-slope * 12, 4), "in/ft"),
        required=Measure(0.0, "in/ft", "at least"),
        steps=(Step("Fall toward the drain", -slope * 12, "in/ft"),),
        elements=(element,),
    )


def _rising_piece(pipe: VentSegment, context: Context) -> tuple[str, float] | None:
    """A pipe that rises toward the drain, and how steeply: its water finds no way back."""
    piece = pipe.segment.flattest
    if piece is not None and piece.slope is not None and (piece.fall_m or 0.0) < -LEVEL_M:
        return piece.element.guid, -piece.slope
    outlets = context.plumbing.drainage.outlet
    drained = {outlets[joint.drain] for joint in pipe.tree.joints}
    if outlets[pipe.segment.indexes[0]] in drained:
        return None
    for index, part in zip(pipe.segment.indexes, pipe.segment.pipes, strict=True):
        fall = _fall_toward_air_m(pipe, index)
        if fall is not None and fall > LEVEL_M:
            return part.element.guid, abs(part.slope or 0.0)
    return None


def _fall_toward_air_m(pipe: VentSegment, index: int) -> float | None:
    """How far a pipe falls on its way to the open air."""
    piping, following = pipe.tree.piping, pipe.tree.toward.get(index)
    if following is None:
        return None
    places = piping.drainage.ends_at
    shared = set(places[index]) & set(places[following])
    heights = [
        (p in shared, point[2])
        for p in places[index]
        if (point := piping.drainage.places[p]) is not None
    ]
    outer = [z for is_shared, z in heights if is_shared]
    inner = [z for is_shared, z in heights if not is_shared]
    return inner[0] - outer[0] if inner and outer else None


@rule(
    title="Dry vent taken off above the centre of a horizontal drain",
    subject=VentGroup,
    clauses={"upc": "905.2", "ipc": "905.3", "irc-2021": "P3104.3"},
)
def vent_takeoff(group: VentGroup, context: Context) -> Answer:
    """A vent that leaves the side of a drain fills with solids.

    Where a dry vent joins a drain that enters and leaves horizontally, the vent's opening in the
    fitting must lie above the centre of the drain.
    """
    piping, joint = group.piping, group.joint
    below = piping.drainage.down[joint.drain]
    level = below >= 0 and piping.is_horizontal(below)
    from_above = any(piping.is_vertical(i) for i in piping.wet_above[joint.drain])
    middle = piping.middle(joint.drain)
    if not level or from_above or piping.is_pipe(joint.drain):
        return NOT_APPLICABLE
    if joint.point is None or middle is None:
        return unverified(
            f"How {group.vent.label} leaves {group.drain.label} is not known.",
            "Give the fitting placed ports.",
        )
    above = (joint.point[2] - middle[2]) / M_PER_IN
    if above * M_PER_IN > CENTRE_LINE_M:
        return PASS
    return violation(
        message=(
            f"{group.vent.label} leaves {group.drain.label} at or below the centre of the drain."
        ),
        remedy="Roll the fitting so that the vent leaves above the centre, best at 45° or more.",
        measured=Measure(round(above, 2), "in"),
        required=Measure(0.0, "in", "more than"),
        steps=(Step("Opening of the vent above the drain's centre", above, "in"),),
        elements=(group.vent.guid, group.drain.guid),
    )


RULES = (vent_least_size, vent_capacity, vent_above_rim, vent_grade, vent_takeoff)
