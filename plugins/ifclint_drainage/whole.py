"""Rules about the network as a whole: rings of drains, pipes of no known service."""

from __future__ import annotations

from ifclint.findings import Answer, Outcome
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainLoop, UnknownService


@rule(
    title="No ring of drains",
    subject=DrainLoop,
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
)
def drain_ring(loop: DrainLoop, context: Context) -> Answer:
    """Drains branch like a tree; water that can go two ways leaves solids in both.

    Every joint that closes a ring of drains, and every element joined to itself. Vents may form
    rings and are excused.
    """
    return Answer(
        Outcome.VIOLATION,
        f"{loop.label[0].upper()}{loop.label[1:]} closes a ring of drains.",
        remedy="Undo the joint that does not belong, or correct the ports it was read from.",
    )


@rule(
    title="Service of every pipe known",
    subject=UnknownService,
    clauses={"upc": "needed for any review", "ipc": "needed for any review"},
)
def pipe_service_known(pipe: UnknownService, context: Context) -> Answer:
    """A pipe that is in no known system was judged by no rule.

    Pipes and fittings in no system, not joined to any trap, cleanout or pipe whose system is
    known. They are counted here so that nobody takes them for reviewed.
    """
    return Answer(
        Outcome.UNVERIFIED,
        f"Nothing tells what the {pipe.label} serves, so no rule could look at it.",
        remedy="Assign it to an IfcDistributionSystem with a PredefinedType, or join it to pipe "
        "whose system is known.",
    )


RULES = (drain_ring, pipe_service_known)
