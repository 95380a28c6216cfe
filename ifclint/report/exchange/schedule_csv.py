"""A schedule as CSV, as spreadsheets read it, with the unit in the heading."""

import csv
import io

from ifclint.engineering.wording import number_text
from ifclint.findings import Schedule
from ifclint.report.arrange import plain
from ifclint.report.counted import counted, element_ids

FORMULA = ("=", "+", "-", "@", "\t", "\r")  # a cell that begins so would be worked out


def csv_bytes(schedule: Schedule) -> bytes:
    """The schedule as the page has it, with the GlobalIds of each row."""
    schedule = counted(schedule)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    heads = [f"{c.title} ({c.unit})" if c.unit else c.title for c in schedule.columns]
    writer.writerow([*map(safe, heads), "GlobalId"])
    for row in schedule.rows:
        cells = [rounded(row.get(column.key), column.unit) for column in schedule.columns]
        writer.writerow([*map(safe, cells), safe(" ".join(element_ids(row)))])
    return text.getvalue().encode("utf-8-sig", "replace")


def rounded(value: object, unit: str) -> object:
    """Lengths to a hundredth of a foot, as they can be built; other values as they are."""
    return round(value, 2) if unit == "ft" and isinstance(value, float) else value


def safe(value: object) -> str:
    """One line of text that no spreadsheet takes for a formula; numbers as the page has them."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number_text(value).replace(",", "")
    text = plain(value)
    return f"'{text}" if text.startswith(FORMULA) else text
