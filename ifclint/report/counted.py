"""A schedule as a permit set has it: what differs only in its tag is one row, counted, and
what its cells say."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from markupsafe import Markup, escape

from ifclint.engineering.wording import UNKNOWN, feet_text, fraction_text, number_text
from ifclint.findings import Column, Schedule
from ifclint.ifc.elements import without_number
from ifclint.report.arrange import NAME_LIMIT, plain

ABOUT_FROM_FT, ABOUT_IN, FINE_IN = 10.0, 1.0, 0.25  # lengths of a schedule, and to what inch
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


def cells(row: dict[str, object], columns: Iterable[Column]) -> Iterator[tuple[Markup, bool]]:
    """What stands in a row of a schedule, and whether it is a figure; a storey is told with the
    space."""
    for column in columns:
        value = row.get(column.key)
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        text = _cell(value, column)
        if column.key == "storey" and (space := row.get("space")):
            text = f"{plain(space, NAME_LIMIT)}, {text}"
        yield escape(text), bool(column.unit) or is_number


def _cell(value: object, column: Column) -> str:
    """A schedule's value as it is written in a table whose heading carries the unit; lengths carry
    their own."""
    if value is None:
        return UNKNOWN
    if value == "":
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if column.unit == "ft":
            return feet_text(value, ABOUT_IN if abs(value) >= ABOUT_FROM_FT else FINE_IN)
        inches = column.unit in ("in", "in/ft")
        return fraction_text(value, 3) if inches else number_text(value, 3)
    return plain(value, NAME_LIMIT)
