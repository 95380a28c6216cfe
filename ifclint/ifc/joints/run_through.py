"""Fittings and other parts that are drawn on an unbroken pipe, which runs through them.

Some programs draw a main in one piece from end to end, and set on it the tees and wyes where others
join, the valves and the cleanouts.
"""

from collections import defaultdict
from typing import NamedTuple

import numpy as np

from ifclint.ifc.elements import Box, End, Model, Role
from ifclint.ifc.joints.end_directions import Foot, foot_on
from ifclint.ifc.joints.free_ends import FreeEnd, allowed, join, position_of
from ifclint.ifc.joints.tees import beside
from ifclint.ifc.step.arrays import Ints

THROUGH = "through"  # name of the end a pipe gets where it enters or leaves a part on it
ONE_CUT_M = 1e-3  # what is this close along a pipe is at one place
MOUNTED = frozenset(
    {Role.FITTING, Role.VALVE, Role.METER, Role.REGULATOR, Role.PUMP, Role.CLEANOUT}
)


class _Span(NamedTuple):
    """Where a pipe enters a part and where it leaves it, with the openings of the part."""

    first: Foot
    opening: FreeEnd
    last: Foot
    leaving: FreeEnd


def join_run_through(
    model: Model, free: list[FreeEnd], pairs: Ints, boxes: dict[int, Box]
) -> set[FreeEnd]:
    """Join each part to the one pipe on whose axis two of its openings lie, and no third, away from
    the ends of the pipe; the ends joined are returned. `pairs` are the numbers of free ends that
    meet: what a pipe ends at needs no other."""
    is_pipe = np.array([model.elements[i].role is Role.PIPE for i, _ in free], dtype=bool)
    met = np.zeros(len(free), dtype=bool)
    met[pairs[is_pipe[pairs[:, ::-1]]]] = True
    openings = [
        at for k, at in enumerate(free) if not met[k] and model.elements[at[0]].role in MOUNTED
    ]
    on: dict[tuple[int, int], list[tuple[Foot, FreeEnd]]] = defaultdict(list)
    for pipe, k in beside(model, openings):
        at = openings[k]
        foot = _within(model, pipe, at)
        if foot is not None and allowed(model, at, (pipe, 0)):
            on[at[0], pipe].append((foot, at))
    pipes_of: dict[int, list[int]] = defaultdict(list)
    for (part, pipe), found in on.items():
        if len(found) == 2:
            pipes_of[part].append(pipe)
    spans: dict[int, list[_Span]] = defaultdict(list)
    for part, pipes in pipes_of.items():
        if len(pipes) == 1:
            (one, a), (other, b) = sorted(on[part, pipes[0]], key=lambda mark: mark[0].along_m)
            if other.along_m - one.along_m > model.joining_tolerance_m:
                spans[pipes[0]].append(_Span(one, a, other, b))
    taken: set[FreeEnd] = set()
    for pipe, along in sorted(spans.items()):
        taken |= _join_along(model, pipe, sorted(along, key=lambda span: span.first.along_m))
    for i, _ in taken:
        boxes.pop(i, None)
    return taken


def _within(model: Model, pipe: int, at: FreeEnd) -> Foot | None:
    """Where along a pipe an opening lies that is on its axis, and not at its end."""
    tolerance, place = model.joining_tolerance_m, position_of(model, at)
    foot = foot_on(model.elements[pipe].line, place)
    if foot is None or np.linalg.norm(np.subtract(foot.place, place)) > tolerance:
        return None
    return foot if min(foot.along_m, foot.left_m) > max(tolerance, ONE_CUT_M) else None


def _join_along(model: Model, pipe: int, spans: list[_Span]) -> set[FreeEnd]:
    """Join the parts along a pipe to it, and those that touch to each other; of those that lie in
    one another, the first."""
    apart = max(model.joining_tolerance_m, ONE_CUT_M)
    taken: set[FreeEnd] = set()
    before: _Span | None = None
    for span in spans:
        between = span.first.along_m - before.last.along_m if before else 2 * apart
        if between < -apart:
            continue
        if before and between <= apart:
            join(model, before.leaving, span.opening)
        else:
            if before:
                _join_to(model, pipe, before.last, before.leaving)
            _join_to(model, pipe, span.first, span.opening)
        taken |= {span.opening, span.leaving}
        before = span
    if before:
        _join_to(model, pipe, before.last, before.leaving)
    return taken


def _join_to(model: Model, pipe: int, foot: Foot, at: FreeEnd) -> None:
    ends = model.elements[pipe].ends
    ends.append(End(foot.place, name=THROUGH))
    join(model, at, (pipe, len(ends) - 1))
