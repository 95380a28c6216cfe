"""Rules about the lines: how fast the water goes, and how small a pipe may be."""

from __future__ import annotations

from collections.abc import Callable

from ifclint.codes import Limit
from ifclint.engineering.friction import velocity_m_per_s
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Step
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing.supply.segments import HOT, WaterSegment
from ifclint.plumbing.supply.water_supply import WaterFixture, WaterService
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.losses import bore_m, inside_of, listed_sizes
from ifclint.rules.supply.missing import unverified
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.shutoff import first_lines
from ifclint.rules.supply.units import TRICKLES, demand_known

COPPER = frozenset({"copper", "brass"})
NOT_RUN = frozenset({0.625, 3.5})  # listed, but hardly ever sold


def velocity_limit(segment: WaterSegment, context: Context) -> Limit | None:
    """The greatest speed for the material and temperature; None where the code knows none."""
    kind = "hot" if segment.service == HOT else "cold"
    metal = segment.material in COPPER or "steel" in segment.material
    keys = (
        f"velocity_{kind}_ft_per_s" if metal else f"velocity_plastic_{kind}_ft_per_s",
        "velocity_usual_ft_per_s",
    )
    for key in keys:
        try:
            return context.code.limit(key)
        except KeyError:
            continue
    return None


@rule(
    title="Water no faster than its pipe bears",
    subject=WaterSegment,
    clauses={"upc": "610.12", "ipc": "E103.3", "irc": "AP103.3"},
    needs=("size_in", "material_known"),
    applies=lambda segment: bool(segment.pipes),
)
def supply_velocity(segment: WaterSegment, context: Context) -> Answer:
    """Fast water wears copper through at the elbows, hot water soonest, and hammers pipe.

    The mean velocity at the probable demand in the true bore, against 8 ft/s cold and 5 ft/s hot
    in copper under the UPC. For plastic pipe, and under the IPC and IRC, the figures are advice.
    """
    limit, made = velocity_limit(segment, context), demand(context)
    gpm, flow = made.gpm(segment), made.flow_m3_per_s[segment.number]
    if limit is None or flow == 0.0:
        return NOT_APPLICABLE
    inside = inside_of(segment, context)
    need = Measure(limit.value, "ft/s", "at most")
    if flow is None or gpm is None or inside is None:
        reason = "flow" if flow is None else "bore"
        return unverified(
            f"The velocity in {segment.label} is not known", solution(context),
            f"{reason}@{segment.number}", None, need, made.steps(segment),
        )  # fmt: skip
    speed = velocity_m_per_s(flow, inside) / M_PER_FT
    steps = (
        *made.steps(segment),
        Step(f"Bore of {trade_size(segment.size_in)} {segment.material}", inside / M_PER_IN, "in"),
        Step("Velocity, flow over area of the bore", speed, "ft/s"),
        Step(f"Greatest for {segment.service} water in {segment.material}", limit.value, "ft/s",
             limit.clause or limit.source),
    )  # fmt: skip
    if speed <= limit.value + 1e-9:
        if made.unknown[segment.number]:
            return unverified(
                f"How fast water goes in {segment.label} is not known", solution(context),
                f"units@{segment.number}", Measure(speed, "ft/s", "at least"), need, steps,
            )  # fmt: skip
        return PASS
    size = _slow_enough(segment, context, flow, limit.value)
    return Answer(
        Outcome.VIOLATION if _is_demand(limit) else Outcome.ADVISORY,
        f"{number_text(gpm, 3)} gpm go through {segment.label} at {number_text(speed, 3)} ft/s.",
        Measure(speed, "ft/s"), need,
        f"Make this line {trade_size(size)}." if size else "Divide the flow between two lines.",
        steps, clause=limit.clause,
    )  # fmt: skip


def _is_demand(limit: Limit) -> bool:
    """Whether the code demands it: a usual figure, or one without a clause, is advice."""
    return bool(limit.clause) and limit.key != "velocity_usual_ft_per_s"


def _slow_enough(segment: WaterSegment, context: Context, flow: float, most: float) -> float | None:
    """The smallest size of its material in which the flow is not too fast."""
    copper = context.job.water.copper_type

    def fits(size: float) -> bool:
        inside = bore_m(segment.material, size, copper)
        return inside is not None and velocity_m_per_s(flow, inside) / M_PER_FT <= most

    return smallest(segment, context, fits)


def smallest(
    segment: WaterSegment, context: Context, fits: Callable[[float], bool]
) -> float | None:
    """The smallest listed size, not below the line's own, that fits."""
    sizes = listed_sizes(segment.material, context.job.water.copper_type)
    at_least = segment.size_in or 0.0
    return next((s for s in sizes if s >= at_least and s not in NOT_RUN and fits(s)), None)


