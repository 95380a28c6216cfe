"""Gas tables against the equations behind them, and the published worked examples replayed."""

from __future__ import annotations

import math
from itertools import pairwise
from math import exp, log
from statistics import linear_regression

import pytest

from ifclint.codes import Row, Table, load
from ifclint.engineering.data import inside_diameter_m
from ifclint.engineering.gas_flow import (
    gravity_multiplier,
    high_pressure_flow_m3_per_s,
    low_pressure_flow_m3_per_s,
)
from ifclint.engineering.units import M3_PER_S_PER_CFH, M_PER_FT, PA_PER_IN_WC, PA_PER_PSI

IPC = load("ipc-2021")
INDEX = {row.text("table"): row for row in IPC.table("gas_tables").rows}
MATERIAL = {"steel": "steel", "copper-k": "copper-k", "pe": "pe-gas"}
IN_WC_PER_PSI = 27.7  # the codes' figure

each_table = pytest.mark.parametrize("key", sorted(INDEX))


def from_equation(key: str, size_in: float, length_ft: float) -> float:
    """The capacity that the equation behind a table gives, in the table's unit."""
    told = INDEX[key]
    gas = IPC.table("gas_properties").one(gas=told.text("gas"))
    assert gas is not None
    diameter_m = inside_diameter_m(MATERIAL[told.text("material")], size_in)
    assert diameter_m is not None
    length_m, drop = length_ft * M_PER_FT, told.number("drop_in_wc")
    factors = gas.number("factor_cr"), gas.number("factor_y")
    if told.text("equation") == "high":
        inlet_psi, drop_pa = told.number("inlet_to_psi"), drop / IN_WC_PER_PSI * PA_PER_PSI
        flow = high_pressure_flow_m3_per_s(
            diameter_m, inlet_psi * PA_PER_PSI, drop_pa, length_m, *factors
        )
    else:
        flow = low_pressure_flow_m3_per_s(diameter_m, drop * PA_PER_IN_WC, length_m, factors[0])
    cfh = flow / M3_PER_S_PER_CFH
    kbtuh = cfh * gas.number("heating_value_btu_per_ft3") / 1000
    return cfh if told.text("quantity") == "cfh" else kbtuh


def rounded(value: float) -> float:
    """To three figures, whole below 1000."""
    return float(round(value, min(0, 2 - math.floor(math.log10(value)))))


def one_step(value: float) -> float:
    """The last printed figure of a capacity."""
    return float(10 ** max(0, math.floor(math.log10(value)) - 2))


def read_cells(key: str) -> list[tuple[float, float, float]]:
    """Length, size and capacity of the cells that were read or recalled, not computed."""
    return [
        (row.number("length_ft"), size, capacity)
        for row in IPC.table(key).rows
        if "computed: the equation" not in row.source
        for size, capacity in row.series(INDEX[key].text("quantity")).items()
    ]


# The cells that differ from the equation by more than rounding are counted here, table by table:
# (cells read, cells equal to three figures, cells more than one step of the third figure off).
AGREEMENT = {
    "gas_steel_drop_3_in_wc": (72, 69, 0),
    "gas_steel_drop_6_in_wc": (72, 70, 0),
    "gas_steel_3_psi": (81, 53, 0),
    "gas_copper_drop_17_in_wc": (45, 22, 0),
    "gas_copper_2_psi": (45, 32, 0),
    "gas_pe_drop_0_5_in_wc": (64, 58, 0),
    "propane_steel_11_in_wc": (54, 54, 0),
    "propane_steel_2_psi": (72, 48, 0),
}


@pytest.mark.parametrize("key", sorted(AGREEMENT))
def test_read_tables_follow_the_equation(key: str) -> None:
    cells = [(from_equation(key, s, length), c) for length, s, c in read_cells(key)]
    equal = sum(rounded(computed) == printed for computed, printed in cells)
    off = sum(abs(computed - printed) > 1.5 * one_step(printed) for computed, printed in cells)
    assert (len(cells), equal, off) == AGREEMENT[key]


