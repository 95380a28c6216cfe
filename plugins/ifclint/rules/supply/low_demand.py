"""The low-demand method for dwellings: the flow that 99 % of the moments of use do not exceed.

Computed over all combinations at every number of fixtures. Wistort's normal approximation, to which
the appendix changes for many, lies below it and made the demand fall where the method changed.
"""

from collections import defaultdict
from functools import partial

from ifclint.codes import Row, SupplyUnits
from ifclint.codes.fixture_units import choose_row
from ifclint.engineering.demand import FixtureGroup, exhaustive_flow_m3_per_s, interpolated_flow
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.packs import Context
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, sum_up
from ifclint.rules.supply.mixed import inlets_of, put_on
from ifclint.rules.supply.units import facts_of, gives


def low_demand(
    context: Context, supply: Supply, all_units: dict[WaterFixture, SupplyUnits | None]
) -> list[float | None]:
    """The flow of every line; fixtures the method does not list (hose bibbs) by their units on the
    curve. A line carries no less than any line it feeds, although with more fixtures that draw
    little the moments of high flow are a smaller share of those of use."""
    table = context.code.table("low_demand")
    listed: dict[tuple[float, float], dict[int, float]] = {}
    rest: dict[int, float] = defaultdict(float)
    for fixture, units in all_units.items():
        rows = table.where(fixture=fixture.kind)
        if rows:
            counts = listed.setdefault(_use(rows, fixture), defaultdict(float))
            put_on(counts, supply, dict.fromkeys(fixture.fed, 1.0), 1.0, lambda one: (one, one))
        elif units is not None:
            each = {tap: gives(fixture, tap, units) for tap in fixture.fed}
            put_on(rest, supply, each, units.total, partial(inlets_of, units=units))
    totals = {key: sum_up(supply, values) for key, values in listed.items()}
    other = sum_up(supply, rest)
    keys = sorted(totals)
    found: list[float | None] = []
    known: dict[tuple[int, ...], float] = {}
    for number in range(len(supply.segments)):
        many = tuple(-int(-totals[key][number] // 1) for key in keys)  # a part counts as a whole
        if many not in known:
            groups = [
                FixtureGroup(n, p, gpm * M3_PER_S_PER_GPM)
                for n, (p, gpm) in zip(many, keys, strict=True)
                if n > 0
            ]
            known[many] = exhaustive_flow_m3_per_s(groups)
        curve = _unlisted_flow(context, other[number])
        found.append(None if curve is None else known[many] + curve)
    for segment in reversed(supply.segments):  # each after the one that feeds it
        own, above = found[segment.number], segment.above
        if own is not None and above is not None and (fed := found[above.number]) is not None:
            found[above.number] = max(fed, own)
    return found


def _unlisted_flow(context: Context, units: float) -> float | None:
    if units <= 1e-9:
        return 0.0
    curve = [
        (row.number("wsfu"), gpm * M3_PER_S_PER_GPM)
        for row in context.code.table("demand").rows
        if (gpm := row.number_or_none("flush_tank_gpm")) is not None
    ]
    return interpolated_flow(units, curve)


def _use(rows: tuple[Row, ...], fixture: WaterFixture) -> tuple[float, float]:
    """Chance of running and flow, gpm, of a fixture."""
    row, _ = choose_row(rows, facts_of(fixture))
    return row.number("probability"), row.number("max_gpm")
