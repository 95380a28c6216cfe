"""Water supply tables, and the published worked examples replayed through our own lookups."""

from __future__ import annotations

from itertools import pairwise

import pytest

from ifclint.codes import Row, SupplyUnits, Table, load
from ifclint.engineering.demand import Curve, interpolated_flow, next_row_flow
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M_PER_FT, PA_PER_PSI

UPC, IPC, IRC = load("upc-2021"), load("ipc-2021"), load("irc-2021")


def units(edition: str, kind: str, use: str = "private", **facts: float | str) -> SupplyUnits:
    found = load(edition).supply_units(kind, use, facts)
    assert found is not None
    return found


# UPC 2018 appendix A as adopted in Washington, Table A 103.1
@pytest.mark.parametrize(
    ("kind", "use", "wsfu", "branch_in"),
    [
        ("bathtub", "private", 4, 0.5),
        ("lavatory", "assembly", 1, 0.5),
        ("bar-sink", "public", 2, 0.5),
        ("mop-sink", "public", 3, 0.5),
        ("shower", "private", 2, 0.5),
        ("drinking-fountain", "assembly", 0.75, 0.5),
        ("water-closet", "private", 2.5, 0.5),
        ("hose-bibb", "private", 2.5, 0.5),
    ],
)
def test_upc_supply_units(kind: str, use: str, wsfu: float, branch_in: float) -> None:
    found = units("upc-2021", kind, use)
    assert (found.total, found.branch_in) == (wsfu, branch_in)
    assert found.clause == "UPC 2021 Table 610.3"
    assert not found.from_memory


# 2018 IPC Table E103.3(2), printed page 146
@pytest.mark.parametrize(
    ("kind", "use", "cold", "hot", "total"),
    [
        ("bathtub", "private", 1, 1, 1.4),
        ("bathtub", "public", 3, 3, 4),
        ("bidet", "private", 1.5, 1.5, 2),
        ("dishwasher", "private", None, 1.4, 1.4),
        ("drinking-fountain", "public", 0.25, None, 0.25),
        ("kitchen-sink", "public", 3, 3, 4),
        ("lavatory", "private", 0.5, 0.5, 0.7),
        ("mop-sink", "public", 2.25, 2.25, 3),
    ],
)
def test_ipc_supply_units(
    kind: str, use: str, cold: float | None, hot: float | None, total: float
) -> None:
    found = units("ipc-2021", kind, use)
    assert (found.cold, found.hot, found.total) == (cold, hot, total)
    assert not found.from_memory


def test_upc_separate_branches_carry_three_quarters() -> None:
    share = UPC.limit("supply_separate_share").value
    for row in UPC.table("water_supply_fixture_units").rows:
        cold, hot = row.number_or_none("wsfu_cold"), row.number_or_none("wsfu_hot")
        expected = row.number("wsfu") * (share if cold and hot else 1)
        assert {cold, hot} - {None} == {expected}


def test_a_valve_closet_by_flush_and_use() -> None:
    valve = {"flush_type": "flushometer valve"}
    assert units("upc-2021", "water-closet", "assembly", **valve).total == 8
    assert units("upc-2021", "water-closet", "assembly", **valve, flush_volume_gal=3.5).total == 10
    tank = {"flush_type": "flush tank"}
    assert units("upc-2021", "water-closet", "private", **tank, flush_volume_gal=3.5).total == 3
    assert units("ipc-2021", "water-closet", "public", **valve).total == 10
    assert units("ipc-2021", "water-closet", "public", **tank).total == 5


def test_what_was_assumed_is_told() -> None:
    assert units("ipc-2021", "water-closet").basis == (
        "type of flush not stated: flush-tank taken",
    )
    assert units("ipc-2021", "water-closet", "assembly").basis[-1] == (
        "no value listed for assembly use: that for public use taken"
    )
    assert UPC.supply_units("floor-drain") is None


# City of Los Angeles water sizing worksheet (UPC): two closets, two lavatories, two bathtubs,
# a kitchen sink, a clothes washer and a laundry sink. It counts hot at the full value.
def test_los_angeles_worksheet() -> None:
    fixtures = {"water-closet": 2, "lavatory": 2, "bathtub": 2, "kitchen-sink": 1}
    fixtures |= {"clothes-washer": 1, "laundry-sink": 1}
    loads = {kind: n * units("upc-2021", kind).total for kind, n in fixtures.items()}
    assert list(loads.values()) == [5, 2, 8, 1.5, 4, 1.5]
    assert sum(loads.values()) == 22
    assert sum(v for kind, v in loads.items() if units("upc-2021", kind).hot) == 17


# The same worksheet, flushometer valves in a row (UPC 610.10)
@pytest.mark.parametrize(
    ("fixture", "loads"),
    [("water-closet", [40, 70, 90, 105, 125]), ("urinal", [20, 35, 45, 53, 63])],
)
def test_flushometers_add_up(fixture: str, loads: list[float]) -> None:
    rows = UPC.table("flushometer_units").where(fixture=fixture)
    each = [row.number("wsfu") for row in rows]
    assert [sum(each[min(i, 4)] for i in range(n)) for n in (1, 2, 3, 4, 6)] == loads


