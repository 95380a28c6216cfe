"""Combustion: the air and the place of what burns fuel, and gas around the building."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.job import Section
from ifclint.packs import Finders, Rule, hookimpl
from ifclint.plumbing import GasAppliance, GasPiping
from ifclint.plumbing.subjects import finders
from ifclint.rules.combustion import air, outside, places
from ifclint.rules.combustion.burners import Burner, FiredRoom, burners, fired_rooms
from ifclint.rules.combustion.section import CombustionSection


@hookimpl
def ifclint_subjects() -> Finders:
    return {**finders(GasAppliance, GasPiping), Burner: burners, FiredRoom: fired_rooms}


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*air.RULES, *places.RULES, *outside.RULES]


@hookimpl
def ifclint_job_section() -> type[Section]:
    return CombustionSection
