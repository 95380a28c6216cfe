"""Sewer and site: between the building and the street, and what its waste passes on the way."""

from collections.abc import Iterable

from ifclint.job import Section
from ifclint.packs import Finders, Rule, hookimpl, rules_in
from ifclint.rules.site import distances, interceptors
from ifclint.rules.site.distances import Distance
from ifclint.rules.site.interceptors import Interceptor
from ifclint.rules.site.section import SiteSection
from ifclint.rules.site.wastes import Waste, wastes


@hookimpl
def ifclint_subjects() -> Finders:
    return {Waste: wastes, Interceptor: interceptors.interceptors, Distance: distances.distances}


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(
        __name__, "intercepted", "interceptors", "oil_vents", "sizes", "sumps", "sewer", "depth",
        "separation", "distances",
    )  # fmt: skip


@hookimpl
def ifclint_job_section() -> type[Section]:
    return SiteSection
