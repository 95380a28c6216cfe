"""Rules about showers: large enough to stand and turn in, and to be entered."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import copysign, inf

from ifclint.checks import PASS, Answer, Fact, check, drawn, given, missing, not_known, require
from ifclint.engineering.extents import middle, sides_m, thickness_m, thin_axis
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Step
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import WALLS
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import says_text
from ifclint.rules.roughin.clearances import inches
from ifclint.rules.roughin.standing import ASKEW, Facing, Stand, is_askew, standing_of

EDGE_M = 0.08  # a door so near a shower stands on its edge; no source
SHOWER = ("shower", "dusch*", "douche", "ducha")
INWARD = ("inswing", "in swing", "inward*", "swing in", "opens in")
OUTWARD = ("outswing", "out swing", "outward*", "swing out", "opens out")
NO_SWING = ("sliding", "bypass", "by pass", "folding", "bifold", "bi fold")
HEAD_M = 0.4  # what is drawn smaller is the head or the valve, and no compartment; no source
HOW_LARGE = Fact(
    "how large {} is, is not known.",
    "Draw the receptor or the compartment of each shower, in its true size.",
    asked_once=True,
)
ENTERED = Fact("where {} is entered is not known.", HOW_LARGE.remedy, asked_once=True)
BEFORE = Fact("what stands before {} is not known: a wall near it stands askew.", ASKEW.remedy)
SWINGS = Fact(
    "which way {} of {} swings",
    "Give the door its operation (IfcDoor.OperationType), or say outswing in its name.",
)


@dataclass(eq=False)
class Shower(OfElement):
    """A shower compartment, by the box of its receptor."""

    element: Element

    @property
    def sides_in(self) -> tuple[float, float]:
        """Its sides in plan, the shorter first."""
        x, y, _ = (side / M_PER_IN for side in sides_m(*given(self.element.box)))
        return min(x, y), max(x, y)


@derived
def showers(context: Context) -> list[Shower]:
    """Every shower, in the order of the model."""
    fixtures = context.plumbing.network.of_role[Role.FIXTURE]
    return [Shower(e) for e in fixtures if e.kind == "shower"]


def _is_drawn(element: Element) -> bool:
    if element.box is None:
        return False
    return at_least(thickness_m(*element.box), HEAD_M, "m")


@rule(title="Shower large enough", clauses={"upc": "408.6", "ipc": "421.4", "irc": "P2708.1"})
def shower_large_enough(shower: Shower, context: Context) -> Answer:
    """Whoever turns in a shower that is too small touches a hot valve, or falls.

    The area of the receptor and the circle that fits into it, by its box, which is its outside: one
    just large enough may be too small within. Where the code lets a long shower be narrower, so is
    it judged. What is drawn as small as a shower head is no compartment, and is a question.
    """
    if not _is_drawn(shower.element):
        return not_known(HOW_LARGE, shower)
    if is_askew(shower.element):
        return missing(ASKEW, message=f"{shower.label} is not measured.")
    return _shower_sides(shower, context)


def _shower_sides(shower: Shower, context: Context) -> Answer:
    """Width and area of a shower's receptor against the least."""
    code = context.code
    area, across = code.limit("shower_area_in2"), code.limit("shower_across_in")
    short, long = shower.sides_in
    narrow = code.limit_or_none("shower_narrow_in")
    long_area = code.limit_or_none("shower_narrow_area_in2")
    if narrow and long_area and at_least(short * long, long_area.value, "in2"):
        across = narrow
    answer = check(
        short,
        at_least=across,
        message=f"{shower.label} is {apart_text(short, across.value, 'in')} wide.",
        remedy=f"Set a receptor at least {number_text(across.value)} in wide each way.",
        limit_step="Circle that must fit",
    )
    if answer is not PASS:
        return answer
    steps = (Step("Receptor", short, "in"), Step("by", long, "in"))
    return check(
        short * long,
        at_least=area,
        message=f"{shower.label} is {number_text(short, 3)} by {number_text(long, 3)} in.",
        remedy=f"Set a receptor of at least {number_text(area.value)} in² within.",
        steps=steps,
        limit_step="Least area",
    )


