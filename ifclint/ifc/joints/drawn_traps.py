"""Traps that are drawn as pipe and bends: down, across and up again before the drain goes on."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from math import hypot
from typing import NamedTuple

from ifclint.ifc.elements import (
    Basis,
    Confidence,
    Element,
    End,
    Joint,
    Model,
    Note,
    Point,
    Role,
    System,
)
from ifclint.ifc.joints.free_ends import USERS, FreeEnd

AS_U = Basis("the U that it is a part of", Confidence.SHAPE)
P_TRAP = "p-trap"
LINKS = frozenset({Role.PIPE, Role.FITTING})
TRAPPED = frozenset({System.SANITARY, System.CONDENSATE})
STEEP = 0.6  # rise over run; a quarter bend has about 1, an eighth bend 0.4. Ours, no source
LEVEL = 0.1  # rise over run of what leads from one leg to the other. Ours, no source
ACROSS_M = 0.45  # between the legs of a trap. Ours, no source
RISE_M = (0.03, 0.30)  # from the bottom to where the drain goes on. Ours, no source
SAME_M = 0.003  # by which heights may differ that are one. Ours, no source
FEW = 12  # elements of a leg, or above a trap, after which no more are followed. Ours, no source
HOLDS = frozenset({Role.TRAP, Role.PUMP, Role.CHAMBER, Role.INTERCEPTOR})


class _Step(NamedTuple):
    """An element as water goes through it: by which end in, and by which out."""

    element: int
    enters: int
    leaves: int


_Leg = list[_Step]


def tell_drawn_traps(model: Model) -> None:
    """Make one trap of every U of pipe and bends through which a fixture drains that has no other.

    The pipe that falls into it is cut at the height of the weir. The other parts of the U are the
    trap: one of them becomes it, the others are nothing by themselves.
    """
    ways, moved = _Ways(model), dict[FreeEnd, FreeEnd]()
    gone, added = set[int](), list[Joint]()
    for joint in model.joints:
        one, other = (joint.a, joint.a_end), (joint.b, joint.b_end)
        u = ways.u_at(one, other) or ways.u_at(other, one)
        if u is None:
            continue
        trap, parts = u[len(u) // 2].element, u
        if (inlet := _cut(model.elements, u)) is not None:
            first, *parts = u
            added.append(Joint(first.element, first.leaves, trap, 0, inferred=True))
        else:
            inlet = _end(model.elements, u[0].element, u[0].enters)
            moved[u[0].element, u[0].enters] = trap, 0
        last = parts[-1]
        moved[last.element, last.leaves] = trap, 1
        _become(model, trap, [inlet, _end(model.elements, last.element, last.leaves)], parts)
        gone.update(step.element for step in parts)
        ways.links -= gone
    if moved:
        model.joints = [*_moved(model.joints, moved, gone), *added]


def _end(elements: list[Element], index: int, end: int) -> End:
    return replace(elements[index].ends[end])


def _cut(elements: list[Element], u: _Leg) -> End | None:
    """Cut the pipe that falls into a U at the height of its weir: where the trap begins; None where
    no pipe does."""
    pipe, weir = elements[u[0].element], _height(elements, u[-1].element, u[-1].leaves)
    top, foot = (_place(elements, u[0].element, end) for end in u[0][1:])
    if pipe.role is not Role.PIPE or pipe.course or top[2] - weir < SAME_M:
        return None
    share = (top[2] - weir) / (top[2] - foot[2])
    x, y, z = (a + (b - a) * share for a, b in zip(top, foot, strict=True))
    pipe.length_m = None if pipe.length_m is None else pipe.length_m * share
    pipe.ends[u[0].leaves] = replace(pipe.ends[u[0].leaves], position=(x, y, z))
    return replace(pipe.ends[u[0].leaves])


def _become(model: Model, index: int, ends: list[End], parts: _Leg) -> None:
    """Make one of the parts the trap, with the ends that are told."""
    for part in (model.elements[step.element] for step in parts):
        part.role, part.kind, part.ends, part.length_m = Role.OTHER, "", [], None
    trap = model.elements[index]
    trap.role, trap.kind, trap.ends = Role.TRAP, P_TRAP, ends
    trap.basis |= {"role": AS_U, "kind": AS_U}
    what = "It is a part of a U of pipe and bends, which is read as a trap."
    remedy = "If it is none, let the drain fall all the way; if it is, draw or name it as a trap."
    model.notes.append(Note(what, remedy, trap.guid, "role", AS_U.words))


def _moved(joints: list[Joint], moved: dict[FreeEnd, FreeEnd], gone: set[int]) -> Iterator[Joint]:
    for joint in joints:
        one, other = (joint.a, joint.a_end), (joint.b, joint.b_end)
        if (one in moved or joint.a not in gone) and (other in moved or joint.b not in gone):
            first, second = sorted((moved.get(one, one), moved.get(other, other)))
            yield Joint(*first, *second, joint.inferred, joint.gap_m)


def _place(elements: list[Element], index: int, end: int) -> Point:
    place = elements[index].ends[end].position
    assert place is not None
    return place


def _height(elements: list[Element], index: int, end: int) -> float:
    return _place(elements, index, end)[2]


class _Ways:
    """Ways through what has two ends and one thing joined to each."""

    def __init__(self, model: Model) -> None:
        self.elements = model.elements
        self.links = {
            i
            for i, e in enumerate(self.elements)
            if e.role in LINKS and e.system in TRAPPED and len(e.places) == len(e.ends) == 2
        }
        self.met: dict[FreeEnd, list[FreeEnd]] = defaultdict(list)
        for a, a_end, b, b_end, *_ in model.joints:
            if a in self.links or b in self.links:
                self.met[a, a_end].append((b, b_end))
                self.met[b, b_end].append((a, a_end))

    def u_at(self, foot: FreeEnd, on: FreeEnd) -> _Leg | None:
        """The parts of a U in the direction of flow, of which one leg rises from an end, and what
        leads to the other begins at the end joined to this; None where there is none."""
        one = self._leg(foot)
        level = self._level(on) if one else []
        other = self._leg(self._after(on, level)) if one and level is not None else []
        if not one or not other or level is None:
            return None
        if self._top(one) > self._top(other):
            falling, rising = one, other
        else:
            falling, rising, level = other, one, _back(level)
        weir, low = self._top(rising), self._foot(rising)
        below = [step for step in falling if self._foot([step]) < weir - SAME_M]
        is_sealed = RISE_M[0] <= weir - low <= RISE_M[1] and self._top(below) > weir - SAME_M
        u = [*_back(below), *level, *rising]
        return u if is_sealed and self._goes_on(u[-1]) and self._is_bare(u) else None

    def _leg(self, start: FreeEnd | None) -> _Leg:
        """What rises steeply, one after the other."""
        found: _Leg = []
        while start is not None and start[0] in self.links and len(found) < FEW:
            step = _Step(*start, 1 - start[1])
            rise, run = self._rise_and_run(step)
            if rise < STEEP * run or rise <= 0:
                break
            found.append(step)
            start = self._next(step)
        return found

    def _level(self, start: FreeEnd) -> _Leg | None:
        """What lies level from one leg to where the next rises; None where it falls or is long."""
        found: _Leg = []
        at: FreeEnd | None = start
        past_m = 0.0
        while at is not None and at[0] in self.links and past_m <= ACROSS_M:
            step = _Step(*at, 1 - at[1])
            rise, run = self._rise_and_run(step)
            if rise >= STEEP * run and rise > 0:
                return found
            if abs(rise) > LEVEL * run:
                return None
            found.append(step)
            past_m += run
            at = self._next(step)
        return None

    def _after(self, start: FreeEnd, level: _Leg) -> FreeEnd | None:
        return self._next(level[-1]) if level else start

    def _rise_and_run(self, step: _Step) -> tuple[float, float]:
        a, b = (_place(self.elements, step.element, end) for end in step[1:])
        return b[2] - a[2], hypot(b[0] - a[0], b[1] - a[1])

    def _next(self, step: _Step) -> FreeEnd | None:
        """The one end to which that is joined by which a step leaves."""
        met = self.met.get((step.element, step.leaves), [])
        return met[0] if len(met) == 1 else None

    def _top(self, leg: _Leg) -> float:
        return _height(self.elements, leg[-1].element, leg[-1].leaves)

    def _foot(self, leg: _Leg) -> float:
        return _height(self.elements, leg[0].element, leg[0].enters)

    def _goes_on(self, last: _Step) -> bool:
        """Whether it leads on from its weir, and not to what it would drain."""
        on = self._next(last)
        return on is not None and self.elements[on[0]].role not in USERS

    def _is_bare(self, u: _Leg) -> bool:
        """Whether nothing traps what drains into a U, which is a fixture or two and their waste."""
        above = {u[0].element}
        ends = [(u[0].element, u[0].enters)]
        for end in ends:
            for index in (i for i, _ in self.met.get(end, []) if i not in above):
                element = self.elements[index]
                above.add(index)
                if element.role in HOLDS or len(above) > FEW:
                    return False
                if element.role in LINKS:
                    ends += ((index, e) for e in range(len(element.ends)))
        return True


def _back(leg: _Leg) -> _Leg:
    return [_Step(s.element, s.leaves, s.enters) for s in reversed(leg)]
