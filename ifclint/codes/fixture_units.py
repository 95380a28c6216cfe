"""Fixture units of a fixture, drainage and supply: which row of the table applies, and what was
assumed.

The rows of a fixture stand in one order in every edition: the first is the one taken where the
model says nothing; a later one applies where its condition is met, the last such row winning.
A condition is a fact that holds ("emergency"), a comparison ("flush_volume_gal > 1.6"), or several
joined by "and"; a row "each shower_heads over 1" adds its units for every one beyond the first.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ifclint.codes.provenance import AMENDED, value_recalled
from ifclint.codes.tables import Row, Table, fact_words

Facts = Mapping[str, float | str | bool]
OCCUPANCIES = ("private", "public", "assembly")
_COLUMNS = tuple(f"dfu_{occupancy}" for occupancy in OCCUPANCIES)
_COVERS = re.compile(r"\(([^)]*)\)$")  # "(private)", "(rest)" at the end of a source
_COMPARISON = re.compile(r"(\w+) (<=|>=|<|>|=) (\S+)")
_EACH = re.compile(r"each (\w+) over (\d+)")
_AND = " and "
_FACT = re.compile(r"\w+")
_NUMBER = re.compile(r"\d+(\.\d+)?")
_COMPARE: dict[str, Callable[[float, float], bool]] = {
    "<=": lambda a, b: a <= b,
    ">=": lambda a, b: a >= b,
    "<": lambda a, b: a < b,
    ">": lambda a, b: a > b,
    "=": lambda a, b: a == b,
}
_WORDS = {
    "<=": "{} or less",
    ">=": "{} or more",
    "<": "less than {}",
    ">": "more than {}",
    "=": "{}",
}


@dataclass(frozen=True)
class FixtureUnits:
    """The load of one fixture.

    `dfu` is None where the code takes the load from what drains into the fixture (a waste
    receptor). `trap_in` is None where the code asks for a trap as large as the fixture outlet.
    `basis` states what was assumed, one plain statement each; `source` tells where the value for
    this occupancy was read.
    """

    dfu: float | None
    trap_in: float | None
    row: Row
    source: str
    basis: tuple[str, ...] = ()

    @property
    def clause(self) -> str:
        return self.row.clause

    @property
    def from_memory(self) -> bool:
        """Whether the value for this occupancy was recalled and not read, or carried over."""
        return value_recalled(self.source) or bool(self.row.carried_from)


def look_up(table: Table, kind: str, occupancy: str, facts: Facts) -> FixtureUnits | None:
    """The units of a kind of fixture; None where the table does not list it."""
    rows = table.where(fixture=kind)
    if not rows:
        return None
    row, basis = choose_row(tuple(r for r in rows if not _EACH.match(r.text("condition"))), facts)
    column, not_listed = _column_for(row, occupancy)
    dfu = row.number_or_none(column)
    for extra in rows:
        if dfu is not None and (match := _EACH.match(extra.text("condition"))):
            more, said = _beyond(facts.get(match[1]), match)
            dfu += extra.number(column) * more
            basis += said
    assumed = (row.text("assumes"),) if row.text("assumes") else ()
    source = _source_for(row, column.removeprefix("dfu_"))
    trap_in = row.number_or_none("trap_in")
    return FixtureUnits(dfu, trap_in, row, source, basis + not_listed + assumed)


def choose_row(rows: tuple[Row, ...], facts: Facts) -> tuple[Row, tuple[str, ...]]:
    """The row that applies and what had to be assumed to choose it."""
    for row in reversed(rows):
        if row.text("condition") and holds(row.text("condition"), facts):
            return row, ()
    row = next((r for r in rows if holds(r.text("condition"), facts) is not False), rows[0])
    return row, _taken(row.text("condition"))


def holds(condition: str, facts: Facts) -> bool | None:
    """Whether a condition is met; None where the fact it asks for is not stated."""
    if not condition:
        return True
    if _AND in condition:
        parts = [holds(part, facts) for part in condition.split(_AND)]
        return False if False in parts else None if None in parts else True
    if _FACT.fullmatch(condition):
        stated = facts.get(condition)
        return None if stated is None else _is_yes(stated)
    match = _COMPARISON.fullmatch(condition)
    if match is None:
        raise ValueError(f"not a condition: {condition}")
    return _compare(facts.get(match[1]), match[2], match[3])


def facts_of_condition(condition: str) -> dict[str, str]:
    """The facts that a condition names by a word.

    >>> facts_of_condition("flush_type = flushometer-valve and flush_volume_gal > 1.6")
    {'flush_type': 'flushometer-valve'}
    """
    parts = (_COMPARISON.fullmatch(part) for part in condition.split(_AND))
    return {m[1]: m[3] for m in parts if m and m[2] == "=" and not _NUMBER.fullmatch(m[3])}


def _compare(stated: float | str | bool | None, operator: str, wanted: str) -> bool | None:
    """Compare a number with a number or a word with a word; None where they do not go together."""
    if stated is None or isinstance(stated, bool):
        return None
    if not _NUMBER.fullmatch(wanted):
        return "-".join(stated.lower().split()) == wanted if isinstance(stated, str) else None
    if isinstance(stated, str) or not math.isfinite(stated):
        return None
    return _COMPARE[operator](stated, float(wanted))


def _is_yes(stated: float | str | bool) -> bool:
    return stated.strip().lower() in ("yes", "true", "y") if isinstance(stated, str) else stated > 0


def _column_for(row: Row, occupancy: str) -> tuple[str, tuple[str, ...]]:
    """The column for an occupancy; where it is blank, the one of the largest value, and say so."""
    column = f"dfu_{occupancy}"
    listed = {c: v for c in _COLUMNS if (v := row.number_or_none(c)) is not None}
    if column in listed or not listed:
        return column, ()
    largest = max(listed, key=listed.__getitem__)
    units = f"{listed[largest]:g} DFU"
    return largest, (f"no value listed for {occupancy} use: {units}, the largest, taken",)


def _source_for(row: Row, occupancy: str) -> str:
    """The part of a row's source that covers an occupancy: "... (private); from memory (rest)"."""
    parts = row.source.split("; ")
    covered = [m[1] if (m := _COVERS.search(part)) else "" for part in parts]
    named = [set(re.findall(r"\w+", words)) & set(OCCUPANCIES) for words in covered]
    own = [part for part, names in zip(parts, named, strict=True) if occupancy in names]
    general = [part for part, names in zip(parts, named, strict=True) if not names]
    changed = [part for part in own if part.startswith(AMENDED)]
    return "; ".join(changed or own or general or parts)


