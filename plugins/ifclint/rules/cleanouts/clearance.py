"""Rule about the room before a cleanout."""

from collections.abc import Iterator

from ifclint.checks import PASS, check, drawn, given
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import holds
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, PartKind, Step
from ifclint.ifc.elements import CASEWORK, Point
from ifclint.packs import Context, rule
from ifclint.plumbing import Cleanout
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.rules.cleanouts.openings import SKIN_M, UP, facing, floor_over, wall_around

IN_A_FLOOR_M = 0.05  # by so much one in a floor may rise into what stands on it. Ours, no source
RIM_M = 1 * M_PER_IN  # by so much a cleanout is wider than its bore, all around. Ours, no source
ROOM = PartKind(
    "walls or equipment",
    drawn=lambda c: (
        c.plumbing.venting.surroundings.has_walls or c.plumbing.venting.surroundings.has_equipment
    ),
    remedy="Add the walls (IfcWall) and equipment to the model, or the architect's file to the "
    "review.",
)


@rule(
    title="Room in front of the cleanout",
    clauses={"upc": "707.9", "ipc": "708.1.9", "irc": "P3005.2.9"},
    needs=("inward", "pipe_in"),
)
def cleanout_clearance(cleanout: Cleanout, context: Context) -> Iterator[Answer]:
    """Someone must kneel before it with a machine.

    As far in front of the opening as the code asks for the size of the pipe, as wide as the opening
    and its rim, nothing of the walls, slabs and equipment of all files given (by their boxes). The
    wall or floor the opening stands in is not in its way, nor what stands beside the opening; in
    front of one that opens upward is above it, where fixed casework stands in the way too. Each
    thing in the way is said.
    """
    drawn(ROOM, context, "the room before {}", cleanout)
    asked, before = _asked_clearance(cleanout, context), _before_it(cleanout)
    for gap, obstacle in _before(cleanout, asked.value * M_PER_IN, context):
        yield check(
            gap,
            at_least=asked,
            message=f"{obstacle.label} stands {number_text(gap, 3)} in {before} {cleanout.label}.",
            remedy=f"Move {obstacle.label}, or bring the cleanout out to where "
            f"{number_text(asked.value)} in {before} it are clear.",
            steps=(
                Step(
                    f"Clear {before} a cleanout of {trade_size(cleanout.pipe_in)} pipe",
                    asked.value, "in", asked.clause,
                ),
                Step(f"in the way: {obstacle.label}"),
            ),
            elements=(cleanout.element.guid, obstacle.guid),
            about=obstacle.guid,
        )  # fmt: skip
    yield PASS


def _before_it(cleanout: Cleanout) -> str:
    """Where its front is: before one in a wall, above one in a floor."""
    return "above" if facing(given(cleanout.inward)) == (UP, True) else "before"


def _asked_clearance(cleanout: Cleanout, context: Context) -> Limit:
    """How far, more for large pipe in the codes that tell them apart."""
    large = context.code.limit_or_none("cleanout_clearance_large_in")
    small_pipe = context.code.limit("cleanout_clearance_small_pipe_in")
    if large is not None and not at_most(given(cleanout.pipe_in), small_pipe.value, "in"):
        return large
    return context.code.limit("cleanout_clearance_small_in")


def _before(
    cleanout: Cleanout, side_m: float, context: Context
) -> Iterator[tuple[float, Obstacle]]:
    """What stands before an opening and how far off, in inches; the nearest first."""
    point = given(cleanout.point)
    axis, _ = facing(given(cleanout.inward))
    own = {s.guid for s in (wall_around(point, context), floor_over(point, context)) if s}
    found = [
        (_gap_m(o, point, axis) / M_PER_IN, o)
        for o in context.plumbing.venting.surroundings.within(*_space(cleanout, side_m))
        if o.guid not in own and not (o.kind == "slab" and _is_passed(o, point, axis))
    ]
    if facing(given(cleanout.inward)) == (UP, True):
        found += [
            (
                max(s.low[UP] - point[UP], 0.0) / M_PER_IN,
                Obstacle(s.guid, s.name, s.kind, s.low, s.high),
            )
            for s in context.plumbing.venting.surroundings.above_or_below(CASEWORK, point)
            if -IN_A_FLOOR_M < s.low[UP] - point[UP] < side_m - SKIN_M
        ]
    yield from sorted(found, key=lambda f: (f[0], f[1].guid))


def _is_passed(slab: Obstacle, point: Point, axis: int) -> bool:
    """Whether a slab is not in the way: that of the cleanout itself, and beside one that opens
    level what lies above or below its middle."""
    lies_apart = not slab.low[UP] <= point[UP] <= slab.high[UP]
    return _is_in(point, slab) or (axis != UP and lies_apart)


def _is_in(point: Point, obstacle: Obstacle) -> bool:
    return holds(obstacle.low, obstacle.high, point, SKIN_M)


def _space(cleanout: Cleanout, side_m: float) -> tuple[Point, Point]:
    """What is before an opening, as far as it is to be clear."""
    point = given(cleanout.point)
    axis, faces_high = facing(given(cleanout.inward))
    bore_m = max(given(cleanout.pipe_in), or_zero(cleanout.size_in)) * M_PER_IN
    half_m = bore_m / 2 + RIM_M
    low = [c - half_m + SKIN_M for c in point]
    high = [c + half_m - SKIN_M for c in point]
    if axis != UP:  # beside an opening near the floor, the floor is not in the way
        low[UP] = max(low[UP], point[UP] - SKIN_M)
    if faces_high:
        low[axis], high[axis] = point[axis] + SKIN_M, point[axis] + side_m
    else:
        low[axis], high[axis] = point[axis] - side_m, point[axis] - SKIN_M
    (x, y, z), (u, v, w) = low, high
    return (x, y, z), (u, v, w)


def _gap_m(obstacle: Obstacle, point: Point, axis: int) -> float:
    return max(obstacle.low[axis] - point[axis], point[axis] - obstacle.high[axis], 0.0)
