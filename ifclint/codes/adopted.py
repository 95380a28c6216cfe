"""An adopted code: one edition with its tables and single values, and local amendments to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache, cached_property

from ifclint.codes.brought import LIMITS, CodeTables, joined, tables_of
from ifclint.codes.changes import AmendedCell, amend, near
from ifclint.codes.editions import bases, contents, description, table_of
from ifclint.codes.fixture_units import (
    OCCUPANCIES,
    Facts,
    FixtureUnits,
    SupplyUnits,
    look_up,
    look_up_supply,
)
from ifclint.codes.folders import OURS, folder_of, is_path
from ifclint.codes.tables import Limit, Row, Table
from ifclint.errors import InputError


@dataclass(frozen=True, eq=False)
class AdoptedCode:
    """One edition of a plumbing code. Tables are read when first asked for."""

    id: str  # "upc-2021"
    family: str  # "upc" or "ipc": how pipes are sized
    short: str  # "UPC 2021", before every clause
    title: str
    edition: str
    publisher: str
    based_on: str = ""  # the edition whose tables hold where this one says nothing else
    changes: tuple[AmendedCell, ...] = ()
    folder: str = ""  # of its tables, where it is not installed: a path
    brought: tuple[Table, ...] = ()  # tables of rule packs
    _tables: dict[str, Table] = field(default_factory=dict, init=False, repr=False)
    _limits: dict[str, Limit | None] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def tables(self) -> tuple[str, ...]:
        """The keys of all tables."""
        own = tuple(contents(self._edition))
        return (*own, *(t.key for t in self.brought if t.key not in own))

    @cached_property
    def lineage(self) -> tuple[str, ...]:
        """Its own name, then those of the editions it is based on, the nearest first."""
        return (self.id, *bases(self._edition))

    def is_edition_of(self, code: str) -> bool:
        """Whether it is an edition of a code ("irc"), or based on one."""
        return any(edition.startswith(f"{code}-") for edition in self.lineage)

    @property
    def _edition(self) -> str:
        return self.folder or self.id

    @cached_property
    def topics(self) -> tuple[str, ...]:
        """The topics of the tables, in the order of the tables."""
        return tuple(dict.fromkeys(self.table(key).topic for key in self.tables))

    def tables_on(self, topic: str) -> tuple[Table, ...]:
        """The tables of a topic."""
        return tuple(t for t in map(self.table, self.tables) if t.topic == topic)

    def table(self, key: str) -> Table:
        """A table by its key; KeyError where the edition has none of that name."""
        if key not in self._tables:
            if key not in self.tables:
                raise KeyError(f"{self.id} has no table {key}")
            mine = (change for change in self.changes if change.table == key)
            self._tables[key] = amend(self._unamended(key), mine)
        return self._tables[key]

    def _unamended(self, key: str) -> Table:
        brought = [table for table in self.brought if table.key == key]
        own = [table_of(self._edition, key)] if key in contents(self._edition) else []
        tables = [*own, *brought]
        return joined(tables) if key == LIMITS else tables[0]

    def with_tables(self, brought: CodeTables) -> AdoptedCode:
        """This code with the tables and limits of a rule pack beside its own.

        ValueError where the pack brings a table, or sets a limit, that is there already, or where
        its folder does not hold what it should.
        """
        tables = tables_of(brought, self.id, self.family)
        for table in tables:
            if table.key != LIMITS and table.key in self.tables:
                place = f"{brought.citation}, {table.key}.csv"
                raise ValueError(f"{place}: {self.id} has a table {table.key} already")
        made = replace(self, brought=(*self.brought, *tables))
        if LIMITS in made.tables:
            made.table(LIMITS)
        return made

    def limit(self, key: str) -> Limit:
        """A single value by its key; KeyError where the edition sets none."""
        found = self.limit_or_none(key)
        if found is None:
            raise KeyError(f"{self.id} sets no limit {key}")
        return found

    def limit_or_none(self, key: str) -> Limit | None:
        """A single value by its key, None where the edition sets none: no row, or a blank cell."""
        if key not in self._limits:
            row = self.table("limits").one(key=key)
            is_set = row is not None and row.number_or_none("value") is not None
            limit = row.limit("value", row.text("unit")) if row is not None and is_set else None
            self._limits[key] = limit and replace(limit, key=key)
        return self._limits[key]

    def amended(self, changes: Iterable[AmendedCell]) -> AdoptedCode:
        """This code with local amendments; InputError where one names what is not there."""
        made = replace(self, changes=(*self.changes, *changes))
        for change in made.changes:
            if change.table not in self.tables:
                hint = near(change.table, self.tables)
                raise InputError(f"{self.id} has no table {change.table!r}: {hint}.")
            made.table(change.table)
        return made

    def fixture_units(
        self, kind: str, occupancy: str = "private", properties: Facts | None = None
    ) -> FixtureUnits | None:
        """Drainage fixture units and smallest trap of a kind of fixture, None where not listed.

        `properties` are the facts known of the fixture (columns.toml lists those that matter);
        `occupancy` is "private", "public" or "assembly".
        """
        _refuse_unknown(occupancy)
        return look_up(self.table("drainage_fixture_units"), kind, occupancy, properties or {})

    def supply_units(
        self, kind: str, occupancy: str = "private", properties: Facts | None = None
    ) -> SupplyUnits | None:
        """Water supply fixture units of a kind of fixture, None where not listed."""
        _refuse_unknown(occupancy)
        table = self.table("water_supply_fixture_units")
        return look_up_supply(table, kind, occupancy, properties or {})

    def unlisted_fixture_units(self, trap_in: float) -> FixtureUnits | None:
        """Units of a fixture the code does not list, by the size of its trap.

        A size between two rows takes the larger one; None beyond the largest row.
        """
        table = self.table("unlisted_fixtures")
        size = next((s for s in table.numbers("trap_in") if s >= trap_in), None)
        row = table.one(trap_in=size) if size is not None else None
        if row is None:
            return None
        said = f"not listed by the code: loaded by its {size:g} in trap"
        return FixtureUnits(row.number("dfu"), size, row, row.source, (said,))

    def least_units(self, trap_in: float, occupancy: str = "private") -> float:
        """The least that a fixture the code lists for a trap up to this size gives."""
        _refuse_unknown(occupancy)
        column = f"dfu_{occupancy}"
        given = (
            dfu
            for row in self.table("drainage_fixture_units").rows
            if (listed := row.number_or_none("trap_in")) is not None
            and listed <= trap_in
            and (dfu := row.number_or_none(column)) is not None
        )
        return min(given, default=0.0)

    def branch_minimum(self, kind: str, occupancy: str = "private") -> Row | None:
        """The smallest drain a kind of fixture asks for beyond its trap arm or fixture drain."""
        if "branch_minimums" not in self.tables:
            return None
        rows = self.table("branch_minimums").where(fixture=kind)
        return next((r for r in rows if r.text("occupancy") in ("", occupancy)), None)


def load(edition: str) -> AdoptedCode:
    """An adopted code by its name, or by the path of its folder.

    InputError where there is none, or where its folder does not hold what it should.
    """
    folder = folder_of(edition)
    try:
        return _load(str(folder) if is_path(edition) else edition)
    except (ValueError, TypeError, LookupError, AttributeError, OSError, InputError) as error:
        why = str(error).rstrip(".")
        raise InputError(f"The adopted code in {folder} cannot be read: {why}.") from None


@cache
def _load(edition: str) -> AdoptedCode:
    bases(edition)
    stated = description(edition)
    code = AdoptedCode(
        id=stated["id"], family=stated["family"], short=stated["short"], title=stated["title"],
        edition=stated["edition"], publisher=stated["publisher"],
        based_on=stated.get("based_on", ""), folder=edition if is_path(edition) else "",
    )  # fmt: skip
    if folder_of(edition).parent != OURS:  # ours are read when first asked for; tests read them all
        for key in code.tables:
            code.table(key)
    return code


def _refuse_unknown(occupancy: str) -> None:
    if occupancy not in OCCUPANCIES:
        raise InputError(f"occupancy is {occupancy!r}: write private, public or assembly instead.")
