"""Rules about fittings: the right pattern for each change of direction."""

from dataclasses import replace
from enum import Enum, auto
from itertools import pairwise

from ifclint.checks import PASS, Fact, advise, not_known, require, violation
from ifclint.codes import Row
from ifclint.engineering.arithmetic import Measure
from ifclint.engineering.data import TRADE_SIZES
from ifclint.engineering.extents import level_m
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import trade_size, with_article
from ifclint.findings import Answer, PartKind, Step
from ifclint.ifc.elements import Confidence
from ifclint.packs import Context, rule
from ifclint.plumbing import ChangeOfDirection, Fixture, Inflow
from ifclint.plumbing.drainage.loads import CLOSET, loads
from ifclint.plumbing.drainage.segments import DrainSegment
from ifclint.plumbing.facts import fact

TURNS_DEG = {"quarter-bend": 90, "long-sweep": 90, "short-sweep": 90, "sixth-bend": 60,
             "eighth-bend": 45, "sixteenth-bend": 22.5}  # fmt: skip
AGAINST_FROM_DEG = 105.0  # what turns more comes in against the flow: a right angle, and drawing
ANGLE_ERROR_DEG = 15  # a bend that turns so much more than its name says was named wrongly
QUARTER_FROM_DEG = 75  # a bend of no stated angle: half way between a sixth and a quarter bend
SIXTH_FROM_DEG = 50  # and near an eighth bend with all that sloping pipe adds to its 45 degrees
BEND_OF_UNKNOWN_SWEEP = frozenset({"bend", "elbow"})
PATTERNS = {  # that look alike to an angle
    "tee": ["sanitary-tee", "combination", "tee"],
    "cross": ["double-sanitary-tee", "double-fixture-fitting", "double-combination", "cross"],
    "quarter-bend": ["quarter-bend", "long-sweep"],
    "wye": ["wye", "combination"],
    "double-wye": ["double-wye", "double-combination"],
}
HEEL_INLET = "heel-inlet-bend"
BRANCHES = frozenset({"tee", "cross"})  # which no pattern of a drain is called
OPENS_TO_VENT = {  # what may stand in their place, at the height of a trap arm
    "tee": "sanitary tee",
    "cross": "double fixture fitting",
    "double-sanitary-tee": "double fixture fitting",
}
DOWN, LEVEL = "horizontal-to-vertical", "horizontal-to-horizontal"
TWO_ENDS = 2  # those of a bend; what goes on to a cleanout brings no water
PUMPING = ("clothes-washer", "dishwasher")  # what drains them is a pump


FITTING = PartKind(
    "drainage fittings",
    drawn=lambda context: True,
    remedy="Model the fitting where pipes turn or join, and name it in trade words.",
    lack="draws, at some turns or branches, no",
)
PATTERN = PartKind(
    "pattern of some drainage fittings",
    drawn=lambda context: True,
    remedy="Name the fitting or its type in trade words (sanitary tee, wye, combination, long "
    "sweep, quarter bend); a tee, an elbow or a branch may be any of them.",
    lack="does not tell the",
)
BY_SIZE = Fact(
    "whether {} may turn the flow from {} depends on the nominal size of its pipes, which is not "
    "known.",
    fact("size_in").remedy,
)
AS_NAMED = Fact(
    "{} is named {}, but its ends turn the flow by {} degrees.",
    "Name the fitting as it is, or draw it as it is named.",
)
FITTING_DRAWN = Fact("at {} pipes meet at an angle and no fitting is modelled.", FITTING.remedy)
PATTERN_STATED = Fact(
    "the pattern of {}, which turns the flow from {}, is not stated.", PATTERN.remedy
)


class Ruling(Enum):
    """What a code says of a pattern of fitting where it stands."""

    ALLOWED = auto()
    BARRED = auto()
    ON_APPROVAL = auto()
    BY_SIZE = auto()  # and the size is not known


