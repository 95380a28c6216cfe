"""The rule about vents of sumps that take sewage."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import check, missing, unverified, violation
from ifclint.findings import Answer, Change, Severity
from ifclint.packs import Context, rule
from ifclint.plumbing import BuildingDrain, VentTree
from ifclint.rules.venting.parts import VENTS

PUMPED = "pumped"  # the kind of an outlet that is a sump or ejector


@rule(
    title="Sump vented to the open air",
    subject=BuildingDrain,
    clauses={"upc": "710.9 and 710.10", "ipc": "906.5 and 918.8", "irc": "P3113.4 and P3114.8"},
    severity=Severity.HIGH,
    applies=lambda drain: drain.outlet.kind == PUMPED and bool(drain.fixtures),
)
def sump_vented(drain: BuildingDrain, context: Context) -> Iterator[Answer]:
    """Water that runs into a tight sump drives air out, and the pump draws air in after it: without
    a vent through the traps.

    A vent must be joined to the sump itself, lead to the open air and not only to an air
    admittance valve, and have the code's least size. What size its pump asks beyond that is the
    designer's: the pump's flow is not in the model.
    """
    sump = drain.piping.elements[drain.outlet.element]
    found = _vents(drain, context)
    if not found:
        text = "Carry a vent from the sump to the open air."
        yield missing(
            VENTS,
            message=f"{sump.label} has no vent.",
            remedy=Change("part", (sump.guid,), "vent", text),
            elements=(sump.guid,),
        )
        return
    opened = [index for index, tree in found if not tree.admittance_only]
    if not opened:
        yield violation(
            message=f"{sump.label} breathes through an air admittance valve, which lets no air "
            "out.",
            remedy="Carry the vent of the sump to the open air.",
            elements=(sump.guid,),
            about="valve",
        )
    sized = opened or [index for index, _ in found]
    known = [size for i in sized if (size := drain.piping.elements[i].size_in) is not None]
    if not known:
        yield unverified(
            f"The size of the vent of {sump.label} is not known.", "Give it a nominal diameter."
        )
        return
    least = context.code.limit("sump_vent_in")
    yield check(
        max(known),
        at_least=least,
        message=f"The vent of {sump.label} is too small.",
        remedy=Change("size", (sump.guid,), least.value, "Make the vent of the sump larger."),
        limit_step="Vent of a sump, at least",
        elements=(sump.guid,),
    )


def _vents(drain: BuildingDrain, context: Context) -> list[tuple[int, VentTree]]:
    """The dry pipes joined to the sump, each with its tree."""
    trees = {i: tree for tree in context.plumbing.venting.trees for i in tree.members}
    joined = context.plumbing.network.neighbours(drain.outlet.element)
    return [(i, trees[i]) for i in joined if i in trees and trees[i].is_vent]


RULES = (sump_vented,)
