"""What a rule says of a tiny network."""

from collections.abc import Sequence

from ifclint import codes
from ifclint.amendments import amended
from ifclint.codes import CodeTables
from ifclint.findings import NOT_APPLICABLE, Answer
from ifclint.ifc.elements import Storey
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context, Finders, Rule
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.testing.networks import read_network


def context_of(
    text: str,
    code: str = "upc-2021",
    job: Job | None = None,
    storeys: tuple[Storey, ...] = (),
    tables: Sequence[CodeTables] = (),
) -> Context:
    """All that a rule may look at, of a network written as text; `tables` are those of packs."""
    the_job = job or Job()
    plumbing = build(
        read_network(text, storeys),
        the_job.drainage.outlets,
        [flow.element for flow in the_job.drainage.continuous_flow],
        the_job.gas.source,
        the_job.water.source,
        gas_loads=[load.element for load in the_job.gas.loads],
    )
    adopted = codes.load(code)
    for brought in tables:
        adopted = adopted.with_tables(brought)
    return Context(amended(adopted, the_job), plumbing, the_job)


def ask(
    rule: Rule,
    text: str,
    code: str = "upc-2021",
    job: Job | None = None,
    storeys: tuple[Storey, ...] = (),
    subjects: Finders | None = None,
    tables: Sequence[CodeTables] = (),
) -> dict[str, Answer]:
    """The gravest that a rule says of every subject: the subject's first element -> answer.

    `subjects` finds what the plumbing does not (see the hook `ifclint_subjects`), `tables` are
    those of a pack.
    """
    said = all_answers(rule, context_of(text, code, job, storeys, tables), subjects)
    return {subject: given[0] for subject, given in said.items()}


def all_answers(
    rule: Rule, context: Context, subjects: Finders | None = None
) -> dict[str, Sequence[Answer]]:
    """All that a rule says of every subject, the gravest first, by the subject's first element; of
    two with one such element what is said of the last that is asked."""
    found: dict[str, Sequence[Answer]] = {}
    for subject, given in answers(rule, context, {**finders(), **(subjects or {})}):
        said, key = tuple(given) or (NOT_APPLICABLE,), subject.element_ids[0]
        if key not in found or said != (NOT_APPLICABLE,):
            found[key] = said
    return found
