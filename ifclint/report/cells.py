"""What stands in the cells of a schedule's table: figures, lengths and words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from markupsafe import Markup, escape

from ifclint.engineering.wording import UNKNOWN, feet_text, fraction_text, number_text
from ifclint.findings import Column
from ifclint.report.arrange import NAME_LIMIT, plain

ABOUT_FROM_FT, ABOUT_IN, FINE_IN = 10.0, 1.0, 0.25  # lengths of a schedule, and to what inch


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