# UPC 610.8 procedure: 70 psi, 20 ft up, 90 ft of pipe, 30 units
def test_upc_meter_and_supply() -> None:
    available = 70 - 20 * UPC.limit("head_psi_per_ft_table").value
    assert available == 60
    rows = [r for r in UPC.table("meter_and_supply").rows if _covers(r, available)]
    fits = [r for r in rows if r.number("meter_in") == 0.75 and r.series("wsfu")[100] >= 30]
    smallest = min(fits, key=lambda r: r.number("supply_in"))
    assert (smallest.number("supply_in"), smallest.series("wsfu")[100]) == (1, 33)


# engineeringtoolbox.com, sizing water supply lines (d_1075): meter and supply; units, 40 to 200 ft,
# for 30 to 45 psi, 46 to 60 and more
TOOLBOX = {
    (0.75, 0.5): ("6 5 4 3 2 1", "7 7 6 5 4 3", "7 7 7 6 5 4"),
    (0.75, 0.75): ("16 16 14 12 9 6", "20 20 19 17 14 11", "20 20 20 20 17 13"),
    (0.75, 1): ("29 25 23 21 17 15", "39 39 36 33 28 23", "39 39 39 39 35 30"),
    (1, 1): ("36 31 27 25 20 17", "39 39 39 36 30 25", "39 39 39 39 38 32"),
    (1, 1.25): ("54 47 42 38 32 28", "78 78 76 67 52 44", "78 78 78 78 74 62"),
}


@pytest.mark.parametrize(("meter_in", "supply_in"), TOOLBOX)
def test_upc_610_4_as_the_toolbox_prints_it(meter_in: float, supply_in: float) -> None:
    printed = TOOLBOX[meter_in, supply_in]
    for psi, loads in zip((30, 46, 61), printed, strict=True):
        row = UPC.table("meter_and_supply").one(
            pressure_from_psi=psi, meter_in=meter_in, supply_in=supply_in
        )
        assert row is not None
        assert [row.series("wsfu")[ft] for ft in (40, 60, 80, 100, 150, 200)] == [
            float(load) for load in loads.split()
        ]
        assert "ToolBox" in row.source


def _covers(row: Row, psi: float) -> bool:
    top = row.number_or_none("pressure_to_psi")
    return row.number("pressure_from_psi") <= psi and (top is None or psi <= top)


def test_upc_610_4_falls_with_length_and_grows_with_pressure() -> None:
    table = UPC.table("meter_and_supply")
    assert len(table.rows) == 42
    for row in table.rows:
        loads = list(row.series("wsfu").values())
        assert len(loads) == 15
        assert loads == sorted(loads, reverse=True)
    for low in table.where(pressure_from_psi=30):
        pair = {"meter_in": low.number("meter_in"), "supply_in": low.number("supply_in")}
        for higher in (46, 61):
            row = table.one(pressure_from_psi=higher, **pair)
            assert row is not None
            assert all(row.series("wsfu")[ft] >= load for ft, load in low.series("wsfu").items())


def curve(table: Table, column: str) -> Curve:
    return [(r.number("wsfu"), q) for r in table.rows if (q := r.number_or_none(column))]


@pytest.mark.parametrize("edition", ["upc-2021", "ipc-2021"])
def test_demand_grows_with_the_load(edition: str) -> None:
    table = load(edition).table("demand")
    for column in ("flush_tank_gpm", "flushometer_gpm"):
        for (a, q), (b, more) in pairwise(curve(table, column)):
            assert a < b
            assert q < more
    both = [r for r in table.rows if r.values["flush_tank_gpm"] and r.values["flushometer_gpm"]]
    assert all(r.number("flush_tank_gpm") <= r.number("flushometer_gpm") for r in both)


# Engineering ToolBox, WSFU to GPM (the IPC's low end); NSPC B.5.4 and Illinois Table N (the UPC's)
def test_the_two_curves_differ_at_the_low_end_and_meet_above() -> None:
    ipc, upc = (curve(c.table("demand"), "flush_tank_gpm") for c in (IPC, UPC))
    assert (next_row_flow(10, ipc), next_row_flow(10, upc)) == (14.6, 8)
    for load_ in (60, 100, 200, 400, 750):
        assert interpolated_flow(load_, ipc) == pytest.approx(interpolated_flow(load_, upc))


