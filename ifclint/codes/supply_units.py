"""Water supply fixture units of a fixture: cold, hot and together, and what was assumed."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.codes.fixture_units import OCCUPANCIES, Facts, choose_row
from ifclint.codes.tables import Row, Table


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
