"""Relief (yoke) vents between a very tall stack and its vent stack: their size and their ends."""

from collections.abc import Iterator
from dataclasses import dataclass

from ifclint.checks import Fact, check, not_known, violation
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text, trade_size
from ifclint.findings import Answer, Change, Measure
from ifclint.packs import Context
from ifclint.plumbing import Stack, VentJoint
from ifclint.plumbing.floors import Floor
from ifclint.rules.venting.airflow import airflow, takes
from ifclint.rules.venting.main_vents import vents_along

HEIGHT = Fact(
    "how high above its floor the relief vent {} joins the vent stack",
    "Give the fitting a placed port, and its storey a height.",
)


@dataclass(frozen=True, slots=True)
class Relief:
    """A relief vent, from the stack to where it meets the vent stack."""

    joint: VentJoint
    pipes: list[int]
    meeting: int
    beyond: int | None  # the first pipe of the vent stack past there


def relief_faults(stack: Stack, context: Context) -> Iterator[Answer]:
    """What is wrong with each relief vent of a stack that joins a vent stack."""
    of_traps = {group.joint for group in context.plumbing.venting.groups if group.own}
    for joint in vents_along(stack, context):
        if joint not in of_traps and (relief := _relief(joint, context)) is not None:
            yield from _size(relief, stack, context)
            yield from _ends(relief, stack, context)


def _relief(joint: VentJoint, context: Context) -> Relief | None:
    """None where a vent goes to the open air by itself."""
    piping, through = joint.tree.piping, airflow(context).joints
    path = joint.tree.path_out(joint)
    alone = through.get(path[0], 0.0)
    place = next((n for n, i in enumerate(path) if through.get(i, 0.0) > alone), None)
    if place is None:
        return None
    pipes = [i for i in path[:place] if piping.is_pipe(i)]
    beyond = next((i for i in path[place:] if piping.is_pipe(i)), None)
    return Relief(joint, pipes, path[place], beyond)


def _size(relief: Relief, stack: Stack, context: Context) -> Iterator[Answer]:
    """IPC: that of the vent stack; UPC: of the smaller of stack and vent stack."""
    elements = relief.joint.tree.piping.elements
    sizes = [size for i in relief.pipes if (size := elements[i].size_in) is not None]
    vent_stack = elements[relief.beyond].size_in if relief.beyond is not None else None
    if not sizes or vent_stack is None:
        return
    upc, wanted = context.code.family == "upc", vent_stack
    if upc and stack.size_in is not None:
        wanted = min([vent_stack, stack.size_in])
    if at_least(min(sizes), wanted, "in"):
        return
    of = "the smaller of stack and vent stack" if upc else "its vent stack"
    ids = tuple(elements[i].guid for i in relief.pipes)
    yield violation(
        message=f"The relief vent {elements[relief.pipes[0]].label} is "
        f"{trade_size(min(sizes))}, {of} {trade_size(wanted)}.",
        remedy=Change("size", ids, wanted, f"Make the relief vent {trade_size(wanted)}."),
        measured=Measure(min(sizes), "in"),
        required=Measure(wanted, "in", "at least"),
        clause=context.code.limit("relief_vent_above_floor_in").clause,
        elements=ids,
        about=ids[0],
    )


def _ends(relief: Relief, stack: Stack, context: Context) -> Iterator[Answer]:
    """The upper end well above its floor, the lower below the branches that serve that."""
    piping, least = relief.joint.tree.piping, context.code.limit("relief_vent_above_floor_in")
    middle, meeting = piping.middle(relief.meeting), piping.elements[relief.meeting]
    label, floor = piping.elements[relief.joint.vent].label, piping.floors.of(meeting)
    if middle is None or floor is None:
        yield not_known(HEIGHT, label, elements=(meeting.guid,), about=meeting.guid)
        return
    high = (middle[2] - floor.level_m) / M_PER_IN
    yield check(
        round(high, 2),
        at_least=least,
        message=f"The relief vent {label} joins the vent stack "
        f"{apart_text(high, least.value, 'in')} above the floor.",
        remedy=f"Join it {number_text(least.value)} in above the floor, or higher.",
        limit_step="Above the floor, at least",
        elements=(meeting.guid, piping.elements[relief.joint.vent].guid),
        about=meeting.guid,
    )
    if (below := _joins_below(relief, stack, floor, context)) is not None:
        drain = piping.elements[relief.joint.drain]
        yield violation(
            message=f"The relief vent {label} leaves the stack above the drain of {below}, which "
            "stands on the floor it serves.",
            remedy="Take it off the stack below the branches of that floor, by a wye.",
            clause=least.clause,
            elements=(drain.guid, piping.elements[relief.joint.vent].guid),
            about=drain.guid,
        )


def _joins_below(relief: Relief, stack: Stack, floor: Floor, context: Context) -> str | None:
    """A fixture of a floor that comes to the stack below where the relief vent leaves it."""
    piping, inside = relief.joint.tree.piping, {i for s in stack.segments for i in s.indexes}
    down, level_of = piping.drainage.down, piping.floors.level_of
    above = set(onward(relief.joint.drain, down))
    for fixture in sorted(takes(context)[stack], key=lambda f: f.index):
        if level_of(fixture.element) != floor.level_m:
            continue
        enters = next((i for i in onward(fixture.index, down) if i in inside), None)
        if enters is not None and enters in above:
            return fixture.label
    return None
