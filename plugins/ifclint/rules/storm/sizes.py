"""Rules about the size and fall of roof drains, leaders and storm drains."""

from collections.abc import Sequence

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    PartKind,
    against,
    check,
    due,
    given,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.codes import Row
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import in_per_ft_from_slope, slope_from_in_per_ft
from ifclint.engineering.wording import number_text, slope_text, trade_size
from ifclint.findings import Answer, Change, Settles, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Inlet, StormDrain
from ifclint.plumbing.drainage.least_slope import drain_meets_slope
from ifclint.rules.storm.capacity import Load, load_of, most, rows_for, slope_step, smallest
from ifclint.rules.storm.section import StormSection

RATE = 'Give the rain of one hour, once in 100 years, in the job file: [storm] rate = "4 in/hour".'
RAIN = PartKind(
    "rain of the place",
    drawn=lambda context: context.job.section(StormSection).rate is not None,
    remedy=RATE,
    lack="is judged without the",
)
AREAS = (
    "Give the roof area of each roof drain, and of each pipe below a gutter, in the job file: "
    '[[storm.areas]] element = "GlobalId", area = "1200 ft**2".'
)
UNLISTED = Fact(
    "The table of the code lists no {} pipe, as is {}.",
    "Choose a size that the table lists, or have the pipe sized by its designer.",
)
OUTLET_SIZE = Fact(
    "size of the outlet",
    "Name the roof drain with its size, or give it one "
    "(Pset_WasteTerminalTypeRoofDrain.OutletConnectionSize).",
)
ROOF = Fact("how much roof drains through {} is not known; it may take {}.", AREAS)


@rule(
    title="Leader or storm drain large enough for its roof",
    clauses={"upc": "1103.1 and 1103.2", "ipc": "1106.2 and 1106.3", "irc": ""},
    needs=("size_in", "orientation"),
    settles=Settles.PIPE,
    of_load=True,
)
def storm_drain_size(drain: StormDrain, context: Context) -> Answer:
    """What a leader cannot carry stands on the roof, and roofs have come down under it.

    The roof that drains through it, seen from above, with the share of walls that the code counts,
    at the rain of the job file (storm.rate), against the table for its size and slope: UPC by area,
    IPC by flow. The area of each inlet is told by the job file (storm.areas) or by the roof drain
    (DrainageArea); else it is no more than the box of the roof or slab the drain stands on, of
    which only what is large enough for all of it passes, and walls beside it are not counted.
    Secondary drains take the same roof, at storm.secondary_rate or the same rain; where they join
    the primary piping both are counted. Flatter than any slope of the table is judged as slope.
    What only takes ground water (a foundation drain) drains no roof.
    """
    inlets = _through(drain, context)
    if _drains_ground(inlets):
        return NOT_APPLICABLE
    rate = context.job.section(StormSection).rate
    if rate is None:
        return _no_rain(drain.label, drain.element_ids)
    if drain.vertical is False and drain.slope is None:
        return not_known("slope", drain)
    rows = rows_for(drain, inlets, context)
    if not rows:
        return NOT_APPLICABLE
    return _carries(
        drain.label, drain.size_in, drain.element_ids, rows, inlets, context, slope_step(drain)
    )


def _through(drain: StormDrain, context: Context) -> list[Inlet]:
    return context.plumbing.storm.through(drain) if context.plumbing.storm else []


def _drains_ground(inlets: Sequence[Inlet]) -> bool:
    """Whether ground water is all that comes in."""
    return bool(inlets) and all(inlet.takes_ground_water for inlet in inlets)


@rule(
    title="Roof drain large enough for its roof",
    clauses={"upc": "Table 1103.1"},
    applies=lambda inlet: inlet.is_roof_drain,
    of_load=True,
)
def roof_drain_size(inlet: Inlet, context: Context) -> Answer:
    """A roof drain smaller than its leader makes the leader as small as itself.

    The outlet of each roof drain against the roof that it takes, by the same table as leaders; one
    that states no size is as large as the pipe joined to it. The IPC goes by what its maker has
    published.
    """
    rate = context.job.section(StormSection).rate
    if rate is None:
        return _no_rain(inlet.label, inlet.element_ids)
    rows = list(context.code.table("storm_leaders").rows)
    size = known(inlet.size_in or _joined_in(inlet, context), OUTLET_SIZE, inlet)
    return _carries(inlet.label, size, inlet.element_ids, rows, [inlet], context)


def _joined_in(inlet: Inlet, context: Context) -> float | None:
    """The size of the one pipe that a roof drain is joined to."""
    if inlet.index == NONE:
        return None
    network = context.plumbing.network
    joined = [network.elements[i] for i in network.neighbours(inlet.index)]
    return joined[0].size_in if len(joined) == 1 and joined[0].role is Role.PIPE else None


def _no_rain(label: str, element_ids: tuple[str, ...]) -> Answer:
    message = f"{label} cannot be sized."
    return missing(RAIN, message=message, remedy=RATE, elements=element_ids)


