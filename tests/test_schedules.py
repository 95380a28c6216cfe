"""The tables of several packs as one set, and sizes needed beside sizes found."""

from __future__ import annotations

from dataclasses import replace

from ifclint.findings import Change, Column, Schedule
from ifclint.ifc.elements import Element
from ifclint.schedules import joined, schedules
from tests.report import samples

TAG, TRAP, VENT, DFU = (
    Column("tag", "Tag"), Column("trap_in", "Trap", "in"), Column("vent_in", "Vent", "in"),
    Column("dfu", "DFU"),
)  # fmt: skip


def test_schedules_of_one_key_are_one_with_the_rows_of_an_element_together() -> None:
    drains = Schedule(
        "fixtures", "Fixtures", (TAG, TRAP, DFU),
        ({"element_id": "a", "tag": "L-1", "trap_in": 1.25, "dfu": 0.0},), "By 702.",
    )  # fmt: skip
    vents = Schedule(
        "fixtures", "Vents", (TAG, VENT),
        ({"element_id": "a", "tag": "L-1", "vent_in": 2.0},
         {"element_id": "b", "tag": "HB-1", "vent_in": None}), "By 904.",
    )  # fmt: skip
    other = Schedule("drains", "Drains", (TAG,), ({"element_id": "a", "tag": "D"},))
    both, alone = joined([drains, other, vents])
    assert alone is other
    assert both.title == "Fixtures"
    assert [c.key for c in both.columns] == ["tag", "trap_in", "vent_in", "dfu"]
    assert both.note == "By 702. By 904."
    assert both.rows == (
        {"element_id": "a", "tag": "L-1", "trap_in": 1.25, "dfu": 0.0, "vent_in": 2.0},
        {"element_id": "b", "tag": "HB-1", "trap_in": "", "dfu": "", "vent_in": None},
    )


def test_the_size_a_correction_asks_for_stands_beside_the_size_found() -> None:
    size = Column("size_in", "Size", "in")
    rows = ({"element_id": "a", "size_in": 2.0}, {"element_id": "b", "size_in": 2.0})
    drains = Schedule("drains", "Drains", (size, DFU), rows)
    (first, *_) = samples.full().corrections
    changes = (Change("size", ("a",), 3.0, "Make it 3 in."), Change("slope", ("b",), 0.02, ""))
    (made,) = schedules([drains], [replace(first, changes=changes)])
    assert [c.key for c in made.columns] == ["size_in", "needed_in", "dfu"]
    assert [row["needed_in"] for row in made.rows] == [3.0, ""]


def test_a_schedule_that_tells_the_size_needed_itself_keeps_it() -> None:
    columns = (Column("size_in", "Size", "in"), Column("needed_in", "Smallest size", "in"))
    gas = Schedule("gas", "Gas", columns, ({"element_id": "a", "size_in": 1.0, "needed_in": 0.75},))
    assert schedules([gas], []) == [gas]


def test_a_mark_is_short_or_the_name_without_its_number() -> None:
    def mark(name: str, tag: str = "") -> str:
        return Element("g", name=name, tag=tag).mark

    assert mark("Lavatory L-4 (Bath 3)", "l4") == "L-4"
    assert mark("Lavatory", "P-12") == "P-12"
    assert mark("Water Closet - Flush Tank:539645", "539645") == "Water Closet - Flush Tank"
    assert mark("Sink", "a tag that is a sentence") == "Sink"
