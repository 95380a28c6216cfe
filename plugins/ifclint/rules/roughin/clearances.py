"""Rules about room at fixtures: beside them, between them, and before them."""

from collections.abc import Callable, Iterable

from ifclint.checks import NOT_APPLICABLE, PASS, Answer, check, due, missing
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import fraction_text, sentence, tape_text
from ifclint.findings import Outcome, PartKind
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import WALLS
from ifclint.rules.roughin.facing import stands
from ifclint.rules.roughin.standing import ASKEW, BACKS, BOXES, Beside, Facing, Stand, never

SHORTEST_CLOSET_M = 0.60  # the bowl of a shorter box is not drawn in its true size; no source
TRUE_CLOSETS = PartKind(
    "water closets in their true size",
    drawn=never,
    remedy="Draw the closets with their bowls, as deep as they are.",
)
NEXT_M = 1.0  # farther apart nothing is asked
SAME_M = 0.2  # no nearer do two fixtures stand: a seat and its bowl are one


def limit_of(stand: Stand, column: str, context: Context) -> Limit | None:
    """What the code asks for such a fixture, None where it asks for nothing."""
    row = context.code.table("fixture_clearances").one(fixture=stand.kind)
    if row is None or row.number_or_none(column) is None:
        return None
    return row.limit(column, "in")


def inches(metres: float) -> str:
    return f"{fraction_text(metres / M_PER_IN, 3)} in"


@rule(
    title="Room beside a water closet, bidet, urinal or lavatory",
    clauses={"upc": "402.5", "ipc": "405.3.1", "irc": "P2705.1"},
)
def room_beside_fixture(stand: Stand, context: Context) -> Answer:
    """Elbows need room, and so does whoever cleans.

    From the centre line of the fixture, through its outlet, to the nearest wall, side of the room
    or other fixture on each side, all by their boxes. The back is the wall it stands at; one in a
    corner is judged for either wall, and is told wrong only where it is wrong for both. Urinals
    and lavatories where the code names them. What is turned against the axes of the model, and
    walls whose boxes do not tell where they are, are a question.
    """
    return _room_beside(stand, context)


def _room_beside(stand: Stand, context: Context) -> Answer:
    least = limit_of(stand, "side_in", context)
    if least is None:
        return NOT_APPLICABLE

    def judge(facing: Facing) -> Answer:
        nearest = min(stand.sides(facing), key=lambda b: b.metres, default=None)
        if nearest is None:
            return PASS
        return _against(stand, nearest, least, "from its centre to")

    return _for_each_facing(stand, context, judge, least.value * M_PER_IN)


@rule(
    title="Room before a water closet, bidet, urinal or lavatory",
    clauses={"upc": "402.5", "ipc": "405.3.1", "irc": "P2705.1"},
)
def room_before_fixture(stand: Stand, context: Context) -> Answer:
    """Knees need room, and so does the door of the room.

    From the front of the fixture's box to the nearest wall, end of the room or other fixture, as
    wide as the fixture. A closet drawn shorter than any real one passes only where a real one
    would. Which side is its back is not asked again of one that is asked for its room beside it.
    """
    least = due(limit_of(stand, "front_in", context))

    def judge(facing: Facing) -> Answer:
        nearest = stand.before(facing)
        if nearest is None:
            return PASS
        answer = _against(stand, nearest, least, "from its front to")
        short = SHORTEST_CLOSET_M - stand.depth_m(facing)
        if answer is not PASS or stand.kind != "water-closet" or short <= 0:
            return answer
        is_enough = at_least(nearest.metres - short, least.value * M_PER_IN, "m")
        return PASS if is_enough else _ask(stand, TRUE_CLOSETS)

    answer = _for_each_facing(stand, context, judge, least.value * M_PER_IN)
    is_asked = answer.part is BACKS and _room_beside(stand, context).part is BACKS
    return NOT_APPLICABLE if is_asked else answer