@rule(
    title="Branch no smaller than its fixture asks",
    subject=WaterFixture,
    clauses={"upc": "Table 610.3", "ipc": "Table 604.5"},
    needs=("known_kind",),
    applies=lambda fixture: fixture.kind not in TRICKLES and fixture.joined,
)
def supply_branch_size(fixture: WaterFixture, context: Context) -> Answer:
    """A branch below its fixture's size lets it fill slowly and whistle.

    The nominal size of the pipe in each branch, from its last junction to the fixture, against the
    smallest the code's table gives for the kind of fixture.
    """
    units = demand(context).units[fixture]
    if units is None or units.branch_in is None:
        return NOT_APPLICABLE
    need = Measure(units.branch_in, "in", "at least")
    fed = [tap for tap in fixture.taps if tap.segment is not None]
    if not fed:
        return unverified(
            f"The branch to {fixture.label} is not known", solution(context), "not fed", None,
            need, click=fixture.element_ids,
        )  # fmt: skip
    for tap in fed:
        segment = tap.segment
        assert segment is not None
        if segment.size_in is None:
            return unverified(
                f"The size of the {tap.service} branch to {fixture.label} is not known",
                solution(context), f"size_in@{segment.number}", None, need,
            )  # fmt: skip
        if segment.size_in < units.branch_in:
            clause = "Table 604.5" if context.code.family == "ipc" else units.clause
            return Answer(
                Outcome.VIOLATION,
                f"The {tap.service} branch to {fixture.label} is {trade_size(segment.size_in)}.",
                Measure(segment.size_in, "in"), need,
                f"Make it {trade_size(units.branch_in)} from the main to the fixture.",
                (Step(f"Smallest branch to a {fixture.kind.replace('-', ' ')}", units.branch_in,
                      "in", clause),),
                (*segment.element_ids, fixture.element.guid), clause=clause,
            )  # fmt: skip
    return PASS


@rule(
    title="Building supply no smaller than the code allows",
    subject=WaterService,
    clauses={"upc": "610.8", "ipc": "603.1", "irc": "P2903.7"},
    needs=("source_known",),
)
def building_supply_size(service: WaterService, context: Context) -> Answer:
    """Whatever the load, no building is served through less than 3/4 in pipe.

    The smallest nominal size of the pipe from the source to the first branch, the last pipe to a
    fixture left out where there is no other.
    """
    limit = context.code.limit("supply_minimum_in")
    need = Measure(limit.value, "in", "at least")
    segments = [segment for segment in first_lines(service) if segment.pipes]
    if len(segments) > 1:
        segments = [segment for segment in segments if segment.connection is None]
    if not segments:
        return NOT_APPLICABLE
    for segment in segments:
        if segment.size_in is None:
            return unverified(
                "The size of the building supply is not known", solution(context),
                f"size_in@{segment.number}", None, need,
            )  # fmt: skip
    thin = min(segments, key=lambda x: x.size_in or 0.0)
    size = thin.size_in or 0.0
    if size >= limit.value:
        return PASS
    return Answer(
        Outcome.VIOLATION,
        f"The building supply is {trade_size(size)} at {thin.label}.",
        Measure(size, "in"), need, f"Make the building supply {trade_size(limit.value)}.",
        (Step("Smallest building supply", limit.value, "in", limit.clause),), thin.element_ids,
        clause=limit.clause,
    )  # fmt: skip


@rule(
    title="Every fixture's water demand known",
    subject=WaterFixture,
    clauses=ANY_CODE,
    needs=("known_kind",),
)
def fixture_demand_known(fixture: WaterFixture, context: Context) -> Answer:
    """A fixture left out of the count lets pipes be sized too small.

    The water supply fixture units of the kind of fixture, in the code's table for its occupancy
    and flush. Trap primers and ice makers take a trickle and are counted as nothing. A fixture
    without units whose flow the code lists (a hose bibb under the IPC) counts as a continuous use,
    one of its kind at a time.
    """
    if fixture.kind in TRICKLES:
        return NOT_APPLICABLE
    if demand(context).units[fixture] is not None or demand_known(fixture, context):
        return PASS
    return Answer(
        Outcome.UNVERIFIED,
        f"{context.code.short} lists no fixture units for {fixture.label} "
        f"({fixture.kind.replace('-', ' ')}).",
        remedy="Give its flow in the job file as [[water.continuous_flow]] element, flow.",
    )


RULES = (supply_velocity, supply_branch_size, building_supply_size, fixture_demand_known)
