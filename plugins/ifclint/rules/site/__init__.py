"""Sewer and site: between the building and the street, and what its waste passes on the way."""

from __future__ import annotations

from collections.abc import Iterable

from ifclint.job import Section
from ifclint.packs import Finders, Rule, hookimpl
from ifclint.plumbing import BuildingDrain
from ifclint.plumbing.subjects import finders
from ifclint.rules.site import intercepted, interceptors, sizes, sumps
from ifclint.rules.site.interceptors import Interceptor
from ifclint.rules.site.section import SiteSection
from ifclint.rules.site.wastes import Waste, wastes


@hookimpl
def ifclint_subjects() -> Finders:
    return {**finders(BuildingDrain), Waste: wastes, Interceptor: interceptors.interceptors}


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [*intercepted.RULES, *interceptors.RULES, *sizes.RULES, *sumps.RULES]


@hookimpl
def ifclint_job_section() -> type[Section]:
    return SiteSection
