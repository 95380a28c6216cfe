"""How findings speak of arms and vents: paths as steps, remedies, words; and where no vents are
drawn."""

from collections.abc import Sequence
from math import dist

from ifclint.engineering.units import feet
from ifclint.engineering.wording import above_or_below, number_text, shortened
from ifclint.engineering.wording import sentence as sentence
from ifclint.findings import Change, Step
from ifclint.plumbing import TrapArm, VentJoint

ROW = 3  # fixtures that make a row, which one vent may serve. Ours, no source


def kind_words(kind: str) -> str:
    return kind.replace("-", " ")


def beside_rim(above_in: float) -> str:
    return f"{number_text(abs(above_in), 3)} in {above_or_below(above_in)}"


def own_vent(arm: TrapArm) -> Change:
    """The remedy that always helps."""
    text = f"Give {arm.fixture.label} a vent of its own."
    return Change("part", (arm.element.guid,), "vent", text)


def circuit_vent_for(row: Sequence[TrapArm]) -> Change:
    """The remedy for a row of fixtures on a level branch without a vent, upstream first."""
    first, second = row[0].fixture.label, row[1].fixture.label
    text = (
        f"Carry a vent off their branch between the drains of {first} and {second}, the two most "
        "upstream (a circuit vent), or give each a vent of its own."
    )
    return Change("part", tuple(arm.element.guid for arm in row), "circuit vent", text)


def arm_steps(arm: TrapArm) -> tuple[Step, ...]:
    """The elements of a trap arm in order, with their developed lengths."""
    piping, at = arm.piping, arm.points[0] if arm.points else None
    steps = [Step(f"From {_start_words(arm)}")]
    for n, index in enumerate(arm.path):
        last = n == len(arm.path) - 1
        through = [] if piping.is_pipe(index) else [piping.middle(index)]
        if not last:
            through.append(piping.exit(index))
        elif piping.is_pipe(index):
            through.append(arm.points[-1])
        length = 0.0
        for point in through:
            if point is not None and at is not None:
                length += dist(at, point)
            at = point or at
        word = "to the centre of " if last and not piping.is_pipe(index) else "through "
        steps.append(Step(word + piping.elements[index].label, feet(length), "ft"))
    if arm.length_m is not None:
        steps.append(Step("Developed length", feet(arm.length_m), "ft"))
    return tuple(steps)


def _start_words(arm: TrapArm) -> str:
    where = "the outlet of " if arm.integral or arm.trap is None else "the weir (outlet) of "
    return where + arm.element.label


def vent_steps(joint: VentJoint) -> tuple[Step, ...]:
    """The elements of a vent from the drain to the open air, shortened in the middle."""
    elements = joint.tree.piping.elements
    names = [elements[i].label for i in joint.tree.path_out(joint)]
    steps = [Step(f"From {elements[joint.drain].label}"), *map(Step, shortened(names, str))]
    if joint.to_air_m is not None:
        steps.append(Step("Developed length to the open air", feet(joint.to_air_m), "ft"))
    return tuple(steps)
