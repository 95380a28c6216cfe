"""Combustion: the air and the place of what burns fuel, and gas around the building."""

from collections.abc import Iterable
from pathlib import Path

from ifclint.job import Section
from ifclint.packs import CodeTables, Finders, Rule, hookimpl, rules_in
from ifclint.rules.combustion import propane
from ifclint.rules.combustion.burners import Burner, FiredRoom, burners, fired_rooms
from ifclint.rules.combustion.section import CombustionSection


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        Burner: burners, FiredRoom: fired_rooms,
        propane.PropaneTank: propane.propane_tanks,
    }  # fmt: skip


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "air", "places", "building_shutoff", "outside", "connectors", "propane",
        "vehicles",
    )  # fmt: skip


@hookimpl
def ifclint_job_section() -> type[Section]:
    return CombustionSection


@hookimpl
def ifclint_code_tables() -> Iterable[CodeTables]:
    return [CodeTables(Path(__file__).parent / "tables", "NFPA 58")]
