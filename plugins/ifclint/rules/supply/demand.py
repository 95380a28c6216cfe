"""What every line of the water supply carries: fixture units, and the flow they make probable."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import partial

from ifclint.codes import SupplyUnits
from ifclint.engineering.arithmetic import not_below_zero, or_zero
from ifclint.engineering.demand import interpolated_flow, next_row_flow
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.engineering.wording import number_text
from ifclint.findings import Step
from ifclint.packs import Context, derived
from ifclint.plumbing.flow.distribution import INFINITE
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply, sum_up
from ifclint.rules.supply.bathroom_groups import group_discounts
from ifclint.rules.supply.emergency import STANDARD, emergency_m3_per_s, listed
from ifclint.rules.supply.low_demand import low_demand
from ifclint.rules.supply.mixed import inlets_of, put_on
from ifclint.rules.supply.units import (
    IN_A_ROW,
    TRICKLES,
    demand_known,
    facts_of,
    gives,
    is_flushometer,
    listed_flow_m3_per_s,
    most_m3_per_s,
    units_of,
)


@dataclass(repr=False)
class WaterDemand:
    """Fixture units and flows. Lists go by `WaterLine.number`."""

    context: Context
    supply: Supply
    units: dict[WaterFixture, SupplyUnits | None]
    wsfu: list[float]
    continuous_m3_per_s: list[float]
    unknown: list[float]  # fixtures below whose units are not known
    flow_m3_per_s: list[float | None]  # None beyond the code's curve
    flushometers_predominate: bool
    rows: dict[str, list[float]]  # "flushometer water-closet", "hose-bibb" -> how many below
    most_m3_per_s: list[float | None]  # what the fixtures below draw together; None: not listed
    emergency_m3_per_s: list[float]  # of the continuous flow, that of an emergency fixture

    def gpm(self, segment: WaterSegment) -> float | None:
        flow = self.flow_m3_per_s[segment.number]
        return None if flow is None else flow / M3_PER_S_PER_GPM

    def at_end_m3_per_s(self, segment: WaterSegment) -> float | None:
        """The flow of the fixture alone that a line ends in: what it draws, or, where that is not
        listed, all that the line carries."""
        number, flow = segment.number, self.flow_m3_per_s[segment.number]
        most, steady = self.most_m3_per_s[number], self.continuous_m3_per_s[number]
        if flow is None or most is None:
            return flow
        for below in segment.below:
            most -= or_zero(self.most_m3_per_s[below.number])
            steady -= self.continuous_m3_per_s[below.number]
        return min(flow, not_below_zero(most + steady))

    def steps(self, segment: WaterSegment) -> tuple[Step, ...]:
        """The arithmetic behind the flow of a line."""
        units, flow = self.wsfu[segment.number], self.gpm(segment)
        table = self.context.code.table("demand")
        curve = "flushometer valves" if self.flushometers_predominate else "flush tanks"
        said = [Step("Fixture units it serves", units, "WSFU", _units_clause(self.context))]
        if self.context.job.water.demand_method == "low-demand" and _has_low_demand(self.context):
            clause = self.context.code.table("low_demand").clause
            said.append(Step("Demand by the low-demand method", flow, "gpm", clause))
        else:
            said.append(Step(f"Demand on the curve of {curve}", flow, "gpm", table.clause))
        steady, most = self.continuous_m3_per_s[segment.number], self.most_m3_per_s[segment.number]
        if most and flow is not None and flow >= (most + steady) / M3_PER_S_PER_GPM - 1e-9:
            words = "Its fixtures draw no more than this together, which is taken"
            said.append(Step(words, most / M3_PER_S_PER_GPM, "gpm"))
        alarm = self.emergency_m3_per_s[segment.number]
        if alarm:
            words = "of it one emergency fixture, which it serves alone"
            said.append(Step(words, alarm / M3_PER_S_PER_GPM, "gpm", STANDARD))
        if steady > alarm:
            said.append(Step("of it continuous use", (steady - alarm) / M3_PER_S_PER_GPM, "gpm"))
        return tuple(said)


def is_counted(fixture: WaterFixture, context: Context) -> bool:
    """Whether what a fixture takes is counted in any pipe: by units, or a flow stated or listed."""
    if demand(context).units[fixture] is not None:
        return True
    stated = any(f.element == fixture.element.guid for f in context.job.water.continuous_flow)
    return stated or listed_flow_m3_per_s(fixture, context) is not None


def _units_clause(context: Context) -> str:
    return context.code.table("water_supply_fixture_units").clause


@derived
def demand(context: Context) -> WaterDemand:
    """The demand of every line, by the method the job file chooses."""
    supply = context.plumbing.supply
    known: dict[object, SupplyUnits | None] = {}
    units = {}
    stated = {flow.element for flow in context.job.water.continuous_flow}
    for fixture in supply.fixtures:  # many are alike
        steady_use = fixture.element.guid in stated
        key = (fixture.kind, steady_use, *fixture.element.properties.items())
        if key not in known:
            known[key] = units_of(fixture, context)
        units[fixture] = known[key]
    count = len(supply.segments)
    rows, in_rows = _rows(context, supply, units)
    loads = _loads(supply, units, in_rows)
    grouped = list(group_discounts(context, supply, units))
    for at, less in grouped:
        loads[at] -= less
    wsfu = sum_up(supply, loads)
    for name, kinds in _row_units(context).items():
        for number, many in enumerate(rows.get(name, ())):
            wsfu[number] += _in_a_row(kinds, many)
    _hold_to_groups(supply, wsfu, {at for at, _ in grouped})
    unknown = sum_up(supply, _unknown(context, supply, units))
    steady = _continuous(context, supply)
    for flow, below in _one_at_a_time(context, supply, units):
        steady = [s + (flow if n > 0 else 0.0) for s, n in zip(steady, below, strict=True)]
    emergency = emergency_m3_per_s(context, supply)
    steady = [s + flow for s, flow in zip(steady, emergency, strict=True)]
    made = WaterDemand(
        context, supply, units, wsfu, steady, unknown,
        [None] * count, _predominates(context, units), rows, [None] * count, emergency,
    )  # fmt: skip
    if context.job.water.demand_reading != "next-row":  # the worked example knows no such cap
        made.most_m3_per_s = _most(context, supply, units)
    made.flow_m3_per_s = flows(made, context.job.water.demand_method)
    return made


def _loads(
    supply: Supply, units: dict[WaterFixture, SupplyUnits | None], in_rows: set[WaterFixture]
) -> dict[int, float]:
    """Element -> fixture units: each connection's own, and, where the ways of hot and cold part,
    what leaves of the two the total of the fixture."""
    loads: dict[int, float] = defaultdict(float)
    for fixture, found in units.items():
        if found is not None and fixture not in in_rows:
            own = {tap: gives(fixture, tap, found) for tap in fixture.fed}
            put_on(loads, supply, own, found.total, partial(inlets_of, units=found))
    return loads


def _hold_to_groups(supply: Supply, wsfu: list[float], at: set[int]) -> None:
    """What is left of a group behind its first branch adds up to more than the group: no line is
    asked for more than the one that feeds a whole group before it."""
    most = [INFINITE] * len(wsfu)
    for line in supply.segments if at else ():
        number, above = line.number, line.above
        if above is not None and supply.cold_inlets.keys().isdisjoint(line.indexes):
            most[number] = most[above.number]  # behind a mixing valve the cold comes to the hot
        wsfu[number] = min(wsfu[number], most[number])
        if line.indexes[-1] in at:
            most[number] = wsfu[number]


def _most(
    context: Context, supply: Supply, units: dict[WaterFixture, SupplyUnits | None]
) -> list[float | None]:
    """What all fixtures with units below a line draw together; None where one is not listed."""
    loads: dict[int, float] = defaultdict(float)
    unlisted: Counter[int] = Counter()
    known: dict[object, float | None] = {}
    for fixture, found in units.items():
        if found is None:
            continue
        key = (fixture.kind, *fixture.element.properties.items())
        if key not in known:
            known[key] = None if _bare_valve(fixture, found) else most_m3_per_s(fixture, context)
        most = known[key]
        if most is None:
            unlisted.update(tap.connection.up for tap in fixture.fed)
            continue
        services = Counter(tap.service for tap in fixture.fed)
        own = {tap: most / services[tap.service] for tap in fixture.fed}
        put_on(loads, supply, own, most, lambda value: (value, value))
    sums, open_ones = sum_up(supply, loads), sum_up(supply, dict(unlisted))
    return [None if n > 0 else value for value, n in zip(sums, open_ones, strict=True)]


def _bare_valve(fixture: WaterFixture, units: SupplyUnits) -> bool:
    """A flushometer valve that only the row of its units assumes: no flow is listed for it."""
    return is_flushometer(fixture, units) and "flush_type" not in facts_of(fixture)


def _row_units(context: Context) -> dict[str, list[float]]:
    """Units of the first, second, third ... fixture of kinds that count so; the last repeats."""
    found: dict[str, list[float]] = {}
    if "flushometer_units" in context.code.tables:
        for kind in IN_A_ROW:
            rows = context.code.table("flushometer_units").where(fixture=kind)
            found[f"flushometer {kind}"] = [r.number("wsfu") for r in rows]
    further = context.code.limit_or_none("hose_bibb_further_wsfu")
    first = context.code.supply_units("hose-bibb")
    if first is not None and further is not None:
        found["hose-bibb"] = [first.total, further.value]
    return found


def _rows(
    context: Context, supply: Supply, units: dict[WaterFixture, SupplyUnits | None]
) -> tuple[dict[str, list[float]], set[WaterFixture]]:
    """How many fixtures of each kind that counts in a row lie below every line."""
    names = _row_units(context)
    at: dict[str, Counter[int]] = {}
    counted = set()
    for fixture, found in units.items():
        name = f"flushometer {fixture.kind}" if is_flushometer(fixture, found) else fixture.kind
        if name in names:
            counted.add(fixture)
            for tap in fixture.taps[:1]:
                if tap.segment is not None:
                    at.setdefault(name, Counter())[tap.connection.up] += 1
    return {name: sum_up(supply, dict(values)) for name, values in at.items()}, counted


@derived
def counted(context: Context) -> dict[WaterFixture, float]:
    """What each fixture adds to the fixture units of the building, where its units are known: of a
    kind that counts in a row the first, in the order of the model, more than each further."""
    names, before = _row_units(context), Counter[str]()
    found: dict[WaterFixture, float] = {}
    for fixture, units in demand(context).units.items():
        if units is None:
            continue
        name = f"flushometer {fixture.kind}" if is_flushometer(fixture, units) else fixture.kind
        found[fixture] = units.total
        if names.get(name) and fixture.fed:
            found[fixture] = names[name][min(before[name], len(names[name]) - 1)]
            before[name] += 1
    return found


def _in_a_row(units: list[float], count: float) -> float:
    """40 + 30 + 20 ... for so many; a part of a fixture (ways that share) its part of the next."""
    total, number = 0.0, 0
    while count > 0:
        share = min(1.0, count)
        total += share * units[min(number, len(units) - 1)]
        count -= share
        number += 1
    return total


def _unknown(
    context: Context, supply: Supply, units: dict[WaterFixture, SupplyUnits | None]
) -> dict[int, float]:
    found: Counter[int] = Counter()
    for fixture, known in units.items():
        if known is None and not demand_known(fixture, context):
            for tap in fixture.taps:
                found[tap.connection.up] += 1
                found.update(supply.cold_inlets[mixer] for mixer in supply.mixers(tap))
    return dict(found)


def _one_at_a_time(
    context: Context, supply: Supply, units: dict[WaterFixture, SupplyUnits | None]
) -> list[tuple[float, list[float]]]:
    """Fixtures without units whose flow the code lists (hose bibbs under the IPC): the flow of
    one of a kind is added as a continuous use, wherever any lies below. Our reading of E103.3."""
    stated = {flow.element for flow in context.job.water.continuous_flow}
    at: dict[str, dict[int, float]] = {}
    flow_of: dict[str, float] = {}
    for fixture, known in units.items():
        flow = listed_flow_m3_per_s(fixture, context) if known is None else None
        if flow is None or fixture.kind in TRICKLES or fixture.element.guid in stated:
            continue
        flow_of[fixture.kind] = flow
        for tap in fixture.taps:
            at.setdefault(fixture.kind, {})[tap.connection.up] = 1.0
    return [(flow_of[kind], sum_up(supply, taps)) for kind, taps in at.items()]


def _continuous(context: Context, supply: Supply) -> list[float]:
    """Steady flows of the job file, by line."""
    by_guid = {e.guid: i for i, e in enumerate(supply.elements)}
    users = {f.index: f for f in supply.fixtures}
    values: dict[int, float] = defaultdict(float)
    for flow in context.job.water.continuous_flow:
        index = by_guid.get(flow.element, -1)
        at = users[index].taps[0].connection.up if index in users else index
        values[at] += flow.flow
    return sum_up(supply, dict(values))


def _predominates(context: Context, units: dict[WaterFixture, SupplyUnits | None]) -> bool:
    """Whether flushometer valves make up at least half of the load of the building.

    Where the code counts them in a row (UPC Table 610.10), their units are made for the curve of
    flush tanks, on which one of them, 40 units, is 25 gpm.
    """
    if "flushometer_units" in context.code.tables:
        return False
    total = sum(u.total for u in units.values() if u is not None)
    valves = sum(u.total for f, u in units.items() if u is not None and is_flushometer(f, u))
    return total > 0 and 2 * valves >= total


def flows(made: WaterDemand, method: str) -> list[float | None]:
    """The flow of every line by a method, continuous uses added, m3/s."""
    if method == "low-demand" and _has_low_demand(made.context):
        base = low_demand(made.context, made.supply, made.units)
    else:
        base = _by_curve(made)
    return [
        None if flow is None else (flow if most is None else min(flow, most)) + steady
        for flow, most, steady in zip(
            base, made.most_m3_per_s, made.continuous_m3_per_s, strict=True
        )
    ]


def _has_low_demand(context: Context) -> bool:
    return "low_demand" in context.code.tables


def _by_curve(made: WaterDemand) -> list[float | None]:
    column = "flushometer_gpm" if made.flushometers_predominate else "flush_tank_gpm"
    rows = made.context.code.table("demand").rows
    curve = [
        (row.number("wsfu"), gpm * M3_PER_S_PER_GPM)
        for row in rows
        if (gpm := row.number_or_none(column)) is not None
    ]
    read = (
        next_row_flow if made.context.job.water.demand_reading == "next-row" else interpolated_flow
    )
    known: dict[float, float | None] = {0.0: 0.0}  # no fixture units, no flow
    for units in made.wsfu:
        key = round(units, 6)
        if key not in known:
            known[key] = read(key, curve)
    return [known[round(units, 6)] for units in made.wsfu]


def units_text(fixture: WaterFixture, made: WaterDemand) -> str:
    """What was taken for a fixture, in words."""
    units = made.units[fixture]
    if units is None:
        steady = made.context.job.water.continuous_flow
        if any(flow.element == fixture.element.guid for flow in steady):
            return "its continuous flow, stated in the job file, in place of fixture units"
        alarm = listed(fixture)
        if alarm is not None:
            return f"{alarm['flow_gpm']:g} gpm ({STANDARD}), in piping of its own alone"
        return (
            "a trickle, no fixture units"
            if fixture.kind in TRICKLES
            else "one of its kind counted as a continuous use at its listed flow"
            if listed_flow_m3_per_s(fixture, made.context) is not None
            else "not listed by the code: no fixture units known"
        )
    if fixture.kind == "hose-bibb" and "hose-bibb" in _row_units(made.context):
        further = number_text(_row_units(made.context)["hose-bibb"][1])
        return f"each further hose bibb {further} WSFU"
    return "; ".join(units.basis)
