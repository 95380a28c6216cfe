"""What is asked of every line that drains in the open: that it is wide enough, and falls."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from ifclint.checks import Fact, not_known
from ifclint.engineering.extents import level_m
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.drainage.clear_water import joined_lines
from ifclint.plumbing.facts import fact
from ifclint.plumbing.heaters.discharge import DischargeLine

SIZES = Fact("the size of part of {} is not known.", fact("size_in").remedy)


@derived
def passed_on(context: Context) -> frozenset[str]:
    """Where lines enter the drainage, by GlobalId."""
    return frozenset(line.entry.guid for line in joined_lines(context))


@dataclass(frozen=True)
class Passage:
    """How far a line goes sideways, and how much it rises, in one of its elements."""

    element: Element
    leads_to: Element | None
    level_m: float
    rise_m: float

    @property
    def rises(self) -> bool:
        return not at_most(self.rise_m, 0.0, "m")


def joins_drainage(line: DischargeLine, context: Context) -> bool:
    """Whether a line that is to end in the open is joined to the drainage, where that is judged."""
    passed = (*line.elements, *filter(None, [line.runs_into]))
    return not passed_on(context).isdisjoint(e.guid for e in passed)


def by_gravity(line: DischargeLine, context: Context) -> DischargeLine:
    """A line as far as it runs by itself: up to a pump, or to the drainage it is joined to."""
    entered = passed_on(context)
    ends = (e.role is Role.PUMP or e.guid in entered for e in line.elements)
    last = next((n for n, is_end in enumerate(ends) if is_end), len(line.elements))
    return replace(line, elements=line.elements[:last], points=line.points[: last + 1])


def passages(line: DischargeLine) -> list[Passage]:
    """The passages of a line in order, as far as its points are known."""
    paths = zip(line.elements, (*line.elements[1:], None), pairwise(line.points), strict=False)
    return [Passage(element, after, level_m(a, b), b[2] - a[2]) for element, after, (a, b) in paths]


def rises(line: DischargeLine) -> list[Passage]:
    """The passage with which each stretch begins in which a line rises, with the whole rise."""
    grouped = groupby(passages(line), key=lambda passage: passage.rises)
    stretches = [list(stretch) for rising, stretch in grouped if rising]
    return [replace(s[0], rise_m=sum(passage.rise_m for passage in s)) for s in stretches]


def narrow(line: DischargeLine, least_in: float) -> tuple[float, tuple[str, ...]]:
    """The pipes smaller than a size, and the smallest size of them; the size where none is."""
    small = {
        p.guid: p.size_in
        for p in line.pipes
        if p.size_in is not None and not at_least(p.size_in, least_in, "in")
    }
    return min(small.values(), default=least_in), tuple(small)


def unsized(line: DischargeLine, label: str) -> Iterator[Answer]:
    """The question that is left where a pipe of a line has no size."""
    pipes = [p.guid for p in line.pipes if p.size_in is None]
    if pipes:
        yield not_known(SIZES, label, elements=pipes, about=pipes[0])
