"""Rules about the lines: how fast the water goes, and how small a pipe may be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, due, given, not_known
from ifclint.codes import Limit, Row
from ifclint.codes.supply_units import SupplyUnits
from ifclint.codes.tables import cited
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.friction import velocity_m_per_s
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT, M_PER_IN, PA_PER_PSI
from ifclint.engineering.wording import apart_text, number_text, trade_size
from ifclint.findings import Answer, Change, Measure, Outcome, Settles, Step
from ifclint.packs import ANY_CODE, Context, derived, rule
from ifclint.plumbing.supply.segments import HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.losses import bore_m, copper_of, inside_of, listed_sizes
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.readings import STATE_FLUSH, other_reading
from ifclint.rules.supply.shutoff import first_segments
from ifclint.rules.supply.units import (
    EMERGENCY,
    OFF_PEAK,
    TRICKLES,
    demand_known,
    facts_of,
    is_flushometer,
    smallest_branch_in,
)

COPPER = frozenset({"copper", "brass"})
TUBE_SIZES = (0.25, 0.375, 0.5, 0.75, 1.0)  # of which the next smaller is taken


def velocity_limit(segment: WaterSegment, context: Context) -> Limit | None:
    """The greatest speed for the material and temperature; None where the code knows none."""
    kind = "hot" if segment.service == HOT else "cold"
    metal = segment.material in COPPER or "steel" in segment.material
    keys = (
        f"velocity_{kind}_ft_per_s" if metal else f"velocity_plastic_{kind}_ft_per_s",
        "velocity_usual_ft_per_s",
    )
    found = map(context.code.limit_or_none, keys)
    return next((limit for limit in found if limit is not None), None)


FLUSHES = Fact(
    "whether the {} {} is large enough is not known: {}.",
    STATE_FLUSH,
)
OFF_PEAK_FLOW = Fact(
    "The flow of {} is not stated, and counted in no pipe.",
    "Give its flow in the job file as [[water.continuous_flow]] element, flow; 0 gpm where it "
    "never runs together with the taps.",
)
UNITS = Fact(
    "{} lists no fixture units for {} ({}).",
    "Give its flow in the job file as [[water.continuous_flow]] element, flow.",
)


@rule(
    title="Water no faster than its pipe bears",
    subject=WaterSegment,
    clauses={"upc": "610.12", "ipc": "E103.3", "irc": "AP103.3"},
    needs=("size_in", "material_known"),
    applies=lambda segment: (
        bool(segment.pipes) and not (segment.is_connector and segment.size_in is None)
    ),
    settles=Settles.PIPE,
)
def supply_velocity(segment: WaterSegment, context: Context) -> Answer:
    """Fast water wears copper through at the elbows, hot water soonest, and hammers pipe.

    The mean velocity at the probable demand in the true bore, against 8 ft/s cold and 5 ft/s hot in
    copper under the UPC. For other pipe, and under the IPC and IRC, the figures are advice. For the
    branch of one flushometer valve as large as the code's own table has it, in which water goes for
    seconds, they are no more under the UPC, and nothing elsewhere. A hose or
    riser between a stop and its fixture, of which no size or bore is known, is left out, and so is
    what serves emergency showers and eyewashes alone: it wears nothing in minutes. What is
    too fast only as fixtures that do not state how they flush are taken is asked about.
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
    least = _valve_branch_in(segment, context) if too_fast else None
    of_valve = least is not None and at_least(given(segment.size_in), least, "in")
    if of_valve and not by_code:
        return PASS
    return check(
        speed,
        at_most=limit,
        message=lambda: _goes(segment, context, gpm, speed, limit),
        remedy=lambda: _slow_enough(segment, context, flow, limit.value, least),
        steps=steps,
        wrong=Outcome.VIOLATION if by_code and not of_valve else Outcome.ADVISORY,
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
    return next((f for f in supply.fixtures if last in f.branches), None)


def _valve_branch_in(segment: WaterSegment, context: Context) -> float | None:
    """The branch that the code lists for the flushometer valve to which alone a line leads."""
    fixture = _served(segment, context)
    units = demand(context).units[fixture] if fixture is not None else None
    if fixture is None or units is None or not is_flushometer(fixture, units):
        return None
    return units.branch_in


def _is_demand(limit: Limit, segment: WaterSegment) -> bool:
    """Whether the code demands it: a usual figure, one without a clause, or one for copper in
    pipe of steel is advice."""
    is_usual = not limit.clause or limit.key == "velocity_usual_ft_per_s"
    return segment.material in COPPER and not is_usual


def _slow_enough(
    segment: WaterSegment, context: Context, flow: float, most: float, least: float | None
) -> Change | str:
    """The smallest listed size, not below the segment's own, in which the flow is not too fast, or
    which is `least`, the branch listed for its valve."""
    copper = copper_of(segment, context)
    for size in listed_sizes(segment.material, copper):
        inside = bore_m(segment.material, size, copper)
        if inside is None or size < or_zero(segment.size_in):
            continue
        is_listed = least is not None and at_least(size, least, "in")
        if is_listed or at_most(velocity_m_per_s(flow, inside) / M_PER_FT, most, "ft/s"):
            text = f"Make this line {trade_size(size)}."
            return Change("size", segment.element_ids, size, text)
    return "Divide the flow between two lines."


@rule(
    title="Branch no smaller than its fixture asks",
    subject=WaterFixture,
    clauses={"upc": "Table 610.3", "ipc": "Table 604.5", "irc": ""},
    needs=("known_kind", "feed"),
    applies=lambda fixture: fixture.kind not in TRICKLES and fixture.joined,
    settles=Settles.WATER,
)
def supply_branch_size(fixture: WaterFixture, context: Context) -> Iterator[Answer]:
    """A branch below its fixture's size lets it fill slowly and whistle.

    The nominal size of the pipe in each branch, from its last junction to the fixture, against the
    smallest the code's table gives for the kind of fixture. A riser or connector at its end, no
    longer than the code lets the pipe end short of the fixture, may be smaller, but for that of a
    flushometer valve, which has its control stop there; so may, under the
    IPC, a run of its own from a manifold. Where how a fixture flushes is not stated, and the branch
    is too small for one kind alone, it is asked.
    """
    units = demand(context).units[fixture]
    row = units.row if units is not None else _unit_free_row(fixture, context)
    if row is None or row.number_or_none("branch_in") is None:
        return
    for branch in fixture.branches:
        yield _branch(fixture, branch, row, units, context)


def _unit_free_row(fixture: WaterFixture, context: Context) -> Row | None:
    """The row of flows of a fixture without fixture units, where it tells the branch too."""
    if "fixture_flow" not in context.code.tables:
        return None
    rows = context.code.table("fixture_flow").where(fixture=fixture.kind)
    return rows[0] if rows and "branch_in" in rows[0].values else None


def _branch(
    fixture: WaterFixture,
    branch: WaterSegment,
    row: Row,
    units: SupplyUnits | None,
    context: Context,
) -> Answer:
    basis = units.basis if units is not None else ()
    least, name = row.limit("branch_in", "in"), f"{branch.service} branch to {fixture.label}"
    clause = least.clause
    if context.code.family == "ipc":
        clause = cited(context.code.short, "Table 604.5")
    if branch.size_in is None and branch.is_connector and branch.above and branch.above.pipes:
        branch = branch.above
    if branch.size_in is None:
        return _size_unknown(f"The size of the {name} is not known", branch, least, context)
    judged = branch
    has_valve = units is not None and is_flushometer(fixture, units)
    has_riser = not has_valve or "flush_type" not in facts_of(fixture)
    if has_riser and not at_least(branch.size_in, least.value, "in"):
        judged = _before_riser(branch, context)
    size = judged.size_in
    if size is None:
        return _size_unknown(f"The size of the {name} is not known", judged, least, context)
    if not at_least(size, least.value, "in"):
        if (other := smallest_branch_in(fixture, context)) and at_least(size, other, "in"):
            return not_known(
                FLUSHES, trade_size(size), name, "; ".join(basis),
                elements=(fixture.element.guid, *judged.element_ids),
                about=branch.key, required=Measure(least.value, "in", "at least"),
            )  # fmt: skip
        from_manifold = _from_manifold(judged, size, least, context)
        if from_manifold is not None:
            return from_manifold
    text = f"Make the supply {trade_size(least.value)} from the main to the fixture."
    words = f"Smallest branch to a {fixture.kind.replace('-', ' ')}"
    return check(
        size,
        at_least=least,
        message=f"The {name} is {trade_size(size)}.",
        remedy=Change("size", judged.element_ids, least.value, text),
        steps=(Step(words, least.value, "in", clause),),
        elements=(*judged.element_ids, fixture.element.guid),
        about=branch.key,
        clause=clause,
    )


def _before_riser(branch: WaterSegment, context: Context) -> WaterSegment:
    """What feeds a riser or connector; the branch itself where it is longer than one."""
    reach = context.code.limit("supply_stub_in")
    length, above = branch.length_m, branch.above
    if length is None or above is None or not above.pipes:
        return branch
    return above if at_most(length / M_PER_IN, reach.value, "in") else branch


def _from_manifold(
    branch: WaterSegment, size_in: float, least: Limit, context: Context
) -> Answer | None:
    """IPC Table 604.5, footnote: a run of its own from a manifold may be one size smaller, where it
    is short and pressure stands at the meter; None where it is no such run, or smaller still."""
    reach = context.code.limit_or_none("manifold_branch_ft")
    pressure = context.code.limit_or_none("manifold_branch_psi")
    if reach is None or pressure is None or not _leaves_manifold(branch):
        return None
    smaller = [s for s in TUBE_SIZES if s < least.value]
    if not smaller or not at_least(size_in, smaller[-1], "in") or branch.length_m is None:
        return None
    if not at_most(branch.length_m / M_PER_FT, reach.value, "ft"):
        return None
    main_pa = context.job.water.static_pressure
    if main_pa is None:
        return left_open(
            f"Whether {branch.label} may be one size smaller, from its manifold, is not known",
            Unknown(Reason.STATIC), context, branch.element_ids, about=branch.key,
        )  # fmt: skip
    return PASS if at_least(main_pa / PA_PER_PSI, pressure.value, "psi") else None


def _leaves_manifold(branch: WaterSegment) -> bool:
    """Whether a line begins at a manifold, whatever its elements are called."""
    elements = branch.distribution.elements
    return branch.inlet != NONE and elements[branch.inlet].kind == "manifold"


def _size_unknown(message: str, segment: WaterSegment, least: Limit, context: Context) -> Answer:
    return left_open(
        message, Unknown(Reason.SIZE, segment), context, about=segment.key,
        required=Measure(least.value, "in", "at least"),
    )  # fmt: skip


@rule(
    title="Building supply no smaller than the code allows",
    subject=WaterService,
    clauses={"upc": "610.8", "ipc": "603.1", "irc": "P2903.7"},
    needs=("source_known",),
)
def building_supply_size(service: WaterService, context: Context) -> Iterator[Answer]:
    """Whatever the load, no building is served through less than 3/4 in pipe.

    The nominal size of all pipe from the source to the first branch, the last pipe to a fixture
    left out where there is no other. Where hot water comes from without too, and from no heater,
    the model is of a part of a building (a flat behind its meters): what enters there is no
    building supply.
    """
    if _is_of_a_part(context):
        return
    segments = [segment for segment in first_segments(service) if segment.pipes]
    for segment in segments:
        if segment.connection is None or len(segments) == 1:
            yield _supply_size(segment, context)


def _supply_size(segment: WaterSegment, context: Context) -> Answer:
    """The size of a line of the building supply."""
    least = context.code.limit("supply_minimum_in")
    if segment.size_in is None:
        return _size_unknown(
            "The size of the building supply is not known", segment, least, context
        )
    text = f"Make the building supply {trade_size(least.value)}."
    return check(
        segment.size_in,
        at_least=least,
        message=f"The building supply is {trade_size(segment.size_in)} at {segment.label}.",
        remedy=Change("size", segment.element_ids, least.value, text),
        limit_step="Smallest building supply",
        elements=segment.element_ids,
        about=segment.key,
    )


@derived
def _is_of_a_part(context: Context) -> bool:
    """Whether a source of the model gives hot water."""
    firsts = (first_segments(service)[:1] for service in context.plumbing.supply.services)
    return any(first.service == HOT and first.heater < 0 for of in firsts for first in of)


@rule(
    title="Every fixture's water demand known",
    subject=WaterFixture,
    clauses=ANY_CODE,
    needs=("known_kind",),
)
def fixture_demand_known(fixture: WaterFixture, context: Context) -> Answer:
    """A fixture left out of the count lets pipes be sized too small.

    The water supply fixture units of the kind of fixture, in the code's table for its occupancy
    and flush. Trap primers and ice makers take a trickle and are counted as nothing,
    as are emergency eyewashes and showers, which are no part of what is probable: what one takes is
    counted in the piping that serves such alone. A fixture
    without units whose flow the code lists (a hose bibb under the IPC) counts as a continuous use,
    one of its kind at a time. Irrigation of unstated flow is counted in no pipe, and asked about.
    """
    if fixture.kind in TRICKLES | EMERGENCY:
        return NOT_APPLICABLE
    if demand(context).units[fixture] is not None:
        return PASS
    stated = {flow.element for flow in context.job.water.continuous_flow}
    if fixture.kind in OFF_PEAK and fixture.element.guid not in stated:
        return not_known(OFF_PEAK_FLOW, fixture)
    if demand_known(fixture, context):
        return PASS
    kind = fixture.kind.replace("-", " ")
    return not_known(UNITS, context.code.short, fixture, kind)


RULES = (supply_velocity, supply_branch_size, building_supply_size, fixture_demand_known)