@each_table
def test_computed_rows_are_what_they_say(key: str) -> None:
    if not INDEX[key].text("equation") or INDEX[key].text("quantity") != "cfh":
        return
    for row in IPC.table(key).rows:
        if "computed: the equation" in row.source:
            for size, capacity in row.series("cfh").items():
                computed = from_equation(key, size, row.number("length_ft"))
                # half the last figure, and a little: the code prints three cells down, not up
                assert abs(computed - capacity) <= 0.52 * one_step(capacity)


# The 2 psi and 5 psi tables do not follow the equation; from 250 ft on their cells of 1 in and
# larger stand at one ratio to it, which is what recalled values that were wrong would not do.
@pytest.mark.parametrize(
    ("key", "inlet", "drop", "ratio"),
    [("gas_steel_2_psi", 2, 1, 0.951), ("gas_steel_5_psi", 5, 3.5, 0.963)],
)
def test_tables_that_follow_no_equation_keep_one_ratio_to_it(
    key: str, inlet: float, drop: float, ratio: float
) -> None:
    assert INDEX[key].text("equation") == ""
    for row in IPC.table(key).rows:
        for size, capacity in row.series("cfh").items():
            if row.number("length_ft") >= 250 and size >= 1:
                diameter_m = inside_diameter_m("steel", size)
                assert diameter_m is not None
                flow = high_pressure_flow_m3_per_s(
                    diameter_m, inlet * PA_PER_PSI, drop * PA_PER_PSI,
                    row.number("length_ft") * M_PER_FT, 0.6094, 0.9992,
                )  # fmt: skip
                assert capacity / (flow / M3_PER_S_PER_CFH) == pytest.approx(ratio, abs=0.0045)


@each_table
def test_longer_pipe_carries_less_and_larger_pipe_more(key: str) -> None:
    rows = [row.series(INDEX[key].text("quantity")) for row in IPC.table(key).rows]
    lengths = [row.number("length_ft") for row in IPC.table(key).rows]
    assert lengths == sorted(set(lengths))
    for shorter, longer in pairwise(rows):
        assert all(longer[s] <= shorter[s] for s in longer if s in shorter)
    for row in rows:
        assert list(row.values()) == sorted(row.values())


def test_gas_tables_are_the_same_in_both_codes_under_their_own_numbers() -> None:
    upc, ipc = load("upc-2021").table("gas_steel_3_psi"), IPC.table("gas_steel_3_psi")
    assert [r.values for r in upc.rows] == [r.values for r in ipc.rows]
    assert (upc.clause, ipc.clause) == ("UPC 2021 Table 1215.2(5)", "IFGC 2021 Table 402.4(6)")


def test_csst_tables_of_two_gases_keep_the_ratio_of_the_gases() -> None:
    """Natural gas in ft3/h and propane in thousand Btu/h stand at 1.578 to one another."""
    natural, propane = IPC.table("gas_csst_2_psi"), IPC.table("propane_csst_2_psi")
    checked = outside = 0
    for row in natural.rows:
        other = propane.one(length_ft=row.number("length_ft"))
        if other is None:
            continue
        for ehd, capacity in row.series("cfh").items():
            checked += 1
            outside += abs(other.series("kbtuh")[ehd] / capacity - 1.578) > 0.013
    assert (checked, outside) == (112, 1)  # 80 ft, designation 25


def propane_kbtuh(table: Table, ehd: float, length_ft: float) -> float:
    """A propane capacity between two lengths of its table, on the power law through both."""
    points = [(r.number("length_ft"), r.series("kbtuh")[ehd]) for r in table.rows]
    for (shorter, more), (longer, less) in pairwise(points):
        if shorter <= length_ft <= longer:
            exponent = math.log(less / more) / math.log(longer / shorter)
            return more * (length_ft / shorter) ** exponent
    raise ValueError(length_ft)


