"""Editions built on another: what they take over, what they say of themselves, what differs."""

from __future__ import annotations

import pytest

from ifclint.codes import differences, load
from ifclint.codes.editions import _apply
from ifclint.errors import InputError

UPC21, UPC24 = load("upc-2021"), load("upc-2024")
IPC21, IPC24, IRC21 = load("ipc-2021"), load("ipc-2024"), load("irc-2021")


def test_what_was_not_seen_is_carried_over_and_rests_on_memory() -> None:
    row = UPC24.table("drain_capacity").one(size_in=3, orientation="vertical")
    assert row is not None
    assert (row.number("max_dfu"), row.carried_from) == (48, "upc-2021")
    assert row.clause == "UPC 2024 Table 703.2"
    assert row.from_memory
    units = UPC24.fixture_units("kitchen-sink")
    assert units is not None
    assert units.from_memory


# IAPMO code commentaries of the 2024 edition: 707.4, 804.1, 908.2.1, 910.5
@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("cleanout_interval_ft", 100),
        ("cleanout_turn_deg", 135),
        ("standpipe_above_trap_max_in", 30),
        ("wet_vent_groups", 1),
        ("combination_vertical_ft", 2),
    ],
)
def test_what_was_seen_of_upc_2024(key: str, value: float) -> None:
    limit = UPC24.limit(key)
    assert limit.value == value
    assert limit.carried_from == ""
    assert "UPC 2024" in limit.source
    assert UPC21.limit(key).value == value


def test_upc_2024_differs_in_the_cleanouts_of_kitchen_sinks() -> None:
    added = [d for d in differences(UPC21, UPC24) if d.table == "cleanout_above_lowest_floor"]
    assert [(d.row, d.value_a, d.value_b) for d in added] == [
        ("applies_to kitchen-sink", None, "listed")
    ]
    assert "2024-05-30" in added[0].source_b


# International Code Council announcement of the 2024 IPC: shower heads limited to 2.0 gpm
def test_ipc_2024_shower_heads() -> None:
    changed = differences(IPC21, IPC24)
    assert [(d.table, d.row, d.column, d.value_a, d.value_b) for d in changed] == [
        ("maximum_flow", "fixture shower", "max_gpm", 2.5, 2.0)
    ]
    row = IPC24.table("maximum_flow").one(fixture="shower")
    assert row is not None
    assert (row.carried_from, row.number("at_psi")) == ("", 80)


def test_a_sister_code_is_cited_by_its_own_name() -> None:
    assert IPC24.table("gas_steel_2_psi").clause == "IFGC 2024 Table 402.4(5)"
    assert IPC21.limit("gas_valve_distance_ft").clause == "IFGC 2021 409.5"
    assert UPC21.table("gas_steel_2_psi").clause == "UPC 2021 Table 1215.2(4)"


def test_irc_has_its_own_numbers_and_clauses() -> None:
    floor_drain, washer = IRC21.fixture_units("floor-drain"), IRC21.fixture_units("clothes-washer")
    assert floor_drain is not None
    assert washer is not None
    assert (floor_drain.dfu, washer.dfu) == (0, 2)
    assert washer.clause == "IRC 2021 Table P3004.1"
    assert IRC21.limit("continuous_flow_dfu_per_gpm").value == 1.5
    assert IRC21.table("trap_arms").clause == "IRC 2021 Table P3105.1"
    assert {row.carried_from for row in IRC21.table("trap_arms").rows} == {"ipc-2021"}


def test_irc_lacks_what_the_ipc_has_for_large_buildings() -> None:
    for key in ("branch_minimums", "stack_vent_length", "single_stack", "gas_steel_5_psi"):
        assert key not in IRC21.tables
        with pytest.raises(KeyError, match=f"no table {key}"):
            IRC21.table(key)
    assert IRC21.branch_minimum("clothes-washer") is None
    missing = [d for d in differences(IPC21, IRC21) if d.table == "single_stack"]
    assert [(d.row, d.column, d.value_a, d.value_b) for d in missing] == [("", "", "listed", None)]


def test_differences_are_empty_between_a_code_and_itself() -> None:
    assert differences(IPC21, IPC21) == ()


def test_differences_read_the_same_both_ways() -> None:
    there, back = differences(UPC21, IPC21), differences(IPC21, UPC21)
    assert len(there) == len(back) > 100
    assert {(d.table, d.row, d.column, d.value_a, d.value_b) for d in there} == {
        (d.table, d.row, d.column, d.value_b, d.value_a) for d in back
    }


# King County WA excerpt of UPC 702.1; 2005 home repair forum for the IPC's twin
def test_the_clothes_washer_shows_in_the_differences() -> None:
    found = [d for d in differences(UPC21, IPC21) if d.row == "fixture clothes-washer"]
    washer = next(d for d in found if d.column == "dfu_private")
    assert (washer.table, washer.value_a, washer.value_b) == ("drainage_fixture_units", 3, 2)
    assert washer.source_a
    assert washer.source_b


def test_a_difference_can_change_add_and_remove_rows() -> None:
    table = UPC21.table("slope_factors")
    said = {"table": "slope_factors", "source": "a book"}
    changed = _apply(
        table,
        {
            "change": [{**said, "row": {"slope_in_per_ft": 0.125}, "set": {"factor": 0.7}}],
            "remove": [{**said, "row": {"slope_in_per_ft": 0.25}}],
            "add": [{**said, "row": {"slope_in_per_ft": 0.0625, "factor": 0.5}}],
        },
        "UPC 2030",
    )
    rows = [(r.number("slope_in_per_ft"), r.number("factor"), r.source) for r in changed.rows]
    assert rows == [(0.125, 0.7, "a book"), (0.0625, 0.5, "a book")]


def test_a_difference_that_names_no_row_or_column_is_refused() -> None:
    table = UPC21.table("slope_factors")
    said = {"table": "slope_factors", "source": "a book"}
    with pytest.raises(InputError, match="no such row"):
        _apply(table, {"remove": [{**said, "row": {"slope_in_per_ft": 7}}]}, "")
    with pytest.raises(ValueError, match="no column colour"):
        _apply(table, {"add": [{**said, "row": {"colour": 7}}]}, "")
