"""What serves the turns of a drain beside a cleanout at each: one led round a turn of its own, and
traps and fixtures that can be taken off."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from math import dist

from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.trade_sizes import TRADE_SIZES
from ifclint.engineering.units import feet
from ifclint.packs import Context, derived
from ifclint.plumbing import Cleanout, DrainLine, TrapArm
from ifclint.plumbing.drainage.orientation import STOREY_HEIGHT_M
from ifclint.plumbing.drainage.piping import level_turns_deg

# Traps that stand open below their fixture, and fixtures with a trap of their own.
OPEN_TRAPS = frozenset({"lavatory", "wash-fountain", "kitchen-sink", "bar-sink", "sink"}) | {
    "laundry-sink"
}
SET_ON_DRAIN = frozenset({"water-closet", "urinal"})
SELDOM_IN = (2.5, 3.5)  # sizes hardly any drain has; a trap one size smaller skips them


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
