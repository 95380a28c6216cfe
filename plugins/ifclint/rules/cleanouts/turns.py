"""Rules about the cleanouts that turns of a horizontal drain want."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import dist

from ifclint.checks import PASS, advise, check
from ifclint.engineering.data import TRADE_SIZES
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import feet
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Step
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Cleanout, DrainLine, TrapArm
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.piping import level_turns_deg
from ifclint.plumbing.drainage.through_air import tied_lines
from ifclint.rules.cleanouts.required_locations import AT_END_FT
from ifclint.rules.cleanouts.wording import add_cleanout, for_want_of_cleanouts, line_steps, on_line

# Traps that stand open below their fixture, and fixtures with a trap of their own.
OPEN_TRAPS = frozenset({"lavatory", "wash-fountain", "kitchen-sink", "bar-sink", "sink"}) | {
    "laundry-sink"
}
SET_ON_DRAIN = frozenset({"water-closet", "urinal"})
SELDOM_IN = (2.5, 3.5)  # sizes hardly any drain has; a trap one size smaller skips them
# The element of a turn, its degrees for want of a cleanout, and the size of what can be taken off
# to clean it where that is too small.
Turned = tuple[int, float, float | None]


@rule(
    title="Cleanout where a horizontal drain turns",
    clauses={"upc": "707.4", "ipc": "708.1.4", "irc": "P3005.2.4"},
    needs=("length_m",),
)
def cleanout_turns(line: DrainLine, context: Context) -> Iterator[Answer]:
    """A cable jams in bends, and so does what it should clear.

    UPC: the horizontal changes of direction since the last cleanout, or since it joined a drain
    that goes straight on, added up, no more than 135°.
    IPC and IRC: each change of more than 45° has a cleanout, which serves further ones within
    40 ft; the first may lie in what leads the cleanout to the drain. The trap of a basin or sink,
    or a closet or urinal, that can be taken off serves as one (from memory) where its own drain
    turns within 40 ft; an advisory where its opening is too small. Where a branch joins a larger
    drain its line ends, and that is no turn of it. What is to end in the open, and not in a drain,
    is asked for none. Each turn that wants a cleanout is said, as if
    those above it had theirs.
    """
    if tied_lines(context).issuperset(line.segments):
        return
    most = context.code.limit("cleanout_turn_deg")
    if not line.turns:
        yield PASS
    turned = {"upc": _added_up, "ipc": _each_by_itself}[context.code.family]
    for index, degrees, opening_in in turned(line, context, most.value):
        element = line.piping.elements[index]
        if opening_in is not None:
            yield for_want_of_cleanouts(_small_opening(line, index, opening_in))
            continue
        turn = check(
            degrees,
            at_most=most,
            message=f"{line.label} turns {degrees:.0f}° at {element.label}, without a cleanout.",
            remedy=add_cleanout(element.guid, f"Add a cleanout just above {element.label}."),
            steps=lambda: (*line_steps(line, context), *_turn_steps(line)),
            limit_step="Turn without a cleanout, at most",
            elements=(element.guid, *line.element_ids),
            about=element.guid,
        )
        yield for_want_of_cleanouts(turn)


def _small_opening(line: DrainLine, index: int, opening_in: float) -> Answer:
    element, size = line.piping.elements[index], line.size_into_in(index)
    return advise(
        lambda: (
            f"{line.label} turns at {element.label}; only a {trade_size(opening_in)} trap or "
            f"fixture can be taken off to clean its {trade_size(size)} pipe."
        ),
        add_cleanout(element.guid, f"Add a cleanout just above {element.label}."),
        steps=lambda: tuple(_turn_steps(line)),
        elements=(element.guid, *line.element_ids),
        about=element.guid,
    )


def _turn_steps(line: DrainLine) -> Iterator[Step]:
    for index, degrees, _ in line.turns:
        yield Step(f"turn at {line.piping.elements[index].label}", degrees, "deg")


def _added_up(line: DrainLine, context: Context, most: float) -> Iterator[Turned]:
    """UPC: the element of each turn, and the sum since the last cleanout, there or wanted."""
    opens = (*(at for at, _ in on_line(line, context)), *line.joined_m)
    for _, turns in groupby(line.turns, lambda t: sum(at_most(at, t[2], "m") for at in opens)):
        total = 0.0
        for index, degrees, _ in turns:
            total += degrees
            yield index, total, None
            total = total if at_most(total, most, "deg") else degrees


def _each_by_itself(line: DrainLine, context: Context, most: float) -> Iterator[Turned]:
    """IPC: the element of each turn that no cleanout serves, and its angle; 0 for those served.

    How far above a turn a cleanout still counts as at it: its cable goes with the flow.
    """
    shared = context.code.limit("cleanout_turn_shared_ft").value
    upstream = context.code.limit("cleanout_turn_upstream_ft").value
    cleanouts = on_line(line, context)
    removable = removable_on(line, context)
    turned_m = [at for at in (led_round_m(at, c, most) for at, c in cleanouts) if at is not None]
    for index, degrees, at_m in line.turns:
        is_shared = any(
            at_most(at, at_m, "m") and at_most(feet(at_m - at), shared, "ft") for at in turned_m
        )
        if is_shared or at_most(degrees, most, "deg"):
            yield index, 0.0, None
            continue
        is_served = any(
            at_most(feet(at_m - place), upstream, "ft")
            and at_most(feet(place - at_m), AT_END_FT, "ft")
            for place, _ in cleanouts
        )
        place_in_line = line.indexes.index(index)
        openings = [r for r in removable if r.comes_to(place_in_line, at_m, shared)]
        openings = [] if is_served else openings
        if not openings:
            turned_m.append(at_m)  # with a cleanout, there or wanted
            yield index, 0.0 if is_served else degrees, None
        elif any(r.is_enough_for(line.size_into_in(index)) for r in openings):
            yield index, 0.0, None
        else:
            yield index, degrees, max(r.opening_in for r in openings)


@dataclass(frozen=True)
class Removable:
    """A trap or fixture that can be taken off to clean the drain below it."""

    joins: int  # the place in the line's elements where its drain comes in
    at_m: float  # where it stands on the line: less than nothing above its upper end
    opening_in: float
    integral: bool

    def comes_to(self, turn: int, turn_m: float, within_ft: float) -> bool:
        """Whether its cable comes, with the flow, to a turn within so many feet."""
        return turn >= self.joins and at_most(feet(turn_m - self.at_m), within_ft, "ft")

    def is_enough_for(self, size_in: float | None) -> bool:
        """Whether its opening is as large as the pipe or, of a trap in two parts, one trade size
        smaller (IPC 708.1.5). Pipe without a size is asked about by the rules of sizes."""
        if size_in is None:
            return True
        smaller = (s for s in reversed(TRADE_SIZES) if s < size_in and s not in SELDOM_IN)
        least = size_in if self.integral else next(smaller, size_in)
        return at_least(self.opening_in, least, "in")


def removable_on(line: DrainLine, context: Context) -> list[Removable]:
    """What can be taken off of the fixtures that drain into a line first, within a storey."""
    of_fixture = _arms_of_fixtures(context)
    arms = dict.fromkeys(
        arm for fixture in line.fixtures for arm in of_fixture.get(id(fixture), ())
    )
    return [found for arm in arms if (found := _removable(arm, line)) is not None]


@derived
def _arms_of_fixtures(context: Context) -> dict[int, list[TrapArm]]:
    """The trap arms of each fixture, by its identity."""
    found = defaultdict[int, list[TrapArm]](list)
    for arm in context.plumbing.venting.arms:
        for fixture in arm.fixtures:
            found[id(fixture)].append(arm)
    return found


def _removable(arm: TrapArm, line: DrainLine) -> Removable | None:
    kinds = SET_ON_DRAIN if arm.integral else OPEN_TRAPS
    if arm.trap is None or arm.fixture.kind not in kinds or arm.size_in is None:
        return None
    piping = line.piping
    below = onward(piping.drainage.down[arm.start], piping.drainage.down)
    index = next((i for i in below if i in line.at_m), None)
    if index is None:
        return None
    above_m = piping.developed_m(arm.start, index)
    here, there = piping.middle(arm.start), piping.middle(index)
    if above_m is None or here is None or there is None:
        return None
    if not at_most(here[2] - there[2], STOREY_HEIGHT_M, "m"):
        return None
    return Removable(
        line.indexes.index(index), line.at_m[index] - above_m, arm.size_in, arm.integral
    )


def led_round_m(at_m: float, cleanout: Cleanout, most_deg: float) -> float | None:
    """Where what leads a cleanout level to its line first turns by more than so much, in metres
    from the upper end of the line; None where it comes straight."""
    piping = cleanout.piping
    if not cleanout.path:
        return None
    way = piping.path((*cleanout.path, cleanout.entry), cleanout.point)
    points = [p for p in way if p is not None]
    for n in range(1, len(points) - 1):
        turns = level_turns_deg([points[n - 1], points[n], points[n + 1]])
        if turns and not at_most(sum(turns), most_deg, "deg"):
            return at_m - sum(dist(a, b) for a, b in pairwise(points[n:]))
    return None
