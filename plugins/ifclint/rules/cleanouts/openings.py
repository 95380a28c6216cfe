"""Rules about the opening of a cleanout: its size and its direction; what it stands in."""

from ifclint.checks import PASS, check, due, given
from ifclint.codes import Row
from ifclint.engineering.extents import grown
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, lies_below
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Change, Step
from ifclint.ifc.elements import Point, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Cleanout, Method
from ifclint.plumbing.surroundings.obstacles import Obstacle

RIGHT_ANGLE_DEG = 90.0
SKIN_M = 0.01  # boxes are drawn to the centimetre: what shares no more only touches
HAND_M = 0.15  # below grade, or apart, by no more than a hand counts as level with it
UP = 2  # the third axis


@rule(
    title="Cleanout as large as its pipe asks",
    clauses={"upc": "707.1 and Table 707.1", "ipc": "708.1.5", "irc": "P3005.2.5"},
    needs=("plug_size_in", "pipe_in"),
)
def cleanout_size(cleanout: Cleanout, context: Context) -> Answer:
    """Through a small opening no cutter goes that cleans the whole bore.

    The nominal size of the opening against what the code asks for the pipe it opens. A cleanout
    in a stack may be one size smaller in the IPC; where it opens vertical pipe that is granted. One
    at the foot of an island vent opens the vent.
    """
    size, pipe = given(cleanout.size_in), _island_in(cleanout, context) or given(cleanout.pipe_in)
    row = due(_row(pipe, context))
    wanted = row.limit("cleanout_in", "in")
    if _is_in_stack(cleanout, context) and at_least(size, _one_less(wanted.value, context), "in"):
        return PASS
    text = f"Make the cleanout {trade_size(wanted.value)}, up to its plug."
    return check(
        size,
        at_least=wanted,
        message=f"{cleanout.label} is {trade_size(size)} on a {trade_size(pipe)} pipe.",
        remedy=Change("size", cleanout.element_ids, wanted.value, text),
        limit_step=f"{trade_size(pipe)} pipe: cleanout",
    )


def _island_in(cleanout: Cleanout, context: Context) -> float | None:
    """The size of the island vent that a cleanout leads into."""
    piping, of_islands = cleanout.piping, _island_vents(context)
    opened = (i for i in cleanout.path if i in of_islands and piping.is_pipe(i))
    return max(filter(None, (piping.elements[i].size_in for i in opened)), default=None)


@derived
def _island_vents(context: Context) -> frozenset[int]:
    """The elements of all island vents."""
    groups = context.plumbing.venting.groups
    trees = (group.joint.tree for group in groups if group.method is Method.ISLAND)
    return frozenset(i for tree in trees for i in tree.members)


def _row(pipe_in: float, context: Context) -> Row | None:
    """The row of the largest listed pipe that is not larger; the last one covers all larger."""
    rows = [r for r in context.code.table("cleanout_size").rows if r.number("size_in") <= pipe_in]
    return max(rows, key=lambda r: r.number("size_in"), default=None)


def _is_in_stack(cleanout: Cleanout, context: Context) -> bool:
    """Whether the pipe that it opens is vertical, in a code that tells a stack apart."""
    pipe = cleanout.piping.next_pipe(cleanout.entry)
    is_vertical = pipe != NONE and cleanout.piping.is_vertical(pipe)
    return context.code.family == "ipc" and is_vertical


def _one_less(size: float, context: Context) -> float:
    listed = context.code.table("cleanout_size").numbers("cleanout_in")
    return max((s for s in listed if s < size), default=size)


@rule(
    title="Cleanout opens in the direction of flow",
    clauses={"upc": "707.5", "ipc": "708.1.8", "irc": "P3005.2.8"},
    applies=lambda cleanout: bool(cleanout.path) and not cleanout.two_way and not cleanout.on_vent,
    needs=("angle_to_flow_deg",),
)
def cleanout_direction(cleanout: Cleanout, context: Context) -> Answer:
    """A cable that enters against the flow cannot be led down the drain.

    The angle between the path of the cable from the cleanout and the flow where it enters the
    drain: with the flow, or at right angles. Two-way cleanouts are excused.
    """
    angle, entry = given(cleanout.angle_to_flow_deg), cleanout.piping.elements[cleanout.entry]
    return check(
        angle,
        at_most=RIGHT_ANGLE_DEG,
        unit="deg",
        message=f"{cleanout.label} opens against the flow at {entry.label}.",
        remedy="Turn the fitting so that the cleanout leads downstream, or use a two-way fitting.",
        steps=(Step("Angle between cable and flow on entering", angle, "deg"),),
        elements=(cleanout.element.guid, entry.guid),
    )


def facing(inward: Point) -> tuple[int, bool]:
    """The axis an opening faces along most, and whether toward larger coordinates: against the way
    in."""
    axis = max(range(3), key=lambda k: abs(inward[k]))
    return axis, inward[axis] < 0


def wall_around(point: Point, context: Context) -> Obstacle | None:
    """The wall an opening is shut in."""
    around = context.plumbing.venting.surroundings.within(*grown(point, point, SKIN_M))
    return next((o for o in around if o.kind == "wall"), None)


def floor_over(point: Point, context: Context) -> Surface | None:
    """The slab of the lowest floor that an opening lies in, or under and not in a crawl space."""
    surroundings = context.plumbing.venting.surroundings
    slab, floors = surroundings.slab_at(point), surroundings.floors
    if slab is None or floors.is_above_lowest(slab.low[UP] - HAND_M):
        return None
    hangs = lies_below(point[UP], slab.low[UP]) and floors.crawl_spaces.holds(point)
    return None if hangs else slab
