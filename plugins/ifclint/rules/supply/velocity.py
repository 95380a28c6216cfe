"""Rule about how fast the water goes in its pipe."""

from collections.abc import Sequence

from ifclint.checks import NOT_APPLICABLE, PASS, check, due, given
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.friction import velocity_m_per_s
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import apart_text, number_text, trade_size
from ifclint.findings import Answer, Change, Measure, Outcome, Settles, Step
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.losses import bore_m, copper_of, inside_of, listed_sizes
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.readings import heaviest_reading, other_reading
from ifclint.rules.supply.units import is_flushometer

COPPER = frozenset({"copper", "brass"})
COMPARED = frozenset({"sink", "bar-sink"})  # with a kitchen sink, where a code does not list them


def velocity_limit(segment: WaterSegment, context: Context) -> Limit | None:
    """The greatest speed for the material and temperature; None where the code knows none."""
    own_mixer = context.plumbing.supply.own_mixer_before(segment)
    is_hot = segment.service == HOT and own_mixer is None
    kind = "hot" if is_hot else "cold"
    metal = segment.material in COPPER or "steel" in segment.material
    keys = (
        f"velocity_{kind}_ft_per_s" if metal else f"velocity_plastic_{kind}_ft_per_s",
        "velocity_usual_ft_per_s",
    )
    found = map(context.code.limit_or_none, keys)
    return next((limit for limit in found if limit is not None), None)


@rule(
    title="Water no faster than its pipe bears",
    clauses={"upc": "610.12", "ipc": "E103.3", "irc": "AP103.3"},
    needs=("size_in", "material_known"),
    applies=lambda segment: (
        bool(segment.pipes) and not (segment.is_connector and segment.size_in is None)
    ),
    settles=Settles.PIPE,
    of_load=True,
)
def supply_velocity(segment: WaterSegment, context: Context) -> Answer:
    """Fast water wears copper through at the elbows, hot water soonest, and hammers pipe.

    The mean velocity at the probable demand in the true bore, against 8 ft/s cold and 5 ft/s hot in
    copper under the UPC; what a fixture's own mixing valve gives counts as cold. For other pipe,
    and under the IPC and IRC, the figures are advice. Of the branch of one fixture as large as the
    code's own table has it nothing is said where they are advice: a faucet gives no more than it
    may. In copper under the UPC they are advice for that of one flushometer valve, in which water
    goes for seconds. A hose or riser between a stop and its fixture, of which no size or bore is
    known, is left out, and so is what serves emergency showers and eyewashes alone: it wears
    nothing in minutes. What is too fast only as fixtures that do not state how they flush are taken
    is asked about.
    """
    limit = due(velocity_limit(segment, context))
    gpm, flow, steps = _flow(segment, context)
    inside, need = inside_of(segment, context), Measure(limit.value, "ft/s", "at most")
    serves_emergency = demand(context).emergency_m3_per_s[segment.number] > 0
    if flow == 0.0 or serves_emergency or (inside is None and segment.is_connector):
        return NOT_APPLICABLE
    if flow is None or gpm is None or inside is None:
        unknown = Unknown(Reason.FLOW if flow is None else Reason.BORE, segment)
        return left_open(
            f"The velocity in {segment.label} is not known", unknown, context,
            steps=steps, required=need,
        )  # fmt: skip
    return _velocity(segment, context, limit, (gpm, flow, inside), steps)


def _flow(
    segment: WaterSegment, context: Context
) -> tuple[float | None, float | None, Sequence[Step]]:
    """The probable demand in a pipe (gpm, m3/s), or what passes it in its loop, and how it came."""
    solved, number = solution(context), segment.number
    main, gpm, flow = solved.looped.get(number), solved.gpm(segment), solved.flow_m3_per_s[number]
    if number in solved.shared:
        most = Step("Its share, both paths to one point losing the same", gpm, "gpm")
        return gpm, flow, (*demand(context).steps(segment), most)
    if main is None:
        return gpm, flow, demand(context).steps(segment)
    feed = solved.supply.segments[main.feed]
    words = f"What enters its loop by {feed.label}"
    most = Step("What passes it at the most, both paths around losing the same", gpm, "gpm")
    return gpm, flow, (*demand(context).steps(feed), Step(words, solved.gpm(feed), "gpm"), most)


