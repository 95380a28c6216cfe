"""Rules about the network as a whole."""

from ifclint.checks import require
from ifclint.engineering.wording import sentence
from ifclint.findings import Answer
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainLoop


@rule(
    title="No loop of drains",
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
)
def drain_ring(loop: DrainLoop, context: Context) -> Answer:
    """Drains branch like a tree; water that can go two paths leaves solids in both.

    Every joint that closes a loop of drains, and every element joined to itself. Vents may form
    loops and are excused.
    """
    return require(
        False,  # a loop is found because it is wrong
        message=f"{sentence(loop.label)} closes a loop of drains.",
        remedy="Undo the joint that does not belong, or correct the ports it was read from.",
    )
