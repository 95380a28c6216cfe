"""What the rules about cleanouts share: the parts they miss, and the words for a drain line."""

from dataclasses import replace

from ifclint.checks import Fact, not_known
from ifclint.engineering.units import feet
from ifclint.engineering.wording import shortened
from ifclint.findings import Answer, Change, Outcome, Step
from ifclint.packs import Context, derived
from ifclint.part_kinds import CLEANOUTS
from ifclint.plumbing import Cleanout, DrainLine

LOWEST_FLOOR = Fact(
    "whether {} lies above the lowest floor, where no cleanout is asked for, is not known.",
    "Review together with the file that has the slabs or spaces (IfcSlab, IfcSpace).",
)


def for_want_of_cleanouts(answer: Answer) -> Answer:
    """An answer that is a question instead where the model draws no cleanout at all."""
    return answer if answer.outcome is Outcome.PASS else replace(answer, part=CLEANOUTS)


def add_cleanout(beside: str, text: str) -> Change:
    """The remedy: a cleanout added beside an element."""
    return Change("part", (beside,), "cleanout", text)


def downstream(index: int, context: Context) -> list[int]:
    """The elements water passes from an element, with it, to the outlet."""
    return context.plumbing.drainage.path(index)[::-1]


def is_above_lowest_floor(line: DrainLine, context: Context) -> bool | None:
    """Whether a line lies above the lowest floor; None where that floor is not stated."""
    floors, height = context.plumbing.venting.surroundings.floors, line.height_m
    if not floors.likely or height is None:
        return False
    return floors.is_above_lowest(height)


def unknown_lowest_floor(line: DrainLine) -> Answer:
    return not_known(LOWEST_FLOOR, line)


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
    elements, at_m = line.piping.elements, line.at_m
    steps = [
        Step(f"at {elements[i].label}", feet(at_m[i]), "ft") for i in line.indexes if i in at_m
    ]
    steps = shortened(steps, Step)
    steps += [Step(f"cleanout {c.label}", feet(at), "ft") for at, c in on_line(line, context)]
    if line.length_m is not None:
        steps.append(Step("Developed length", feet(line.length_m), "ft"))
    return tuple(steps)
