"""How arms, vents and methods are told in findings: paths as steps, and the limits asked."""

from __future__ import annotations

from math import dist

from ifclint.codes import Limit, Row
from ifclint.engineering.units import M_PER_FT
from ifclint.findings import Step
from ifclint.packs import Context
from ifclint.plumbing import TrapArm, VentJoint


def feet(metres: float) -> float:
    return metres / M_PER_FT


def limit(context: Context, key: str) -> Limit | None:
    """A single value of the adopted code, None where it sets none."""
    found = context.code.table("limits").where(key=key)
    return context.code.limit(key) if found else None


def rows(context: Context, table: str) -> tuple[Row, ...]:
    """The rows of a table, none where the adopted code has no such table."""
    return context.code.table(table).rows if table in context.code.tables else ()


def method_row(context: Context, method: str) -> Row | None:
    return context.code.table("vent_methods").one(method=method)


def kind_words(kind: str) -> str:
    return kind.replace("-", " ")


def arm_steps(arm: TrapArm) -> tuple[Step, ...]:
    """The elements of a trap arm in order, with their developed lengths."""
    piping, at = arm.piping, arm.points[0] if arm.points else None
    steps = [Step(f"From {_whence(arm)}")]
    for n, index in enumerate(arm.path):
        last = n == len(arm.path) - 1
        through = [] if piping.is_pipe(index) else [piping.middle(index)]
        if not last:
            through.append(piping.exit(index))
        length = 0.0
        for point in through:
            if point is not None and at is not None:
                length += dist(at, point)
            at = point or at
        word = "to the centre of " if last else "through "
        steps.append(Step(word + piping.elements[index].label, feet(length), "ft"))
    if arm.length_m is not None:
        steps.append(Step("Developed length", feet(arm.length_m), "ft"))
    return tuple(steps)


def _whence(arm: TrapArm) -> str:
    where = "the outlet of " if arm.integral or arm.trap is None else "the weir (outlet) of "
    return where + arm.element.label


def vent_steps(joint: VentJoint) -> tuple[Step, ...]:
    """The elements of a vent from the drain to the open air, shortened in the middle."""
    elements = joint.tree.piping.elements
    names = [elements[i].label for i in joint.tree.path_out(joint)]
    if len(names) > 8:
        names = [*names[:4], f"… {len(names) - 8} more …", *names[-4:]]
    steps = [Step(f"From {elements[joint.drain].label}"), *(Step(name) for name in names)]
    if joint.to_air_m is not None:
        steps.append(Step("Developed length to the open air", feet(joint.to_air_m), "ft"))
    return tuple(steps)
