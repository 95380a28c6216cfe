"""Local amendments: a changed cell is found, told, and refused where it names what is not there."""

from __future__ import annotations

import pytest

from ifclint.codes import AmendedCell, differences, load
from ifclint.errors import InputError

UPC = load("upc-2021")
WHY = "city ordinance 14-2, cleanouts every 50 ft"


def test_an_amended_limit_says_so() -> None:
    code = UPC.amended([AmendedCell.of_limit("cleanout_interval_ft", 50, WHY)])
    limit = code.limit("cleanout_interval_ft")
    assert (limit.value, limit.unit, limit.amended) == (50.0, "ft", True)
    assert limit.source == f"amended: {WHY}"
    assert limit.clause == f"UPC 2021 707.4, amended: {WHY}"
    assert "value was 100" in limit.note
    assert not limit.from_memory


def test_the_code_itself_is_left_alone() -> None:
    UPC.amended([AmendedCell.of_limit("cleanout_interval_ft", 50, WHY)])
    assert UPC.limit("cleanout_interval_ft").value == 100
    assert not UPC.limit("cleanout_interval_ft").amended
    assert load("upc-2021").changes == ()


def test_a_cell_of_a_table_by_its_key() -> None:
    row = {"size_in": 3, "orientation": "horizontal"}
    code = UPC.amended(
        [AmendedCell("drain_restrictions", row, "max_count", 4, "Washington 51-56-0700")]
    )
    found = code.table("drain_restrictions").one(size_in=3, orientation="horizontal")
    assert found is not None
    assert found.number("max_count") == 4
    assert found.amended
    assert found.source.startswith("amended: Washington 51-56-0700 (max_count); ")
    assert found.number("any_trap_dfu_from") == 6  # the other cells keep their value and source
    others = [r for r in code.table("drain_restrictions").rows if r is not found]
    assert not any(row.amended for row in others)


def test_fixture_units_follow_an_amendment_and_tell_it() -> None:
    change = AmendedCell(
        "drainage_fixture_units", {"fixture": "laundry-sink"}, "dfu_private", 3, "rule 7"
    )
    found = UPC.amended([change]).fixture_units("laundry-sink", "private")
    assert found is not None
    assert found.dfu == 3
    assert found.source == "amended: rule 7 (private)"
    assert not found.from_memory
    public = UPC.amended([change]).fixture_units("bathtub", "public")
    assert public is not None
    assert public.dfu == 2


def test_a_blank_cell_picks_the_unconditional_row() -> None:
    row = {"fixture": "floor-sink", "condition": ""}
    change = AmendedCell("drainage_fixture_units", row, "trap_in", 3, "county rule")
    found = load("ipc-2021").amended([change]).fixture_units("floor-sink")
    assert found is not None
    assert found.trap_in == 3


def test_amendments_add_up_and_the_last_wins() -> None:
    first = UPC.amended([AmendedCell.of_limit("shared_trap_spacing_in", 3, "first")])
    second = first.amended([AmendedCell.of_limit("shared_trap_spacing_in", 2.5, "second")])
    assert second.limit("shared_trap_spacing_in").value == 2.5
    assert second.limit("shared_trap_fixtures").value == 3


def test_what_an_amendment_changed_can_be_listed() -> None:
    code = UPC.amended([AmendedCell.of_limit("cleanout_interval_ft", 50, WHY)])
    (found,) = differences(UPC, code)
    assert (found.table, found.row, found.column) == ("limits", "key cleanout_interval_ft", "value")
    assert (found.value_a, found.value_b) == (100, 50)
    assert found.source_b == f"amended: {WHY}"


SLOPE = {"applies_to": "drainage", "size_from_in": 1.25}
KEY = {"key": "shared_trap_spacing_in"}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (AmendedCell("drain_capacities", {"size_in": 3}, "max_dfu", 1, "x"), "drain_capacity"),
        (AmendedCell("limits", KEY, "valu", 1, "x"), "value"),
        (AmendedCell("limits", KEY, "source", "y", "x"), "no value column"),
        (
            AmendedCell("limits", {"kee": "a"}, "value", 1, "x"),
            "there is no column 'kee': write key",
        ),
        (
            AmendedCell("limits", {"key": "trap_seal_mn_in"}, "value", 1, "x"),
            "key trap_seal_most_in or key trap_seal_least_in",
        ),
        (AmendedCell("drain_capacity", {"size_in": 3}, "max_dfu", 1, "x"), "add orientation"),
        (AmendedCell("limits", KEY, "value", "two", "x"), "holds a number"),
        (AmendedCell("limits", KEY, "value", True, "x"), "holds a number"),
        (AmendedCell("limits", KEY, "value", float("nan"), "x"), "holds a number"),
        (AmendedCell("limits", KEY, "unit", 3, "x"), "holds text"),
        (AmendedCell("minimum_slope", SLOPE, "min_in_per_ft", -1, "x"), "holds 0 to 1000"),
        (AmendedCell("minimum_slope", SLOPE, "min_in_per_ft", 1000.1, "x"), "holds 0 to 1000"),
        (AmendedCell("limits", KEY, "value", 3, "  "), "who amended it and why"),
    ],
)
def test_what_is_not_there_is_refused_with_the_nearest(change: AmendedCell, message: str) -> None:
    with pytest.raises(InputError, match=message) as refused:
        UPC.amended([change])
    assert change.table.split("_")[0] in str(refused.value)
    assert "\n" not in str(refused.value)
