"""Which clothes washers are those of a laundry in which many wash, whose lint is held back."""

from __future__ import annotations

import pytest

from ifclint.job.reading import job_of
from ifclint.rules.site.wastes import LINT, wastes
from ifclint.testing import context_of


def _washer(number: int, room: str) -> str:
    x = number * 3
    return (
        f"clothes-washer W{number} space={room}  {x} 5 3\n"
        f"p-trap 2 T{number}  {x} 5 3 > {x} 4.5 1\n"
        f"pipe 2 A{number}  {x} 4.5 1 > {x} 0 {-x / 45:.4f}\n"
        f"pipe 3 C{number}  {x} 0 {-x / 45:.4f} > {x + 3} 0 {-(x + 3) / 45:.4f}\n"
    )


def _row(rooms: list[str]) -> str:
    """So many washers on one drain to the sewer, each in a room."""
    x = 3 * len(rooms) + 3
    drain = f"sewer-connection S  {x} 0 {-x / 45:.4f}\n"
    return drain + "".join(_washer(n, room) for n, room in enumerate(rooms, 1))


@pytest.mark.parametrize(
    ("rooms", "use", "expected"),
    [
        (["Laundry"], "public", 0),  # a single washer is excused
        (["Laundry", "Laundry"], "public", 2),
        (["Laundry", "Laundry"], "assembly", 2),
        (["Laundry_1", "Laundry_2"], "public", 0),
        (["Laundry", "Laundry"], "private", 0),
        (["Laundry", "Laundry", "Laundry"], "private", 3),  # in no dwelling
        (["Common_laundry", "Common_laundry"], "private", 2),
        (["Common_laundry"], "private", 0),
        (["Laundromat"], "private", 1),  # called a business
    ],
)
def test_washers_of_a_common_laundry(rooms: list[str], use: str, expected: int) -> None:
    context = context_of(_row(rooms), "ipc-2021", job_of({"building": {"occupancy": use}}))
    found = [waste for waste in wastes(context) if waste.kind == LINT]
    assert sum(len(waste.fixtures) for waste in found) == expected


@pytest.mark.parametrize(
    ("rooms", "expected"),
    [
        ("room Laundry 0 -9 -1 > 8 9 9\n", 2),
        ("room Laundry 0 -9 -1 > 4.5 9 9\nroom Laundry 4.6 -9 -1 > 8 9 9\n", 0),
    ],
)
def test_rooms_of_one_name_are_told_apart_by_where_they_are(rooms: str, expected: int) -> None:
    text = rooms + _row(["Laundry", "Laundry"])
    context = context_of(text, "ipc-2021", job_of({"building": {"occupancy": "public"}}))
    assert sum(len(w.fixtures) for w in wastes(context) if w.kind == LINT) == expected