@rule(
    title="Drainage fitting right for the change of direction",
    clauses={"upc": "706", "ipc": "706.3 and Table 706.3", "irc": "P3005.1 and Table P3005.1"},
    applies=lambda turn: any(inflow.change for inflow in turn.inflows),
)
def fitting_for_direction(turn: ChangeOfDirection, context: Context) -> Answer | list[Answer]:
    """Water must be led round a corner, or it piles up and solids drop.

    The change of direction each inflow makes (horizontal to vertical and so on, from the ends of
    the fitting) against what the code allows that pattern of fitting: a sanitary tee only from
    horizontal into vertical, a double one only with room, a sharp quarter bend only there or on
    a small fixture drain, one with a heel inlet only where no closet drains through it. Words that
    tell a shape ("tee", "90 elbow") and angles tell no pattern: such fittings are one unverified
    answer for the model, where their pattern matters; so are turns and branches at which none is
    drawn, since pipe that is laid has one there. A level branch of any pattern that comes in
    against the flow is wrong.
    """
    if not turn.drawn:
        return replace(not_known(FITTING_DRAWN, turn.label), part=FITTING)
    said: dict[str, Answer] = {}  # what holds for several inflows is said of the first
    for inflow in turn.inflows:
        if inflow.change:
            answer = _judge(turn, inflow, context)
            if answer is not PASS:
                entering = inflow.change if inflow.segment is None else inflow.segment.key
                answer = replace(answer, about=entering)
            said.setdefault(answer.message if answer.part is None else answer.part.name, answer)
    return list(said.values())


def _judge(turn: ChangeOfDirection, inflow: Inflow, context: Context) -> Answer:
    turns = TURNS_DEG.get(turn.element.kind)
    if turns is not None and inflow.angle_deg > turns + ANGLE_ERROR_DEG:
        return _not_as_named(turn, inflow)
    against = not at_most(inflow.angle_deg, AGAINST_FROM_DEG, "deg")
    if against and inflow.change == LEVEL and len(turn.element.ends) > 2:
        return _against_the_flow(turn, inflow)
    table = context.code.table("fittings_for_direction")
    listed = [table.one(fitting=k, change=inflow.change) for k in _patterns(turn, inflow, context)]
    said = [(_ruling(row, turn, inflow, context), row) for row in listed if row is not None]
    rulings = {ruling for ruling, _ in said}
    if rulings == {Ruling.ALLOWED}:
        return PASS
    if not rulings or Ruling.ALLOWED in rulings:
        return _pattern_not_stated(turn, inflow)  # which of the patterns it is decides
    if Ruling.BY_SIZE in rulings:
        return _size_not_known(turn, inflow)
    ruling, row = said[0]
    return (_barred if ruling is Ruling.BARRED else _on_approval)(turn, inflow, row)


def _patterns(turn: ChangeOfDirection, inflow: Inflow, context: Context) -> list[str]:
    """The patterns a fitting may be: one where the model tells, by its angle where it is a bend.

    A closet bend is one under its closet; anywhere else it is a quarter bend. A kind that was
    told by an angle or a general word alone may be any pattern of that shape.
    """
    kind = turn.element.kind
    told = turn.element.basis.get("kind")
    by_shape = told is not None and told.confidence is Confidence.SHAPE
    if kind in BRANCHES or by_shape:
        return PATTERNS.get(kind, [kind])
    if kind == "closet-bend" and not _under_a_closet(inflow, context):
        return ["quarter-bend"]
    if kind not in BEND_OF_UNKNOWN_SWEEP and not (kind == "" and len(turn.inflows) == 1):
        return [kind]
    if inflow.angle_deg > QUARTER_FROM_DEG:
        return PATTERNS["quarter-bend"]
    return ["sixth-bend"] if inflow.angle_deg > SIXTH_FROM_DEG else ["eighth-bend"]


def _counts(segment: DrainSegment, context: Context) -> tuple[float, float]:
    """How many fixtures, and closets, drain through a segment; an indirect waste line, which is no
    drain of the building, is that of one fixture."""
    made = loads(context)
    return made.fixtures.get(segment, 1.0), made.closets.get(segment, 0.0)


