"""Small helpers the rules about cleanouts share."""

from __future__ import annotations

from ifclint.codes import Limit
from ifclint.engineering.units import M_PER_FT
from ifclint.findings import Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived
from ifclint.plumbing import Cleanout, DrainLine

DRAWN_FT = 0.05


def feet(metres: float) -> float:
    return metres / M_PER_FT


def limit(context: Context, key: str) -> Limit | None:
    """A single value of the adopted code, None where it sets none."""
    found = context.code.table("limits").where(key=key)
    return context.code.limit(key) if found else None


@derived
def shows_cleanouts(context: Context) -> bool:
    """Whether the model holds any cleanout at all."""
    elements = context.plumbing.network.elements
    return any(elements[i].role is Role.CLEANOUT for i in context.plumbing.drainage.members)


def on_line(line: DrainLine, context: Context) -> list[tuple[float, Cleanout]]:
    """The cleanouts of a line, by their distance from its upper end in metres."""
    return _by_line(context).get(line, [])


@derived
def _by_line(context: Context) -> dict[DrainLine, list[tuple[float, Cleanout]]]:
    found: dict[DrainLine, list[tuple[float, Cleanout]]] = {}
    for cleanout in context.plumbing.cleanouts:
        if cleanout.line is not None and cleanout.at_m is not None and not cleanout.on_vent:
            found.setdefault(cleanout.line, []).append((cleanout.at_m, cleanout))
    return {line: sorted(f, key=lambda c: (c[0], c[1].key)) for line, f in found.items()}


def line_steps(line: DrainLine, context: Context) -> tuple[Step, ...]:
    """The elements of a line with their distance from its upper end, and its cleanouts."""
    elements = line.piping.elements
    steps = [
        Step(f"at {elements[i].label}", feet(line.at_m[i]), "ft")
        for i in line.indexes
        if i in line.at_m
    ]
    if len(steps) > 10:
        steps = [*steps[:5], Step(f"… {len(steps) - 10} more …"), *steps[-5:]]
    for at, cleanout in on_line(line, context):
        steps.append(Step(f"cleanout {cleanout.label}", feet(at), "ft"))
    if line.length_m is not None:
        steps.append(Step("Developed length", feet(line.length_m), "ft"))
    return tuple(steps)