def _beyond(
    count: float | str | bool | None, match: re.Match[str]
) -> tuple[float, tuple[str, ...]]:
    first = float(match[2])
    if isinstance(count, (int, float)) and not isinstance(count, bool) and math.isfinite(count):
        return max(0.0, count - first), ()
    words, _ = fact_words()[match[1]]
    return 0.0, (f"{words} not stated: {first:g} taken",)


def _taken(condition: str) -> tuple[str, ...]:
    if _AND in condition:
        return tuple(said for part in condition.split(_AND) for said in _taken(part))
    match = _COMPARISON.fullmatch(condition)
    if match is None:
        return ()
    words, unit = fact_words()[match[1]]
    return (f"{words} not stated: {_WORDS[match[2]].format(f'{match[3]} {unit}'.strip())} taken",)


@dataclass(frozen=True)
class SupplyUnits:
    """The load of one fixture on the water supply, in water supply fixture units.

    `total` loads a pipe that serves both its cold and its hot connection; `cold` and `hot` load
    the separate branches, None where the fixture has no such connection. `branch_in` is the
    smallest branch, None where the table gives none.
    """

    total: float
    cold: float | None
    hot: float | None
    branch_in: float | None
    row: Row
    basis: tuple[str, ...] = ()

    @property
    def clause(self) -> str:
        return self.row.clause

    @property
    def source(self) -> str:
        return self.row.source

    @property
    def from_memory(self) -> bool:
        return self.row.from_memory


def look_up_supply(table: Table, kind: str, occupancy: str, facts: Facts) -> SupplyUnits | None:
    """The units of a kind of fixture; None where the table does not list it."""
    rows, not_listed = _rows_for(table, kind, occupancy)
    if not rows:
        return None
    row, basis = choose_row(rows, facts)
    assumed = (row.text("assumes"),) if row.text("assumes") else ()
    return SupplyUnits(
        row.number("wsfu"), row.number_or_none("wsfu_cold"), row.number_or_none("wsfu_hot"),
        row.number_or_none("branch_in"), row, basis + not_listed + assumed,
    )  # fmt: skip


def _rows_for(table: Table, kind: str, occupancy: str) -> tuple[tuple[Row, ...], tuple[str, ...]]:
    """The rows of an occupancy; where it has none, those of the most heavily loaded one."""
    rows = table.where(fixture=kind, occupancy=occupancy)
    if rows:
        return rows, ()
    listed = [found for o in OCCUPANCIES if (found := table.where(fixture=kind, occupancy=o))]
    if not listed:
        return (), ()
    heaviest = max(listed, key=lambda found: max(r.number("wsfu") for r in found))
    taken = heaviest[0].text("occupancy")
    return heaviest, (f"no value listed for {occupancy} use: that for {taken} use taken",)
