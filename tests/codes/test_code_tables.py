"""Every table of every edition: documented, sourced, parsed, ordered; and how tables are asked."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from ifclint.codes import AdoptedCode, Table, editions, load
from ifclint.codes.tables import HERE, LeftOut, column_documentation, read_table
from ifclint.errors import InputError

KINDS = """
water-closet urinal lavatory bidet bathtub shower kitchen-sink bar-sink laundry-sink mop-sink
clinical-sink sink clothes-washer dishwasher drinking-fountain wash-fountain floor-drain
floor-sink disposer dental-unit pan-drain roof-drain hose-bibb ice-maker emergency-fixture
"""
ALL_TABLES = [(edition, key) for edition in editions() for key in load(edition).tables]
FIRST_LINE = "size_in,max_dfu,source,note\n"

each_table = pytest.mark.parametrize(("edition", "key"), ALL_TABLES)


def table_of(edition: str, key: str) -> Table:
    return load(edition).table(key)


def test_the_editions_at_hand() -> None:
    families = {code_id: load(code_id).family for code_id in editions()}
    assert families == {
        "ipc-2021": "ipc",
        "ipc-2024": "ipc",
        "irc-2021": "ipc",  # sizes drains by branch, stack and building drain
        "upc-2021": "upc",
        "upc-2024": "upc",
    }
    for edition in editions():
        code = load(edition)
        assert code.id == edition
        assert code.title
        assert code.publisher


@pytest.mark.parametrize("wrong", ["upc-2012", "UPC 2021", "", "ipc"])
def test_an_unknown_edition_names_the_nearest(wrong: str) -> None:
    with pytest.raises(InputError, match="-202"):
        load(wrong)


def test_every_file_is_a_listed_table() -> None:
    for edition in editions():
        files = {path.stem for path in (HERE / edition).glob("*.csv")}
        assert files <= set(load(edition).tables)
    shared = {path.stem for path in (HERE / "fuel-gas").glob("*.csv")}
    assert shared <= set(load("ipc-2021").tables)


def test_every_table_tells_its_topic_and_who_uses_it() -> None:
    for edition, key in ALL_TABLES:
        table = table_of(edition, key)
        assert table.topic in load(edition).topics
        assert table in load(edition).tables_on(table.topic)
        assert table.used_by, f"{edition} {key}"


ROOT = Path(__file__).parents[2]
RULES = ROOT / "plugins" / "ifclint" / "rules"


@pytest.mark.parametrize("key", sorted({key for _, key in ALL_TABLES}))
def test_what_is_said_of_use_is_true(key: str) -> None:
    """A table said to be used is named in the pack, in the field sheet, or behind a method of the
    adopted code."""
    packs = {path.parent.name for path in RULES.glob("*/*.py") if _asks(path, key)}
    plumbing = ROOT / "ifclint" / "plumbing"
    packs |= {path.parent.name for path in plumbing.glob("*/*.py") if _asks(path, key)}
    sheet = (ROOT / "ifclint" / "fieldsheet").glob("*.py")
    packs |= {path.parent.name for path in sheet if _asks(path, key)}
    behind = "AdoptedCode" if _asks(HERE / "adopted.py", key) else ""
    if key in {row.text("table") for row in table_of("ipc-2021", "gas_tables").rows}:
        behind = "gas"  # through the index of the gas tables
    for edition in (e for e, k in ALL_TABLES if k == key):
        used_by = table_of(edition, key).used_by
        for pack in packs:
            assert pack in used_by, f"{edition}/tables.toml, {key}: used_by must name {pack}"
        if not used_by.startswith("none yet"):
            assert packs or behind, f"{edition}/tables.toml, {key}: no pack asks this table"


def _asks(path: Path, key: str) -> bool:
    return f'"{key}"' in path.read_text(encoding="utf-8")


def test_every_documented_column_is_used() -> None:
    used = {column for edition, key in ALL_TABLES for column in table_of(edition, key).columns}
    documented = column_documentation()
    series = {c for c in used if re.fullmatch(r"[a-z]+_[0-9.]+_(in|ehd|ft)", c)}
    assert {c.split("_")[0] for c in series} == set(documented["series"])
    assert used - series == {*documented["number"], *documented["text"]}


@each_table
def test_every_row_has_a_source_and_ends_with_source_and_note(edition: str, key: str) -> None:
    table = table_of(edition, key)
    assert table.rows
    assert table.title
    assert table.status
    assert table.columns[-2:] == ("source", "note")
    for row in table.rows:
        assert row.source
        year = load(edition).edition
        sisters = (f"IFGC {year}", f"IBC {year}", f"UMC {year}", "IPC 2021 709.2")
        names = (load(edition).short, *sisters, "NFPA 58 ", "49 CFR ")
        assert row.clause.startswith(names) or "no source" in row.source


@each_table
def test_no_row_stands_twice(edition: str, key: str) -> None:
    table = table_of(edition, key)
    assert table.row_key
    assert table.value_columns or key in ("cleanout_above_lowest_floor", "receptor_rooms")
    keys = [table.key_of(row) for row in table.rows]
    assert len(keys) == len(set(keys))


@each_table
def test_kinds_are_those_of_the_reader(edition: str, key: str) -> None:
    for row in table_of(edition, key).rows:
        assert set(row.text("fixture").split()) <= set(KINDS.split())
        assert set(row.text("fixtures").replace("|", " ").split()) <= set(KINDS.split())


CAPACITIES = [
    ("upc-2021", "drain_capacity", "max_dfu", "orientation"),
    ("upc-2021", "drain_capacity", "max_length_ft", "orientation"),
    ("upc-2021", "vent_capacity", "max_dfu", ""),
    ("upc-2021", "vent_capacity", "max_length_ft", ""),
    ("ipc-2021", "building_drain_capacity", "max_dfu", "slope_in_per_ft"),
    ("ipc-2021", "branch_and_stack_capacity", "branch_dfu", ""),
    ("ipc-2021", "branch_and_stack_capacity", "stack_interval_dfu", ""),
    ("ipc-2021", "branch_and_stack_capacity", "stack_three_intervals_dfu", ""),
    ("ipc-2021", "branch_and_stack_capacity", "stack_more_intervals_dfu", ""),
    ("upc-2021", "trap_arms", "max_length_ft", ""),
    ("ipc-2021", "trap_arms", "max_length_ft", ""),
    ("ipc-2021", "wet_vent", "max_dfu", ""),
    ("ipc-2021", "common_vent", "max_dfu", ""),
    ("ipc-2021", "waste_stack_vent", "max_dfu", ""),
    ("ipc-2021", "combination_drain_vent", "branch_or_stack_dfu", ""),
    ("ipc-2021", "combination_drain_vent", "building_drain_dfu", ""),
    ("upc-2021", "cleanout_size", "cleanout_in", ""),
    ("ipc-2021", "cleanout_size", "cleanout_in", ""),
    ("ipc-2021", "single_stack", "max_dfu", "height_from_ft"),
    ("irc-2021", "building_drain_capacity", "max_dfu", "slope_in_per_ft"),
    ("irc-2021", "branch_and_stack_capacity", "branch_dfu", ""),
    ("irc-2021", "branch_and_stack_capacity", "stack_more_intervals_dfu", ""),
    ("irc-2021", "wet_vent", "max_dfu", ""),
]


@pytest.mark.parametrize(("edition", "key", "column", "by"), CAPACITIES)
def test_a_larger_pipe_never_carries_less(edition: str, key: str, column: str, by: str) -> None:
    table = table_of(edition, key)
    for group in dict.fromkeys(row.values[by] for row in table.rows) if by else (None,):
        rows = table.where(**{by: group}) if by else table.rows
        sizes = [row.number("size_in") for row in rows]
        assert sizes == sorted(set(sizes))
        loads = [v for row in rows if (v := row.number_or_none(column)) is not None]
        assert all(a <= b for a, b in pairwise(loads))


@pytest.mark.parametrize(
    ("edition", "key"),
    [("ipc-2021", "building_drain_capacity"), ("irc-2021", "building_drain_capacity")],
)
def test_a_steeper_pipe_never_carries_less(edition: str, key: str) -> None:
    table = table_of(edition, key)
    for size in table.numbers("size_in"):
        loads = [row.number("max_dfu") for row in table.where(size_in=size)]
        assert loads == sorted(loads)


def test_ipc_stack_columns_grow_with_the_intervals() -> None:
    for row in table_of("ipc-2021", "branch_and_stack_capacity").rows[:-1]:
        one, three, more = (
            row.number(f"stack_{c}_dfu") for c in ("interval", "three_intervals", "more_intervals")
        )
        assert one <= three <= more


def test_ipc_stack_vents_lengthen_with_size_and_shorten_with_load() -> None:
    table = table_of("ipc-2021", "stack_vent_length")
    lengths = {
        (r.number("stack_in"), r.number("dfu"), r.number("vent_in")): r.number("max_length_ft")
        for r in table.rows
    }
    assert len(lengths) == len(table.rows)
    for (stack, dfu, vent), length in lengths.items():
        for (other_stack, other_dfu, other_vent), other in lengths.items():
            if (other_stack, other_dfu) == (stack, dfu) and other_vent > vent:
                assert other > length
            if (other_stack, other_vent) == (stack, vent) and other_dfu > dfu:
                assert other <= length


def test_upc_vertical_pipe_carries_at_least_the_horizontal_load() -> None:
    table = table_of("upc-2021", "drain_capacity")
    for size in table.numbers("size_in"):
        vertical = table.one(size_in=size, orientation="vertical")
        horizontal = table.one(size_in=size, orientation="horizontal")
        assert vertical is not None
        assert horizontal is not None
        assert vertical.number("max_dfu") >= horizontal.number("max_dfu")


@pytest.mark.parametrize("edition", editions())
def test_each_fitting_is_answered_for_every_change_of_direction(edition: str) -> None:
    table = table_of(edition, "fittings_for_direction")
    changes = {row.text("change") for row in table.rows}
    assert len(changes) == 3
    for fitting in {row.text("fitting") for row in table.rows} - {"closet-bend"}:
        assert {row.text("change") for row in table.where(fitting=fitting)} == changes
    for row in table.rows:
        assert row.text("allowed") in ("yes", "no", "conditional")
        assert bool(row.text("condition")) == (row.text("allowed") == "conditional")


def test_one_and_where() -> None:
    table = table_of("upc-2021", "drain_capacity")
    row = table.one(size_in=3, orientation="vertical")
    assert row is not None
    assert row.number("max_dfu") == 48
    assert len(table.where(size_in=3)) == 2
    assert table.one(size_in=7) is None
    with pytest.raises(ValueError, match="2 rows"):
        table.one(size_in=3)
    with pytest.raises(KeyError, match="no column"):
        table.where(diameter=3)


def test_a_blank_cell_is_not_a_number() -> None:
    row = table_of("upc-2021", "drain_capacity").one(size_in=3, orientation="horizontal")
    assert row is not None
    assert row.number_or_none("max_length_ft") is None
    with pytest.raises(LeftOut, match="max_length_ft"):
        row.number("max_length_ft")


def test_what_an_edition_lacks_is_said() -> None:
    code: AdoptedCode = load("upc-2021")
    with pytest.raises(KeyError, match="no table fixture_groups"):
        code.table("fixture_groups")
    with pytest.raises(KeyError, match="no limit vent_upsize_length_ft"):
        code.limit("vent_upsize_length_ft")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (FIRST_LINE + "3,many,from memory,\n", "line 2: max_dfu is not a number"),
        (FIRST_LINE + "3,nan,from memory,\n", "line 2: max_dfu is not a finite number"),
        (FIRST_LINE + "3,35,,\n", "line 2: no source"),
        (FIRST_LINE + "3,35,from memory\n", "line 2: 3 cells for 4 columns"),
        ("size_in,colour,source,note\n", "column colour is not documented"),
    ],
)
def test_a_bad_table_file_is_refused(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "drain_capacity.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ValueError, match=message):
        read_table(path, title="t", clause="Table 1", status="complete")


def test_limits_carry_unit_clause_and_source() -> None:
    limit = load("upc-2021").limit("suds_distance_ft")
    assert (limit.value, limit.unit, limit.clause) == (8, "ft", "UPC 2021 711.1")
    assert limit.source


@pytest.mark.parametrize("edition", editions())
def test_two_percent_passes_as_a_quarter_inch_per_foot(edition: str) -> None:
    tolerance = load(edition).limit("slope_tolerance")
    assert (1 / 48) * (1 - tolerance.value) <= 0.02
    assert (1 / 48) * (1 - tolerance.value) > 0.0195
    assert tolerance.source == "from memory"
    assert tolerance.clause


@pytest.mark.parametrize("edition", ["ipc-2021", "irc-2021"])
def test_bottle_traps_are_for_lavatories_but_where_the_fixture_holds_them(edition: str) -> None:
    bottle = load(edition).table("trap_kinds").one(trap="bottle-trap")
    assert bottle is not None
    assert bottle.from_memory
    assert bottle.text("allowed") == "conditional"
    assert "a lavatory's of plastic, stainless steel" in bottle.text("condition")