def _carries(
    label: str,
    size_in: float | None,
    element_ids: tuple[str, ...],
    rows: Sequence[Row],
    inlets: Sequence[Inlet],
    context: Context,
    more: tuple[Step, ...] = (),
) -> Answer:
    """Whether what comes down is no more than the row of its size lets it carry."""
    rate = given(context.job.section(StormSection).rate)
    row = next((r for r in rows if r.number("size_in") == size_in), None)
    if row is None:
        return not_known(UNLISTED, trade_size(size_in), label, elements=element_ids)
    load, limit = load_of(inlets, rate, context), most(row, rate, context)
    if at_most(load.high, limit.value, limit.unit):
        return PASS
    if at_most(load.low, limit.value, limit.unit) and not load.is_told:
        return not_known(ROOF, label, _amount(limit.value, load), elements=element_ids)
    wanted = smallest(rows, load.low, rate, context)
    own = "roof drain" if any(i.element_ids == element_ids for i in inlets) else "storm drain"
    text = f"Make the {own} {trade_size(wanted)}, and all below it no smaller."
    return check(
        load.low,
        at_most=limit,
        message=f"{label} takes {_amount(load.low, load)}; it may take "
        f"{number_text(limit.value)} {load.unit}.",
        remedy="Lead part of the roof elsewhere: the table holds no larger pipe."
        if wanted is None
        else Change("size", element_ids, wanted, text),
        steps=(*load.steps, *more),
        limit_step=f"{trade_size(size_in)} may take",
    )


def _amount(value: float, load: Load) -> str:
    words = {"ft2": "ft2 of roof", "gpm": "gpm of rain"}[load.unit]
    return f"{number_text(value)} {words}"


@rule(
    title="Storm drain steep enough",
    clauses={"upc": "Table 1103.2", "ipc": "Table 1106.2", "irc": ""},
    needs=("orientation", "slope", "size_in"),
    applies=lambda drain: drain.vertical is not True,
)
def storm_slope(drain: StormDrain, context: Context) -> Answer:
    """A storm drain that lies flat fills with what the roof sheds, and one that rises holds water.

    The slope of the flattest pipe of the segment against the least for which the code's table lets
    pipe of its size carry anything. What only takes ground water may lie flat, and is judged where
    it rises.
    """
    slope, size = given(drain.slope), drain.size_in
    if slope >= 0 and _drains_ground(_through(drain, context)):
        return PASS
    rows = context.code.table("storm_drains").where(orientation="horizontal", size_in=size)
    if not rows:
        return NOT_APPLICABLE
    least = min((r.limit("slope_in_per_ft", "in/ft") for r in rows), key=lambda limit: limit.value)
    if drain_meets_slope(drain, least.value, context):
        return PASS
    ratio = slope_from_in_per_ft(least.value)
    text = f"Give the run a fall of at least {slope_text(ratio)} toward its outlet."
    return violation(
        message=f"{drain.label} rises toward its outlet."
        if slope < 0
        else f"{drain.label} falls {slope_text(slope)}; the table begins at {slope_text(ratio)}.",
        remedy=Change("slope", drain.element_ids, ratio, text),
        **against(in_per_ft_from_slope(slope), least, "at least", "Least slope of the table"),
        severity=Severity.HIGH if slope < 0 else Severity.MEDIUM,
    )


@rule(
    title="Storm drain not reduced",
    clauses={"upc": "310.5", "ipc": "1101.5", "irc": ""},
    applies=lambda drain: drain.size_in is not None and drain.next is not None,
)
def storm_not_reduced(drain: StormDrain, context: Context) -> Answer:
    """Leaves that pass the leader stop in the smaller pipe below.

    The nominal size of each leader and storm drain against the next one downstream whose size is
    known.
    """
    following = drain.next
    while following is not None and following.size_in is None:
        following = following.next
    following, size = due(following), due(drain.size_in)
    text = f"Make {following.label} {trade_size(size)}, and all below it no smaller."
    return check(
        given(following.size_in),
        at_least=size,
        unit="in",
        message=f"{drain.label} flows into {following.label}.",
        remedy=Change("size", following.element_ids, size, text),
        elements=(following.first.guid, drain.pipes[-1].element.guid),
    )


@rule(
    title="Leader no smaller than the outlet of its roof drain",
    clauses={"upc": "310.5", "ipc": "1101.5", "irc": ""},
    applies=lambda inlet: inlet.is_roof_drain and _outlet_in(inlet) is not None,
)
def leader_below_drain(inlet: Inlet, context: Context) -> Answer:
    """What a roof drain lets in stops where a smaller pipe begins.

    The size that the model states of the outlet of each roof drain, where it has one outlet,
    against the first pipe below it whose size is known.
    """
    storm, outlet_in = given(context.plumbing.storm), due(_outlet_in(inlet))
    below = (storm.network.elements[i] for i in storm.route(inlet))
    pipe = due(next((e for e in below if e.role is Role.PIPE and e.size_in is not None), None))
    size, text = trade_size(outlet_in), trade_size(pipe.size_in)
    return check(
        given(pipe.size_in),
        at_least=outlet_in,
        unit="in",
        message=f"The {size} outlet of {inlet.label} flows into {text} pipe.",
        remedy=Change(
            "size", (pipe.guid,), outlet_in, f"Make the leader {size}, and all below it no smaller."
        ),
        elements=(pipe.guid, inlet.element.guid),
    )


def _outlet_in(inlet: Inlet) -> float | None:
    """The size of its one outlet as the model states it; None where it has several, or none."""
    ends = inlet.element.ends
    return ends[0].own_size_in if len(ends) == 1 else None
