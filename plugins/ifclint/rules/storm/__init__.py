"""Storm drainage: from the roof to where the water is let go."""

from collections.abc import Iterable

from ifclint.findings import Schedule
from ifclint.job import Section
from ifclint.packs import Context, Finders, Rule, hookimpl, rules_in
from ifclint.plumbing.storm.sumps import StormSump, storm_sumps
from ifclint.rules.storm import gutters
from ifclint.rules.storm.gutters import Gutter
from ifclint.rules.storm.roofs import Roof, roofs
from ifclint.rules.storm.schedules import storm_schedule
from ifclint.rules.storm.section import StormSection


@hookimpl
def ifclint_subjects() -> Finders:
    return {
        Roof: roofs, Gutter: gutters.gutters,
        StormSump: storm_sumps,
    }  # fmt: skip


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return rules_in(__name__, "sizes", "secondary", "scuppers", "gutters", "around", "sumps")


@hookimpl
def ifclint_job_section() -> type[Section]:
    return StormSection


@hookimpl
def ifclint_schedules(context: Context) -> Iterable[Schedule]:
    has_tables = "storm_leaders" in context.code.tables
    return [storm_schedule(context)] if context.plumbing.storm and has_tables else []