def _under_a_closet(inflow: Inflow, context: Context) -> bool:
    return inflow.segment is None or _counts(inflow.segment, context) == (1, 1)


def _ruling(row: Row, turn: ChangeOfDirection, inflow: Inflow, context: Context) -> Ruling:
    """What a row says; its conditions are sizes, the room in a double tee, or approval."""
    largest, least = row.number_or_none("fixture_drain_up_to_in"), row.number_or_none("minimum_in")
    if row.text("allowed") != "conditional":
        allowed: bool | None = row.text("allowed") == "yes"
    elif largest is not None or least is not None:
        allowed = _size_allowed(inflow, largest, least, context)
    elif row.text("fitting") == "double-sanitary-tee":
        allowed = _double_tee_allowed(turn, context)
    elif row.text("fitting") == HEEL_INLET and context.code.family == "ipc":
        allowed = not any(_takes_closets(inflow, context) for inflow in turn.inflows)
    else:
        return Ruling.ON_APPROVAL
    if allowed is None:
        return Ruling.BY_SIZE
    return Ruling.ALLOWED if allowed else Ruling.BARRED


def _takes_closets(inflow: Inflow, context: Context) -> bool:
    segment = inflow.segment
    return segment is not None and _counts(segment, context)[1] > 0


def _size_allowed(
    inflow: Inflow, largest: float | None, least: float | None, context: Context
) -> bool | None:
    """Whether it is a fixture drain so small, or a pipe so large, that the pattern will do."""
    if inflow.size_in is None:
        return None
    alone = inflow.segment is not None and _counts(inflow.segment, context)[0] == 1
    small = largest is not None and alone and at_most(inflow.size_in, largest, "in")
    return small or (least is not None and at_least(inflow.size_in, least, "in"))


def _double_tee_allowed(turn: ChangeOfDirection, context: Context) -> bool | None:
    """UPC: a barrel two pipe sizes larger than the inlets. IPC: nothing that pumps, and no closets
    back to back but from afar."""
    sides = [inflow for inflow in turn.inflows if inflow.change]
    if context.code.family == "ipc":
        near = [i for i in sides if i.segment is not None and _is_near_closet(turn, i, context)]
        return len(near) < 2 and not any(_is_pumped(i, context) for i in sides)
    inlet = max((i.size_in for i in sides if i.size_in is not None), default=None)
    if turn.size_in not in TRADE_SIZES or inlet not in TRADE_SIZES:
        return None
    larger = context.code.limit("double_sanitary_tee_sizes_larger").value
    return at_least(TRADE_SIZES.index(turn.size_in) - TRADE_SIZES.index(inlet), larger)


def _is_pumped(inflow: Inflow, context: Context) -> bool:
    """Whether a fixture whose waste is pumped comes in here."""
    counted = loads(context).count_by_kind
    segment = inflow.segment
    return segment is not None and any(counted[k].get(segment) for k in PUMPING if k in counted)


def _is_near_closet(turn: ChangeOfDirection, inflow: Inflow, context: Context) -> bool:
    """Whether closets come in here, one of them by less level pipe than the code asks."""
    assert inflow.segment is not None
    if not _counts(inflow.segment, context)[1]:
        return False
    least, through = context.code.limit("double_tee_closet_reach_in"), set(inflow.segment.indexes)
    ways = [
        way
        for fixture in context.plumbing.fixtures
        if fixture.kind == CLOSET and through.intersection(way := _way(fixture, turn, context))
    ]
    return not all(at_least(_level_in(way, context), least.value, "in") for way in ways)


def _way(fixture: Fixture, turn: ChangeOfDirection, context: Context) -> tuple[int, ...]:
    """What a fixture's water passes up to a fitting, the fixture first; empty where it does not
    come there."""
    elements, down = context.plumbing.network.elements, context.plumbing.drainage.down
    way = list[int]()
    for index in onward(fixture.index, down):
        way.append(index)
        if elements[index].guid == turn.element.guid:
            return tuple(way)
    return ()


