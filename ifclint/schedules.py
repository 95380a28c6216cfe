"""Schedules of a review: what several packs say of one thing in one table, with sizes needed."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from ifclint.findings import Column, Correction, Schedule

FOUND, NEEDED = "size_in", Column("needed_in", "Needed", "in")
FIXTURES = (
    "tag", "fixture", "storey", "space", "trap_in", "drain_in", "vent_in", "cold_in", "hot_in",
    "dfu", "wsfu",
)  # fmt: skip
_ORDER = {key: n for n, key in enumerate(FIXTURES)}  # as a permit set has its fixtures
CORRECTED = "Needed: the size that a correction asks for."


def schedules(given: Iterable[Schedule], corrections: Sequence[Correction]) -> list[Schedule]:
    """Every schedule once, with the size that is needed beside a size found."""
    sizes = {
        guid: change.value
        for correction in corrections
        for change in correction.changes
        if change.what == "size"
        for guid in change.element_ids
    }
    return [_with_needed(schedule, sizes) for schedule in joined(given)]


def joined(given: Iterable[Schedule]) -> list[Schedule]:
    """Schedules of one key as one: their columns in turn, the rows of one element together.

    What one of them has no row for is empty there.
    """
    of_key: dict[str, list[Schedule]] = {}
    for schedule in given:
        of_key.setdefault(schedule.key, []).append(schedule)
    return [_join(parts) if len(parts) > 1 else parts[0] for parts in of_key.values()]


def _join(parts: Sequence[Schedule]) -> Schedule:
    columns = {column.key: column for part in parts for column in part.columns}
    rows: dict[object, dict[str, object]] = {}
    for part in parts:
        for row in part.rows:
            known = rows.setdefault(row["element_id"], dict.fromkeys(columns, ""))
            known.update({key: v for key, v in row.items() if known.get(key, "") in ("", None)})
    ordered = sorted(columns.values(), key=lambda c: _ORDER.get(c.key, len(_ORDER)))
    notes = " ".join(part.note for part in parts if part.note)
    return replace(parts[0], columns=tuple(ordered), rows=tuple(rows.values()), note=notes)


def _with_needed(schedule: Schedule, sizes: dict[str, float | str]) -> Schedule:
    """The schedule with the sizes that corrections ask for, where it has sizes and lacks those."""
    keys = [column.key for column in schedule.columns]
    if FOUND not in keys or NEEDED.key in keys:
        return schedule
    at = keys.index(FOUND) + 1
    columns = (*schedule.columns[:at], NEEDED, *schedule.columns[at:])
    rows = [{**row, NEEDED.key: sizes.get(str(row["element_id"]), "")} for row in schedule.rows]
    note = f"{schedule.note} {CORRECTED}".strip()
    return replace(schedule, columns=columns, rows=tuple(rows), note=note)