@rule(title="Room before the shower", clauses={"upc": "", "ipc": "", "irc": "R307.1"})
def room_before_shower(shower: Shower, context: Context) -> Answer:
    """A wet foot needs a place to step on.

    The widest clear distance before any side of the shower that no wall closes, by boxes. Which
    side is the entry no box tells, so that one with room enough on any side passes.
    """
    least = context.code.limit("shower_entry_in")
    if not _is_drawn(shower.element) or is_askew(shower.element):
        return not_known(ENTERED, shower)
    drawn(WALLS, context, "what stands around {}", shower)
    stand, reach = standing_of(shower.element, context), least.value * M_PER_IN
    if stand.is_blurred(reach):
        return not_known(BEFORE, shower)
    widest = max(_clear_m(stand, axis, sign) for axis in (0, 1) for sign in (-1, 1))
    return check(
        widest / M_PER_IN,
        at_least=least,
        message=f"No side of {shower.label} has more than {inches(widest)} before it.",
        remedy="Leave the entry of the shower clear.",
        limit_step="Before the entry",
    )


def _clear_m(stand: Stand, axis: int, sign: int) -> float:
    nearest = stand.before(Facing(axis, sign))
    return nearest.metres if nearest else inf


@rule(
    title="Shower door wide enough, and opening outward",
    clauses={"upc": "408.5", "ipc": "421.4.2", "irc": "P2708.1"},
)
def shower_door(shower: Shower, context: Context) -> Iterator[Answer]:
    """Whoever falls in a shower lies against a door that opens inward, and nobody gets in.

    Doors that stand on the edge of a shower and in no wall, or are called shower doors: their
    width, frame and all, so that what is too narrow is so for certain; and, where the code asks it
    (IRC), that they swing outward or both ways, by their operation (IfcDoor) or their name. Showers
    without a door drawn are not asked: most are drawn with their fixture, or have a curtain.
    """
    for door in _doors(shower, context):
        x, y, _ = sides_m(door.low, door.high)
        wide = max(x, y) / M_PER_IN
        yield check(
            wide,
            at_least=context.code.limit("shower_opening_in"),
            message=f"{door.name or 'The door'} of {shower.label} is {number_text(wide, 3)} in "
            "wide, frame and all.",
            remedy="Give the shower a wider door.",
            limit_step="Opening of a shower, at least",
            about=f"width {door.guid}",
        )
        if context.code.limit("shower_door_outward").value:
            yield _swing(shower, door)


def _swing(shower: Shower, door: Surface) -> Answer:
    named_in = says_text(door.name, INWARD)
    if says_text(door.name, OUTWARD) or says_text(door.name, NO_SWING):
        return PASS
    if not door.swings and not named_in:
        return not_known(SWINGS, door.name or "the door", shower, about=f"swing {door.guid}")
    out = _outward(shower, door)
    swings_out = any(sum(a * b for a, b in zip(way, out, strict=True)) > 0 for way in door.swings)
    return require(
        swings_out and not named_in,
        message=f"{door.name or 'The door'} of {shower.label} opens into the shower alone.",
        remedy="Hang the door so that it opens outward.",
        about=f"swing {door.guid}",
    )


def _doors(shower: Shower, context: Context) -> list[Surface]:
    """The doors on the edge of a shower: called so, or in no wall."""
    box = shower.element.box
    if box is None or not _is_drawn(shower.element):
        return []
    around = context.plumbing.surroundings
    return [
        door
        for door in around.of_kind("door")
        if _touches(door, box[0], box[1])
        and (
            says_text(door.name, SHOWER)
            or (
                around.has_walls
                and not any(_touches(wall, door.low, door.high) for wall in around.of_kind("wall"))
            )
        )
    ]


def _touches(surface: Surface, low: Point, high: Point) -> bool:
    level = all(
        surface.low[k] - EDGE_M <= high[k] and low[k] <= surface.high[k] + EDGE_M for k in (0, 1)
    )
    return level and surface.low[2] < high[2] + HEAD_M and low[2] - HEAD_M < surface.high[2]


def _outward(shower: Shower, door: Surface) -> tuple[float, float]:
    """Across the leaf of a door, away from the middle of the shower."""
    k = thin_axis(door.low, door.high)
    sign = copysign(1, middle(door.low, door.high)[k] - middle(*given(shower.element.box))[k])
    return (sign, 0.0) if k == 0 else (0.0, sign)
