"""A schedule as a permit set has it: what differs only in its tag is one row, counted."""

from __future__ import annotations

from dataclasses import replace

from ifclint.findings import Column, Schedule
from ifclint.ifc.elements import without_number

TAG, COUNT = "tag", Column("count", "Count")
PLACE = frozenset({"storey", "space"})  # what is counted may stand in several places


def counted(schedule: Schedule) -> Schedule:
    """Rows that are alike as one, with their tags and their count; any other schedule as it is.

    A row has the GlobalIds of all that it counts as "element_ids".
    """
    if all(column.key != TAG for column in schedule.columns):
        return schedule
    shown = [column for column in schedule.columns if column.key not in PLACE]
    keys = [column.key for column in shown if column.key != TAG]
    alike: dict[tuple[object, ...], list[dict[str, object]]] = {}
    for row in schedule.rows:
        alike.setdefault(tuple(str(row.get(key)) for key in keys), []).append(row)
    at = next(n for n, column in enumerate(shown) if column.key == TAG) + 2
    return replace(
        schedule,
        columns=(*shown[:at], COUNT, *shown[at:]),
        rows=tuple(_one(rows) for rows in alike.values()),
    )


def _one(rows: list[dict[str, object]]) -> dict[str, object]:
    tags = dict.fromkeys(without_number(str(row.get(TAG) or "")) for row in rows)
    return {
        **rows[0],
        TAG: ", ".join(filter(None, tags)),
        COUNT.key: len(rows),
        "element_ids": [row.get("element_id") for row in rows],
    }


def element_ids(row: dict[str, object]) -> list[str]:
    """The GlobalIds of what a row stands for."""
    several = row.get("element_ids")
    ids = several if isinstance(several, list) else [row.get("element_id")]
    return [str(id_) for id_ in ids if id_]