@pytest.mark.parametrize(
    ("key", "propane", "outside"),
    [
        ("gas_csst_drop_0_5_in_wc", "propane_csst_11_in_wc", {37}),
        ("gas_csst_drop_3_in_wc", "propane_csst_2_psi", {46}),
        ("gas_csst_2_psi", "propane_csst_2_psi", set()),
    ],
)
def test_computed_csst_rows_are_what_they_say(key: str, propane: str, outside: set[float]) -> None:
    """Within 2 %, or one in the last figure, of the propane table at the same drop per foot."""
    per_ft = INDEX[propane].number("drop_in_wc") / INDEX[key].number("drop_in_wc")
    rows = [row for row in IPC.table(key).rows if "read for propane" in row.source]
    assert len(rows) in (7, 8, 9)
    off = set()
    for row in rows:
        for ehd, capacity in row.series("cfh").items():
            told = propane_kbtuh(IPC.table(propane), ehd, row.number("length_ft") * per_ft) / 1.578
            if abs(told - capacity) > max(1, 0.02 * capacity):
                off.add(ehd)
    assert off == outside


def test_csst_at_six_times_the_drop_carries_as_much_over_six_times_the_length() -> None:
    """Row by row where both tables have one; between those, as the capacity falls."""
    six, one = IPC.table("gas_csst_drop_3_in_wc"), IPC.table("gas_csst_drop_0_5_in_wc")
    for row in six.rows:
        feet = row.number("length_ft")
        same = [r for r in one.rows if r.number("length_ft") == feet / 6]
        if same and feet > 40:
            assert row.series("cfh") == same[0].series("cfh")
    for (_, longer), (_, shorter) in pairwise(
        sorted((row.number("length_ft"), row.series("cfh")) for row in six.rows)[::-1]
    ):
        assert all(longer[ehd] <= shorter[ehd] for ehd in longer)
    assert [row.number("length_ft") for row in six.rows][-1] == 300


def test_designation_37_falls_with_length_as_in_the_propane_table_at_2_psi() -> None:
    table, propane = IPC.table("gas_csst_drop_0_5_in_wc"), IPC.table("propane_csst_2_psi")
    ends = [at(propane, length).series("kbtuh")[37] for length in (10, 100)]
    exponent = math.log10(ends[1] / ends[0])
    at_5_ft = at(IPC.table("propane_csst_11_in_wc"), 5).series("kbtuh")[37] / 1.578
    for row in table.rows:
        length_ft = row.number("length_ft")
        if row.source.startswith("computed"):
            told = at_5_ft * (length_ft / 5) ** exponent
            assert row.series("cfh")[37] == pytest.approx(told, rel=0.01)


def test_propane_csst_from_memory_follows_the_law_of_the_printed_rows() -> None:
    """Beyond 60 ft, within 9 % of the power law fitted to the printed rows; one in the last figure
    of small capacities."""
    rows = IPC.table("propane_csst_11_in_wc").rows
    printed = [row for row in rows if "memory" not in row.source]
    lengths = [log(row.number("length_ft")) for row in printed]
    for ehd in (13, 15, 18, 19, 23, 25, 30, 31, 37):
        slope, start = linear_regression(lengths, [log(r.series("kbtuh")[ehd]) for r in printed])
        for row in rows[len(printed) :]:
            told = exp(start + slope * log(row.number("length_ft")))
            assert row.series("kbtuh")[ehd] == pytest.approx(told, rel=0.09, abs=1)


def at(table: Table, length_ft: float) -> Row:
    row = table.next_row("length_ft", length_ft)
    assert row is not None
    return row


def smallest(row: Row, load: float) -> float:
    return min(size for size, carried in row.series("cfh").items() if carried >= load)


# 2018 IFGC appendix A.7.1: longest length method, 60 ft, 0.5 in wc, 1000 Btu/ft3
def test_ifgc_example_longest_length() -> None:
    row = at(IPC.table("gas_steel_drop_0_5_in_wc"), 60)
    loads = {"A": 35, "B": 75, "C": 35, "D": 100, "1": 110, "2": 135, "3": 245}
    sizes = {name: smallest(row, load) for name, load in loads.items()}
    assert sizes == {"A": 0.5, "B": 0.75, "C": 0.5, "D": 0.75, "1": 0.75, "2": 0.75, "3": 1}


