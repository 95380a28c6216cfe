"""Storm drainage: from the roof to where the water is let go."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.job import Section
from ifclint.packs import Finders, Rule, hookimpl
from ifclint.plumbing import Inlet, StormDrain, StormOutlet
from ifclint.plumbing.subjects import finders
from ifclint.rules.storm import sizes
from ifclint.rules.storm.roofs import Roof, roofs
from ifclint.rules.storm.section import StormSection


@hookimpl
def ifclint_subjects() -> Finders:
    return {**finders(StormDrain, Inlet, StormOutlet), Roof: roofs}


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*sizes.RULES]


@hookimpl
def ifclint_job_section() -> type[Section]:
    return StormSection