def _level_in(way: tuple[int, ...], context: Context) -> float:
    """The level length of a drain from a fixture to the inlet of a fitting, in inches; 0 where
    unknown."""
    piping = context.plumbing.venting.piping
    points = piping.path(way[1:], piping.exit(way[0]))[:-1]
    known = [p for p in points if p is not None]
    level = sum(level_m(a, b) for a, b in pairwise(known))
    return level / M_PER_IN if len(known) == len(points) else 0.0


def _words(name: str) -> str:
    return name.replace("-to-", " to ").replace("-", " ")


def _where(turn: ChangeOfDirection, inflow: Inflow, row: Row) -> str:
    pattern, change = _words(row.text("fitting")), _words(inflow.change)
    return f"{turn.element.label}, {with_article(pattern)}, turns the flow from {change}"


def _better(turn: ChangeOfDirection, row: Row) -> str:
    """A pattern that may stand here; where trap arms come level to a drain that falls, one that
    opens to the vent at their height."""
    if row.text("change") == DOWN and row.text("fitting") in OPENS_TO_VENT:
        condition = row.text("condition")
        larger = f", or a {condition}" if condition.startswith("barrel") else ""
        return f"Use a {OPENS_TO_VENT[row.text('fitting')]}{larger}."
    if len(turn.inflows) > 1 or len(turn.element.ends) > TWO_ENDS:
        return "Use a wye with an eighth bend, or a combination wye and eighth bend."
    return "Use a long sweep, or two eighth bends."


def _against_the_flow(turn: ChangeOfDirection, inflow: Inflow) -> Answer:
    """What every code refuses, whatever the pattern: a branch that points up its drain."""
    enters = f" from {inflow.segment.label}" if inflow.segment is not None else ""
    return violation(
        message=f"Water{enters} enters {turn.label} against the flow.",
        remedy="Turn the fitting, so that its branch leads downstream.",
        steps=(Step("Turn of the flow", inflow.angle_deg, "deg"),),
        measured=Measure(inflow.angle_deg, "deg"),
        required=Measure(AGAINST_FROM_DEG, "deg", "at most"),
    )


def _barred(turn: ChangeOfDirection, inflow: Inflow, row: Row) -> Answer:
    condition = row.text("condition")
    said = f"allowed only so: {condition}" if condition else "not allowed"
    return require(
        False,
        message=f"{_where(turn, inflow, row)}, where it is {said}.",
        remedy=_better(turn, row),
        steps=(
            Step(f"{trade_size(inflow.size_in)}, {_words(inflow.change)}", inflow.angle_deg, "deg"),
            Step(f"{_words(row.text('fitting'))}: {row.text('allowed')}", source=row.clause),
        ),
        clause=row.clause,
    )


def _on_approval(turn: ChangeOfDirection, inflow: Inflow, row: Row) -> Answer:
    return advise(
        f"{_where(turn, inflow, row)}; the code allows it where {row.text('condition')}.",
        f"{_better(turn, row)} Or have the pattern approved.",
        steps=(Step(_words(row.text("fitting")), source=row.clause),),
        clause=row.clause,
    )


def _pattern_not_stated(turn: ChangeOfDirection, inflow: Inflow) -> Answer:
    asked = not_known(PATTERN_STATED, turn.element.label, _words(inflow.change))
    return replace(asked, part=PATTERN)


def _size_not_known(turn: ChangeOfDirection, inflow: Inflow) -> Answer:
    return not_known(BY_SIZE, turn.element.label, _words(inflow.change))


def _not_as_named(turn: ChangeOfDirection, inflow: Inflow) -> Answer:
    kind, angle = _words(turn.element.kind), f"{inflow.angle_deg:.0f}"
    return not_known(AS_NAMED, turn.element.label, with_article(kind), angle)