# IFGC appendix A.7.2: two pressures, corrugated tube (section D and answer C recalled)
def test_ifgc_example_two_pressures() -> None:
    high, low = IPC.table("gas_csst_2_psi"), IPC.table("gas_csst_drop_3_in_wc")
    assert at(high, 100).series("cfh")[18] == 189
    available = (13, 18, 23, 30)

    def size(table: Table, length: float, load: float) -> float:
        capacities = at(table, length).series("cfh")
        return min(ehd for ehd in available if capacities[ehd] >= load)

    assert size(high, 100, 110) == 18
    assert [size(low, *run) for run in ((15, 60), (10, 30), (25, 20))] == [13, 13, 13]


# IFGC appendix A.6.3 (2015), A.7.3 (2018): branch length method, copper, 1.0 in wc
def test_ifgc_example_branch_length() -> None:
    table = IPC.table("gas_copper_drop_1_in_wc")
    runs = {"A": (50, 220), "B": (30, 75), "C": (50, 30), "D": (30, 35), "E": (30, 80)}
    sizes = {name: smallest(at(table, length), load) for name, (length, load) in runs.items()}
    assert sizes == {"A": 1, "B": 0.5, "C": 0.375, "D": 0.375, "E": 0.5}


# 2018 IFGC Table 402.4(4): 1 in, 6 in wc, 50 ft
def test_one_cell_from_the_equation() -> None:
    computed = from_equation("gas_steel_drop_6_in_wc", 1, 50)
    assert computed == pytest.approx(1088.6, abs=0.1)
    assert at(IPC.table("gas_steel_drop_6_in_wc"), 50).series("cfh")[1] == rounded(computed) == 1090


# 2018 IFGC Table A.2.4
def test_gravity_multipliers() -> None:
    table = IPC.table("gas_gravity_multipliers")
    printed = {r.number("specific_gravity"): r.number("factor") for r in table.rows}
    assert [printed[g] for g in (0.35, 0.5, 0.8, 1.5, 2.0)] == [1.31, 1.10, 0.87, 0.63, 0.55]
    above = [g for g, factor in printed.items() if round(gravity_multiplier(g), 2) != factor]
    assert above == [0.4, 0.45, 0.75, 1.0, 1.4, 2.1]
    assert all(printed[g] - round(gravity_multiplier(g), 2) == pytest.approx(0.01) for g in above)


# 2018 IRC Table A.2.2: L = n d, n being 14, 30, 67 and 60 diameters
def test_fitting_lengths_are_so_many_diameters() -> None:
    table = IPC.table("gas_fitting_lengths")
    diameters = {"eighth-bend": 14, "quarter-bend": 30, "return-bend": 67, "tee": 60}
    for row in table.rows:
        inside_m = inside_diameter_m("steel", row.number("size_in"))
        assert inside_m is not None
        length_ft = diameters[row.text("fitting")] * inside_m / M_PER_FT
        assert row.number("length_ft") == pytest.approx(length_ft, abs=0.07)
    bend = table.one(fitting="quarter-bend", size_in=1)
    assert bend is not None
    assert 4 * bend.number("length_ft") == pytest.approx(10.48)


# 2018 IFGC appendix B, example 4: two draft-hood appliances on one 30 ft vent
# (257 read there; connector capacities read in a vent maker's copy of the example)
def test_ifgc_example_common_vent() -> None:
    connectors, common = IPC.table("gas_vent_connector"), IPC.table("gas_vent_common")

    def connector(rise_ft: float, load: float) -> float:
        rows = connectors.where(connector="single-wall", height_ft=30, rise_ft=rise_ft)
        return min(
            r.number("size_in") for r in rows if (r.number_or_none("nat_max_kbtuh") or 0) >= load
        )

    assert (connector(2, 35), connector(3, 150)) == (3, 6)
    rows = common.where(connector="single-wall", height_ft=30)
    fits = [r for r in rows if r.number("nat_nat_kbtuh") >= 35 + 150]
    smallest = min(fits, key=lambda r: r.number("size_in"))
    assert (smallest.number("size_in"), smallest.number("nat_nat_kbtuh")) == (6, 257)


def test_appliances_of_unknown_size_take_the_larger_input() -> None:
    rows = IPC.table("gas_appliance_inputs").where(appliance="storage")
    assert rows[0].number("btu_per_h") == max(r.number("btu_per_h") for r in rows)
