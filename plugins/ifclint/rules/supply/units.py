"""Fixture units of the fixtures: which row of the code holds, and what each connection adds."""

from collections.abc import Mapping

from ifclint.codes import Row, SupplyUnits
from ifclint.codes.fixture_units import choose_row, holds
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.packs import Context
from ifclint.plumbing.supply.segments import COLD
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture

# What takes no more than a trickle and has no fixture units, and fire sprinklers, which are sized
# by a standard of their own. Common practice, no source.
TRICKLES = frozenset({
    "floor-drain", "floor-sink", "ice-maker", "refrigerator", "beverage-dispenser",
    "coffee-machine", "fire-sprinklers",
})  # fmt: skip
OFF_PEAK = frozenset({"irrigation"})  # runs at night, by a clock. Common practice, no source
EMERGENCY = frozenset({"emergency-fixture"})  # runs when nothing else matters. Likewise
FLUSHOMETER = "flushometer-valve"
FLUSH_NAMES = {"gravity-tank": "flush-tank"}  # the model's word -> the code's
IN_A_ROW = ("water-closet", "urinal")

Facts = Mapping[str, float | str | bool]


def facts_of(fixture: WaterFixture) -> Facts:
    """The properties of a fixture in the code's words."""
    facts = dict(fixture.element.properties)
    flush = facts.get("flush_type")
    if isinstance(flush, str):
        facts["flush_type"] = FLUSH_NAMES.get(flush, flush)
    return facts


def units_of(fixture: WaterFixture, context: Context) -> SupplyUnits | None:
    """The fixture units of a fixture; none where the job file states its steady flow instead."""
    if fixture.element.guid in {flow.element for flow in context.job.water.continuous_flow}:
        return None
    occupancy = context.job.building.use
    return context.code.supply_units(fixture.kind, occupancy, facts_of(fixture))


def rows_that_may_hold(fixture: WaterFixture, context: Context) -> tuple[Row, ...]:
    """The rows that hold for a fixture as far as its facts are stated, in the table's order."""
    table, facts = context.code.table("water_supply_fixture_units"), facts_of(fixture)
    occupancy = context.job.building.use
    rows = table.where(fixture=fixture.kind, occupancy=occupancy) or table.where(
        fixture=fixture.kind
    )
    return tuple(row for row in rows if holds(row.text("condition"), facts) is not False)


def smallest_branch_in(fixture: WaterFixture, context: Context) -> float | None:
    """The smallest branch of the rows that may hold for a fixture."""
    sizes = (row.number_or_none("branch_in") for row in rows_that_may_hold(fixture, context))
    return min((size for size in sizes if size is not None), default=None)


def is_flushometer(fixture: WaterFixture, units: SupplyUnits | None) -> bool:
    """Whether it flushes by a flushometer valve, as the model says or the row taken assumes."""
    if units is None or fixture.kind not in IN_A_ROW:
        return False
    stated = facts_of(fixture).get("flush_type")
    return stated == FLUSHOMETER or (stated is None and FLUSHOMETER in units.row.text("condition"))


def gives(fixture: WaterFixture, tap: Tap, units: SupplyUnits) -> float:
    """What one connection of a fixture adds to its own branch."""
    fed = fixture.fed
    if len({t.service for t in fed}) == 1:
        return units.total / len(fed)
    side = units.cold if tap.service == COLD else units.hot
    same = sum(t.service == tap.service for t in fed)
    return (units.total if side is None else side) / same


def demand_known(fixture: WaterFixture, context: Context) -> bool:
    """Whether a fixture without fixture units is accounted for otherwise."""
    return (
        fixture.kind in TRICKLES | OFF_PEAK | EMERGENCY
        or listed_flow_m3_per_s(fixture, context) is not None
        or any(flow.element == fixture.element.guid for flow in context.job.water.continuous_flow)
    )


def listed_flow_m3_per_s(fixture: WaterFixture, context: Context) -> float | None:
    """The flow the code lists for a kind of fixture, None where it lists none."""
    if "fixture_flow" not in context.code.tables:
        return None
    rows = context.code.table("fixture_flow").where(fixture=fixture.kind)
    return rows[0].number("flow_gpm") * M3_PER_S_PER_GPM if rows else None


# Where a code tells what a fixture draws, and in which column.
FLOW_TABLES = (("fixture_flow", "flow_gpm"), ("maximum_flow", "max_gpm"), ("low_demand", "max_gpm"))


def most_m3_per_s(fixture: WaterFixture, context: Context) -> float | None:
    """The most a fixture draws, the highest of what the code's tables of flows list for it.

    None where none lists it. A flushometer valve is listed by a table of flows only where a row
    is for such valves.
    """
    occupancy, found = context.job.building.use, []
    facts = facts_of(fixture)
    for name, column in FLOW_TABLES:
        if name not in context.code.tables:
            continue
        rows = context.code.table(name).where(fixture=fixture.kind)
        if name != "low_demand":
            rows = tuple(r for r in rows if r.text("occupancy") in ("", occupancy))
        elif FLUSHOMETER in str(facts.get("flush_type")):
            continue
        listed = tuple(r for r in rows if r.number_or_none(column) is not None)
        if listed:
            found.append(choose_row(listed, facts)[0].number(column) * M3_PER_S_PER_GPM)
    return max(found, default=None)
