"""Adopted codes as data: one folder an edition, one CSV file a table, each row with its source."""

from ifclint.codes.adopted import AdoptedCode, load
from ifclint.codes.brought import CodeTables
from ifclint.codes.changes import AmendedCell
from ifclint.codes.compare import Difference, differences
from ifclint.codes.editions import editions
from ifclint.codes.fixture_units import OCCUPANCIES, FixtureUnits, SupplyUnits
from ifclint.codes.provenance import SourceKind
from ifclint.codes.tables import LeftOut, Limit, Row, Table

__all__ = [
    "OCCUPANCIES", "AdoptedCode", "AmendedCell", "CodeTables", "Difference", "FixtureUnits",
    "LeftOut", "Limit", "Row", "SourceKind", "SupplyUnits", "Table", "differences", "editions",
    "load",
]  # fmt: skip
