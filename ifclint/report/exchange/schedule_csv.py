"""A schedule as CSV, as spreadsheets read it, with the unit in the heading."""

from __future__ import annotations

import csv
import io

from ifclint.findings import Schedule
from ifclint.report.arrange import plain

FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a cell that begins so would be worked out


def csv_bytes(schedule: Schedule) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    heads = [f"{c.title} ({c.unit})" if c.unit else c.title for c in schedule.columns]
    writer.writerow([*map(safe, heads), "GlobalId"])
    for row in schedule.rows:
        cells = [row.get(column.key) for column in schedule.columns]
        writer.writerow([*map(safe, cells), safe(row.get("element_id"))])
    return text.getvalue().encode("utf-8-sig", "replace")


def safe(value: object) -> str:
    """One line of text that no spreadsheet takes for a formula; numbers as they are."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.6g}"
    text = plain(value)
    return f"'{text}" if text.startswith(FORMULA) else text
