"""Rule about what each fixture asks of the supply."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, not_known
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer
from ifclint.packs import ANY_CODE, Context, rule
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.readings import heaviest_small, is_small_unlisted
from ifclint.rules.supply.units import EMERGENCY, OFF_PEAK, TRICKLES, demand_known

BOUNDED = Fact(
    "{} lists no fixture units for {} ({}); what has pressure enough has it also if that takes "
    "{} WSFU, as {}, the most that is listed on a 1/2 in branch.",
    "Give its flow in the job file as [[water.continuous_flow]] element, flow.",
)
OFF_PEAK_FLOW = Fact(
    "The flow of {} is not stated, and counted in no pipe.",
    "Give its flow in the job file as [[water.continuous_flow]] element, flow; 0 gpm where it "
    "never runs together with the taps.",
    asked_once=True,
)
UNITS = Fact(
    "{} lists no fixture units for {} ({}).",
    "Give its flow in the job file as [[water.continuous_flow]] element, flow.",
)


@rule(title="Every fixture's water demand known", clauses=ANY_CODE, needs=("known_kind",))
def fixture_demand_known(fixture: WaterFixture, context: Context) -> Answer:
    """A fixture left out of the count lets pipes be sized too small.

    The water supply fixture units of the kind of fixture, in the code's table for its occupancy
    and flush. Trap primers and ice makers take a trickle and are counted as nothing,
    as are emergency eyewashes and showers, which are no part of what is probable: what one takes is
    counted in the piping that serves such alone. A fixture
    without units whose flow the code lists (a hose bibb under the IPC) counts as a continuous use,
    one of its kind at a time. What the code does not list, on a branch of 1/2 in, is asked about,
    and the pressures are judged without it and with the most that is listed on such a branch.
    Irrigation of unstated flow is counted in no pipe, and asked about.
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
    row = heaviest_small(context) if is_small_unlisted(fixture, context) else None
    if row is None:
        return not_known(UNITS, context.code.short, fixture, kind)
    like = f"a {row.text('fixture').replace('-', ' ')}"
    wsfu = number_text(row.number("wsfu"))
    return not_known(BOUNDED, context.code.short, fixture, kind, wsfu, like)
