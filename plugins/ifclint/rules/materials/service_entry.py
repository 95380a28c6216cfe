"""How far the water service comes into the building in pipe that is listed for outside alone."""

from collections.abc import Iterator
from math import dist

from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.footprint import Footprint

PIPING = frozenset({Role.PIPE, Role.FITTING})


@derived
def service_piping(context: Context) -> frozenset[str]:
    """The GlobalIds of what leads the water to the building: in the ground, and as far inside the
    wall or floor that it enters by as the code lets plastic service pipe end. None where the code
    names no such length, or walls and floors do not show where the building begins."""
    limit = context.code.limit_or_none("plastic_service_inside_ft")
    around = context.plumbing.surroundings
    floor, footprint = around.floors.lowest, around.footprint
    if limit is None or floor is None or footprint is None:
        return frozenset()
    found: set[str] = set()
    for head in context.plumbing.supply.heads:
        for line in (_behind(head, context), reversed(_before(head, context))):
            inside_m = 0.0
            for element in line:
                inside_m += _inside_m(element, floor.level_m, footprint)
                if not at_most(inside_m / M_PER_FT, limit.value, limit.unit):
                    break
                found.add(element.guid)
    return frozenset(found)


def _behind(head: int, context: Context) -> Iterator[Element]:
    """What the water passes from where it comes from, up to the first branch."""
    supply, at = context.plumbing.supply, head
    yield supply.elements[at]
    while len(onward := _onward(at, context)) == 1:
        (at,) = onward
        yield supply.elements[at]


def _onward(at: int, context: Context) -> list[int]:
    """What an element leads to that serves something; where nothing does, all."""
    made = context.plumbing.supply.distribution
    down = made.down()[at]
    return [i for i in down if i in made.serving] or list(down)


def _before(head: int, context: Context) -> list[Element]:
    """The line to a tank or meter that the supply begins with, from a well: the nearest first."""
    network = context.plumbing.network
    found, seen, at = list[Element](), {head, *_onward(head, context)}, head
    while True:
        onward = [i for i in network.neighbours(at) if i not in seen]
        if len(onward) != 1 or network.elements[onward[0]].role not in PIPING:
            return found
        (at,) = onward
        seen.add(at)
        found.append(network.elements[at])


def _inside_m(element: Element, floor_m: float, footprint: Footprint) -> float:
    """How much of a straight piece lies over the lowest floor and within the walls."""
    points = element.places
    if len(points) != 2:
        return 0.0
    low, high = sorted(points, key=lambda p: p[2])
    if high[2] <= floor_m:
        return 0.0
    if low[2] < floor_m:
        share = (floor_m - low[2]) / (high[2] - low[2])
        x, y, z = (a + share * (b - a) for a, b in zip(low, high, strict=True))
        low = (x, y, z)
    held = [p for p in (low, high) if footprint.holds(p)]
    if len(held) != 1:
        return dist(low, high) * bool(held)
    other = high if held[0] is low else low
    return footprint.share_inside(held[0], other) * dist(low, high)