def _velocity(
    segment: WaterSegment,
    context: Context,
    limit: Limit,
    through: tuple[float, float, float],
    said: Sequence[Step],
) -> Answer:
    """The velocity of a flow (gpm, m3/s) through a bore (m) against the most."""
    gpm, flow, inside = through
    speed = velocity_m_per_s(flow, inside) / M_PER_FT
    bore = f"Bore of {trade_size(segment.size_in)} {segment.material}"
    steps = (
        *said,
        Step(bore, inside / M_PER_IN, "in"),
        Step("Velocity, flow over area of the bore", speed, "ft/s"),
        Step(f"Greatest for {segment.service} water in {segment.material}", limit.value, "ft/s",
             limit.clause or limit.source),
    )  # fmt: skip
    if demand(context).unknown[segment.number] and at_most(speed, limit.value, "ft/s"):
        if _is_slow_with_unlisted(segment, context, limit, inside):
            return PASS
        return left_open(
            f"How fast water goes in {segment.label} is not known",
            Unknown(Reason.UNITS, segment), context, steps=steps,
            measured=Measure(speed, "ft/s", "at least"),
            required=Measure(limit.value, "ft/s", "at most"),
        )  # fmt: skip
    asked = _if_read_otherwise(segment, context, speed, limit, inside, steps)
    if asked is not None:
        return asked
    by_code, too_fast = _is_demand(limit, segment), not at_most(speed, limit.value, "ft/s")
    least = _branch_in(segment, context, by_code) if too_fast else None
    is_listed = least is not None and at_least(given(segment.size_in), least, "in")
    if is_listed and not by_code:
        return PASS
    return check(
        speed,
        at_most=limit,
        message=lambda: _goes(segment, context, gpm, speed, limit),
        remedy=lambda: _slow_enough(
            segment, context, flow, limit.value, None if is_listed else least
        ),
        steps=steps,
        wrong=Outcome.VIOLATION if by_code and not is_listed else Outcome.ADVISORY,
    )


def _is_slow_with_unlisted(
    segment: WaterSegment, context: Context, limit: Limit, inside: float
) -> bool:
    """Whether water is slow enough with all that small takers may draw which no table lists."""
    heaviest = heaviest_reading(context)
    if heaviest is None or demand(heaviest).unknown[segment.number]:
        return False
    flow = solution(heaviest).flow_m3_per_s[segment.number]
    return flow is not None and at_most(
        velocity_m_per_s(flow, inside) / M_PER_FT, limit.value, "ft/s"
    )


def _goes(segment: WaterSegment, context: Context, gpm: float, speed: float, limit: Limit) -> str:
    at, served = apart_text(speed, limit.value, "ft/s"), _served(segment, context)
    to = f" to {served.label}" if served is not None else ""
    return f"{number_text(gpm, 3)} gpm go through {segment.label}{to} at {at}."


def _if_read_otherwise(
    segment: WaterSegment, context: Context, speed: float, limit: Limit, inside: float,
    steps: tuple[Step, ...],
) -> Answer | None:  # fmt: skip
    """The question left where water is too fast, and is not, if fixtures that do not state how they
    flush flush the other way."""
    reading = other_reading(context)
    if reading is None or at_most(speed, limit.value, "ft/s"):
        return None
    flow = solution(reading.context).flow_m3_per_s[segment.number]
    other = None if flow is None else velocity_m_per_s(flow, inside) / M_PER_FT
    if other is None or not at_most(other, limit.value, "ft/s"):
        return None
    return reading.asked(
        _goes(segment, context, or_zero(solution(context).gpm(segment)), speed, limit),
        f"flushed the other way it is {number_text(other, 3)} ft/s.",
        segment.element_ids, measured=Measure(speed, "ft/s"),
        required=Measure(limit.value, "ft/s", "at most"), steps=steps,
    )  # fmt: skip


def _served(segment: WaterSegment, context: Context) -> WaterFixture | None:
    """The fixture that a line leads to, where it leads to nothing else."""
    supply, last = context.plumbing.supply, segment
    if supply.serves[segment.indexes[0]] > 1:
        return None
    while last.connection is None and len(onward := supply.serving(last)) == 1:
        last = onward[0]
    served = [f for f in supply.fixtures if last in f.branches]
    return served[0] if len(served) == 1 else None


def _branch_in(segment: WaterSegment, context: Context, by_code: bool) -> float | None:
    """The branch that the code lists for the fixture to which alone a line leads; of a line that
    the code bounds by its speed, only for a flushometer valve. A sink that is not listed has the
    branch of the kitchen sink that its units are compared with."""
    fixture = _served(segment, context)
    units = demand(context).units[fixture] if fixture is not None else None
    if fixture is None or units is None or (by_code and not is_flushometer(fixture, units)):
        return None
    if units.branch_in is not None or fixture.kind not in COMPARED:
        return units.branch_in
    rows = context.code.table("water_supply_fixture_units").where(fixture="kitchen-sink")
    return max((b for row in rows if (b := row.number_or_none("branch_in"))), default=None)


def _is_demand(limit: Limit, segment: WaterSegment) -> bool:
    """Whether the code demands it: a usual figure, one without a clause, or one for copper in
    pipe of steel is advice."""
    is_usual = not limit.clause or limit.key == "velocity_usual_ft_per_s"
    return segment.material in COPPER and not is_usual


def _slow_enough(
    segment: WaterSegment, context: Context, flow: float, most: float, least: float | None
) -> Change | str:
    """The smallest listed size above the segment's own in which the flow is not too fast, or
    which is `least`, the branch listed for its valve."""
    copper = copper_of(segment, context)
    for size in listed_sizes(segment.material, copper):
        inside = bore_m(segment.material, size, copper)
        if inside is None or at_most(size, or_zero(segment.size_in), "in"):
            continue
        is_listed = least is not None and size >= least
        if is_listed or at_most(velocity_m_per_s(flow, inside) / M_PER_FT, most, "ft/s"):
            text = f"Make this line {trade_size(size)}."
            return Change("size", segment.element_ids, size, text)
    return "Divide the flow between two lines."