# Hunter 1940: 10 units a flushometer valve (27 gpm, 9 s in 300 s), 5 a flush tank (4 gpm, 60 s in
# 300 s). His curves are drawn through the counts of the binomial distribution; they leave them
# below some 250 units, where he drew them higher, and above 1000 units, where the two are one.
@pytest.mark.parametrize("edition", ["upc-2021", "ipc-2021"])
@pytest.mark.parametrize(
    ("column", "weight", "chance", "gpm", "counts", "within"),
    [
        ("flush_tank_gpm", 5, 60 / 300, 4, (50, 60, 80, 100, 150, 200), 0.10),
        ("flushometer_gpm", 10, 9 / 300, 27, (80, 100, 150, 200), 0.05),
        ("flushometer_gpm", 10, 9 / 300, 27, (20, 30, 40, 50, 60), 0.16),
    ],
)
def test_demand_curves_follow_the_binomial_distribution(
    edition: str, column: str, weight: float, chance: float, gpm: float,
    counts: tuple[int, ...], within: float,
) -> None:  # fmt: skip
    from scipy.stats import binom  # takes half a second: not of every worker that collects

    flows = curve(load(edition).table("demand"), column)
    for count in counts:
        running = float(binom.ppf(0.99, count, chance))
        assert running * gpm == pytest.approx(interpolated_flow(weight * count, flows), rel=within)


# IPC appendix E, worksheet of the two-storey example (recalled): every load is rounded up to the
# next row of the flushometer column; losses are length with fittings times psi per 100 ft
COLD = {
    "AB": (288, 108.0, 54, 15, 3.2, 2.21),
    "BC": (264, 104.5, 8, 0.5, 3.1, 0.26),
    "CD": (132, 77.0, 13, 7, 1.9, 0.38),
    "CF": (132, 77.0, 150, 12, 1.9, 3.08),
    "DE": (132, 77.0, 150, 14.5, 1.9, 3.12),
}
HOT = {
    "AB": (288, 108.0, 54, 12, 3.3, 2.18),
    "BC": (24, 38.0, 8, 7.5, 1.4, 0.22),
    "CD": (12, 28.6, 13, 4, 3.2, 0.54),
    "CF": (12, 28.6, 150, 7, 3.2, 5.02),
    "DE": (12, 28.6, 150, 9, 3.2, 5.09),
}


@pytest.mark.parametrize(("runs", "total", "margin"), [(COLD, 5.97, 3.39), (HOT, 8.03, 1.33)])
def test_ipc_appendix_e_worksheet(
    runs: dict[str, tuple[float, ...]], total: float, margin: float
) -> None:
    flows = curve(IPC.table("demand"), "flushometer_gpm")
    losses = {}
    for name, (load_, gpm, length, fittings, psi, loss) in runs.items():
        assert next_row_flow(load_, flows) == gpm
        losses[name] = (length + fittings) * psi / 100
        assert losses[name] == pytest.approx(loss, abs=0.011)
    available = 55 - (15 + 11 + 1.61 + 21 * 0.43 + 9)
    assert available == pytest.approx(9.36, abs=0.005)
    way = sum(losses[name] for name in ("AB", "BC", "CD", "DE"))
    assert way == pytest.approx(total, abs=0.02)
    assert available - way == pytest.approx(margin, abs=0.02)


# IPC appendix E, E103.2.2: 20 ft of elevation
def test_static_head() -> None:
    assert 20 * IPC.limit("head_psi_per_ft").value == pytest.approx(8.66)
    assert pressure_of_head_pa(20 * M_PER_FT) / PA_PER_PSI == pytest.approx(8.66, abs=0.005)


# UPC appendix A 107, office building (recalled; unit values of an older edition given as inputs)
def test_upc_appendix_a_office_building() -> None:
    loads = {"closets": 130 * 8, "urinals": 30 * 4, "showers": 12 * 2, "lavatories": 100}
    loads["service sinks"] = 27 * 3
    assert sum(loads.values()) == 1365
    hot = (loads["showers"] + loads["lavatories"] + loads["service sinks"]) * 0.75
    assert hot == pytest.approx(154, abs=0.5)
    for code in (UPC, IPC):
        demand = interpolated_flow(1365, curve(code.table("demand"), "flushometer_gpm"))
        assert demand == pytest.approx(252, abs=1)
    friction_psi = 55 - 45 * UPC.limit("head_psi_per_ft").value - 15
    assert friction_psi == pytest.approx(20.65)
    assert friction_psi / 200 * 100 == pytest.approx(10.32, abs=0.01)


# IRC P2903.1 and IPC 604.3 agree where both list a fixture
def test_required_flow_is_the_same_in_the_two_codes() -> None:
    table = IPC.table("fixture_flow")
    for row in IRC.table("fixture_flow").rows:
        kind, condition = row.text("fixture"), row.values["condition"]
        found = table.where(fixture=kind, condition=condition)
        assert (row.number("flow_gpm"), row.number("flow_psi")) in {
            (r.number("flow_gpm"), r.number("flow_psi")) for r in found
        }


def test_irc_groups_carry_less_than_their_fixtures() -> None:
    for row in IRC.table("supply_fixture_groups").rows:
        kinds = [kind.split("|")[0] for kind in row.text("fixtures").split()]
        assert row.number("wsfu") <= sum(units("irc-2021", kind).total for kind in kinds)
