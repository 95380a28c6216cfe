"""Rule about the room to work before a heater's controls."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, due, not_known, violation
from ifclint.engineering.extents import middle, shared_m
from ifclint.engineering.tolerance import at_least, lies_above
from ifclint.engineering.units import M_PER_IN
from ifclint.findings import Answer, Measure
from ifclint.ifc.elements import Box, Point, System
from ifclint.packs import Context, rule
from ifclint.plumbing import Heater
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.ends import floor_under
from ifclint.rules.heaters.standing import end_of

CLEAR_M = 0.02  # what stands no farther out than this touches the heater
NEAR_FACE = 0.5  # of half the heater's depth: gas that enters so near a side enters there
BACK_M = 0.3  # what hangs above the floor hangs on the wall that is no farther behind it
KNEE_M = 0.3  # what is lower than this over the heater's foot is knelt beside
Side = tuple[int, float]  # the axis it faces along, and where it lies on that
ROOM_TO_WORK = Fact(
    "whether there is room to work at {}",
    "Give the heater and what stands around it shapes, and add the walls to the review.",
    asked_once=True,
)
CONTROLS = Fact(
    "on which side the controls of {} are is not known; {} stands before one, and none is free.",
    "Check that {2} by {2} in are clear before the controls.",
    asked_once=True,
)


@rule(title="Working space before a heater", clauses={"ipc": "502.5", "irc": "M1305.1"})
def heater_working_space(heater: Heater, context: Context) -> Iterator[Answer]:
    """A heater nobody can kneel before is not relit, drained or replaced.

    A space of the code's size, level, before the side where its gas enters (its controls), free of
    walls and of other equipment; what is fastened to the heater, and what keeps vehicles off it, is
    in nobody's way. A heater without gas, and one whose gas enters from below, from above or at the
    side by which it hangs on a wall, may have its controls on any side: one that is free will do,
    and where none is, that is a question.
    """
    limit = due(context.code.limit_or_none("heater_working_space_in"))
    box, side = heater.element.box, _control_side(heater, context)
    if box is None or not context.plumbing.surroundings.has_walls:
        yield not_known(ROOM_TO_WORK, heater)
        return
    sides = _sides(box) if side is None else [side]
    spaces = (_space_before(box, one, limit.value * M_PER_IN) for one in sides)
    blocked = min((_in_the_way(heater, space, context) for space in spaces), key=len)
    if blocked and side is None:
        yield not_known(CONTROLS, heater, blocked[0].label, f"{limit.value:g}")
        return
    for blocking in blocked:
        yield violation(
            message=f"{blocking.label} stands in the working space before {heater.label}.",
            remedy=f"Keep {limit.value:g} by {limit.value:g} in clear before the heater's "
            "controls.",
            required=Measure(limit.value, "in", "at least"),
            steps=(limit.step("Clear, each way"),),
            elements=(*heater.element_ids, blocking.guid),
            about=blocking.guid,
            clause=limit.clause,
        )
    yield PASS


def _in_the_way(heater: Heater, space: tuple[Point, Point], context: Context) -> list[Obstacle]:
    """Walls and equipment in a space, but for what belongs to the heater."""
    own = {heater.key, heater.pan.key if heater.pan else ""}
    own |= {e.guid for e in context.plumbing.saying(parts.BARRIER_WORDS)}
    own |= {e.guid for e in context.plumbing.saying(parts.STRAP_WORDS)}
    near_it = context.plumbing.surroundings.within(*space)
    box = heater.element.box
    return [
        b
        for b in near_it
        if b.kind in ("wall", "equipment")
        and b.guid not in own
        and not (b.kind == "equipment" and box is not None and _meets(box, b))
    ]


def _meets(box: tuple[Point, Point], other: Obstacle) -> bool:
    """Whether something reaches into the heater's own box: it is fastened to it."""
    return min(shared_m(box, (other.low, other.high))) > CLEAR_M


def _control_side(heater: Heater, context: Context) -> Side | None:
    """The side near which gas enters. What enters from below or above, or at the side by which a
    heater hangs on a wall, its back, tells nothing."""
    box, gas = heater.element.box, end_of(heater.element, System.GAS)
    if box is None or gas is None:
        return None
    if not lies_above(gas[2] - box[0][2], CLEAR_M) or not lies_above(box[1][2] - gas[2], CLEAR_M):
        return None
    nearest = min(_sides(box), key=lambda side: abs(gas[side[0]] - side[1]))
    across = (box[1][nearest[0]] - box[0][nearest[0]]) / 2
    if at_least(abs(gas[nearest[0]] - nearest[1]), NEAR_FACE * across, "m"):
        return None
    return None if _hangs_by(box, nearest, context) else nearest


def _hangs_by(box: Box, side: Side, context: Context) -> bool:
    """Whether a heater hangs above the floor, with a wall close at one of its sides."""
    floor_m = floor_under(middle(*box), context)
    if floor_m is None or not lies_above(box[0][2] - floor_m, KNEE_M):
        return False
    behind = _space_before(box, side, BACK_M)
    return any(b.kind == "wall" for b in context.plumbing.surroundings.within(*behind))


def _sides(box: Box) -> list[Side]:
    low, high = box
    return [(k, face) for k in (0, 1) for face in (high[k], low[k])]


def _space_before(box: Box, side: Side, reach_m: float) -> Box:
    """The box of a space as wide as it is deep, before a side."""
    low, high = list(box[0]), list(box[1])
    along, face = side
    across, out = 1 - along, 1 if face == high[along] else -1
    middle = (low[across] + high[across]) / 2
    low[across], high[across] = middle - reach_m / 2, middle + reach_m / 2
    low[along], high[along] = sorted((face + out * CLEAR_M, face + out * reach_m))
    (x, y, z), (u, v, w) = low, high
    return (x, y, z + KNEE_M), (u, v, w)