@rule(
    title="Fixtures far enough apart", clauses={"upc": "402.5", "ipc": "405.3.1", "irc": "P2705.1"}
)
def fixtures_apart(stand: Stand, context: Context) -> Iterable[Answer]:
    """Two people side by side need as much room as two walls would leave them.

    From centre line to centre line of fixtures that stand side by side at one wall, no wall
    between them, of the kinds that the code names.
    """
    row = context.code.table("fixture_clearances").one(fixture=stand.kind)
    if row is None or row.number_or_none("spacing_in") is None or not stand.facings:
        return
    least, kinds = row.limit("spacing_in", "in"), row.text("fixtures").split()
    for other, metres in _neighbours(stand, context):
        if other.kind in kinds:
            yield check(
                metres / M_PER_IN,
                at_least=least,
                message=f"{sentence(stand.label)} and {other.label} stand {inches(metres)} "
                "apart, centre to centre.",
                # a partition needs half as much on either side, and so would help no more
                remedy=f"Set the two fixtures {inches(least.value * M_PER_IN - metres)} farther "
                "apart.",
                limit_step="From centre to centre",
                elements=(stand.element.guid, other.element.guid),
                about=other.element.guid,
            )


def _neighbours(stand: Stand, context: Context) -> list[tuple[Stand, float]]:
    """Those that stand beside it at the same wall, each pair once, with the distance between."""
    found = []
    for other in _by_storey(context).get(stand.element.storey, ()):
        if other.element.guid <= stand.element.guid:
            continue
        shared = [f for f in stand.facings if f in other.facings]
        if len(stand.facings) == len(shared) == 1 and _in_line(stand, other, shared[0]):
            across = shared[0].across
            apart = abs(stand.centre_m(across) - other.centre_m(across))
            if apart > SAME_M and not _wall_between(stand, other, across):
                found.append((other, apart))
    return found


@derived
def _by_storey(context: Context) -> dict[str, list[Stand]]:
    found: dict[str, list[Stand]] = {}
    for stand in stands(context):
        if stand.element.box is not None and not stand.is_askew:
            found.setdefault(stand.element.storey, []).append(stand)
    return found


def _in_line(one: Stand, other: Stand, facing: Facing) -> bool:
    """Whether they share a part of their depth, their height, and stand next to each other."""
    (low, high), (least, most) = one.box, other.box
    axis, across = facing.axis, facing.across
    shares = min(high[axis], most[axis]) > max(low[axis], least[axis])
    level = abs(one.floor_m - other.floor_m) < NEXT_M
    return (
        shares
        and level
        and at_most(abs(one.centre_m(across) - other.centre_m(across)), NEXT_M, "m")
    )


def _wall_between(one: Stand, other: Stand, across: int) -> bool:
    left, right = sorted((one.centre_m(across), other.centre_m(across)))
    return any(
        o.kind == "wall" and o.low[across] >= left and o.high[across] <= right
        for o in {o.guid: o for o in (*one.near, *other.near)}.values()
    )


def _against(stand: Stand, nearest: Beside, least: Limit, where: str) -> Answer:
    return check(
        nearest.metres / M_PER_IN,
        at_least=least,
        message=f"{sentence(stand.label)} has {inches(nearest.metres)} {where} {nearest.label}.",
        remedy=f"Set the fixture {tape_text((least.value * M_PER_IN - nearest.metres) / M_PER_FT)} "
        f"farther from {nearest.label}, or correct the boxes that this was measured between.",
        limit_step="Least clearance",
        elements=(stand.element.guid, *([nearest.guid] if nearest.guid else [])),
    )


def _for_each_facing(
    stand: Stand, context: Context, judge: Callable[[Facing], Answer], reach_m: float
) -> Answer:
    """One answer for all the ways it may stand; a question where they differ or none is known."""
    if stand.element.box is None:
        return missing(BOXES, message=f"{stand.label} takes no room.")
    if stand.is_askew:
        return _ask(stand, ASKEW)
    answers = [judge(facing) for facing in stand.facings]
    if not answers:
        walls = context.plumbing.surroundings.has_walls
        return _ask(stand, BACKS) if walls else _without_walls(stand)
    if all(answer.outcome is Outcome.VIOLATION for answer in answers):
        return min(answers, key=lambda a: -a.measured.value if a.measured else 0.0)
    if any(answer is not PASS for answer in answers):
        other = next(a for a in answers if a is not PASS)
        return _ask(stand, BACKS) if other.outcome is Outcome.VIOLATION else other
    if not context.plumbing.surroundings.has_walls:
        return _without_walls(stand)
    return _ask(stand, ASKEW) if stand.is_blurred(reach_m) else PASS


def _without_walls(stand: Stand) -> Answer:
    return missing(WALLS, message=f"what stands around {stand.label} is not known.")


def _ask(stand: Stand, kind: PartKind) -> Answer:
    return missing(kind, message=f"{stand.label} is not measured.")
