# acme_linings/__init__.py
"""Linings of drains by the Acme standard."""

from collections.abc import Iterable
from pathlib import Path

from ifclint.checks import Answer, Fact, check, known
from ifclint.packs import CodeTables, Context, PropertyFact, Rule, Section, hookimpl, rule
from ifclint.job import LengthM
from ifclint.plumbing import DrainSegment

LINING = Fact("lining", "Give the pipe its lining (Acme Pipe Data.Lining).")
ROW = Fact("The standard lists no lining for {}.", "Ask Acme.")


class AcmeSection(Section):
    """[acme] in the job file."""

    wear: LengthM = 0.0  # what the lining has lost already


@rule(
    title="Lining thick enough",
    clauses={"any": "Acme standard 4.2"},
    needs=("size_in",),
)
def acme_lining(drain: DrainSegment, context: Context) -> Answer:
    """A lining that is too thin wears through, and the pipe behind it rusts.

    The thickness that the model gives a drain, less what the job file says is worn, against the
    least of the standard for its size. A drain whose lining is not given is unverified.
    """
    lining_m = known(drain.first.properties.number("acme_lining_m"), LINING)
    row = known(context.code.table("lining").one(size_in=drain.size_in), ROW)
    left_mm = (lining_m - context.job.section(AcmeSection).wear) * 1000
    return check(
        left_mm,
        at_least=row.limit("least_mm", "mm"),
        message=f"{drain.label} is lined with {left_mm:.1f} mm.",
        remedy="Line it thicker.",
        limit_step="Least lining for its size",
    )


@hookimpl
def ifclint_rules() -> Iterable[Rule]:
    return [acme_lining]


@hookimpl
def ifclint_code_tables() -> Iterable[CodeTables]:
    return [CodeTables(Path(__file__).parent / "tables", "Acme standard")]


@hookimpl
def ifclint_job_section() -> type[Section]:
    return AcmeSection


@hookimpl
def ifclint_facts() -> Iterable[PropertyFact]:
    return [PropertyFact("acme_lining_m", reads="length", names=("Acme Pipe Data.Lining",))]
