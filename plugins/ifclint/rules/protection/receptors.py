"""Rules about indirect waste: long pipes that smell, and receptors where nobody sees them."""

from collections.abc import Iterable
from itertools import pairwise
from math import dist, hypot

from ifclint.checks import Fact, advise, against, check, drawn, due, known, missing, violation
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import PASS, Answer, Change, Outcome, PartKind, Severity
from ifclint.ifc.elements import Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import TRAPS
from ifclint.plumbing import Fixture
from ifclint.plumbing.crawl_spaces import CRAWL
from ifclint.plumbing.drainage.receptors import RECEIVING, receptor_under
from ifclint.plumbing.drainage.through_air import appliance_of
from ifclint.plumbing.surroundings.rooms import use_of
from ifclint.plumbing.words import says_text

PUMPED = frozenset(
    {"domestic-dishwasher", "pool-filter", "water-treatment"}
)  # send their waste under pressure
CLEAR = frozenset({"ice-machine"})
FLOOR_SINK = "floor-sink"
ABOVE_RIM_M = 0.3  # so far above its rim one is in the receptor's room. Ours, no source
ELSEWHERE = "Set the receptor in a room in general use, where it is seen and reached."
HIDDEN = frozenset({"attic", "plenum", "crawl-space"})
_NAMED = {
    "attic": ("attic", "loft", "dachboden", "combles", "zolder", "desvan", "desván", "entretecho"),
    "plenum": ("plenum", "ceiling void", "ceiling space", "interstitial*"),
}
ROOMS = PartKind(
    "rooms",
    drawn=lambda context: bool(context.plumbing.network.model.spaces),
    remedy="Draw the rooms (IfcSpace) with their receptors, or review together with the file that "
    "has them.",
)
ROOM = Fact(
    "the room in which {} stands is not known.",
    "Contain it in its space (IfcSpace), named by its use.",
)
LENGTH = Fact(
    "how long the indirect waste pipe of {} is, which has no trap",
    "Give fixture and pipe placed ports, or shapes.",
)


def _is_piped(fixture: Fixture) -> bool:
    return fixture.is_indirect and fixture.is_drawn and not fixture.gives_condensate


@rule(
    title="Long indirect waste pipe trapped, and vented",
    clauses={"upc": "803.3", "ipc": "802.2", "irc": ""},
    applies=_is_piped,
)
def indirect_trapped(fixture: Fixture, context: Context) -> Answer:
    """A foul pipe open at its end smells into the room, and the more the longer it is.

    From the fixture's outlet to the end over the receptor: past the length that the code allows, in
    all or level, a trap, and past another, its vent. What is pumped is excused, as are condensate
    and relief lines; clear water is an advisory.
    """
    appliance = appliance_of(fixture, context)
    if fixture.kind == "clothes-washer" or appliance in PUMPED:
        due(None)
    if not _has_trap(fixture, context):
        return _untrapped(fixture, appliance in CLEAR, context)
    most = due(context.code.limit_or_none("indirect_unvented_ft"))
    if _has_vent(fixture, context):
        return PASS
    length_ft = _developed_m(known(_points(fixture, context), LENGTH, fixture)) / M_PER_FT
    return check(
        length_ft,
        at_most=most,
        message=f"The indirect waste pipe of {fixture.label} is {number_text(length_ft)} ft long, "
        "its trap without a vent.",
        remedy="Shorten the pipe, or vent its trap to the open air, apart from the vents of the "
        "drainage.",
        limit_step="Without a vent, at most",
        severity=Severity.LOW,
    )


def _path(fixture: Fixture, context: Context) -> list[int]:
    """The elements from the fixture to the end over the receptor, both with it."""
    return context.plumbing.drainage.path(fixture.index)[::-1]


def _has_trap(fixture: Fixture, context: Context) -> bool:
    elements = context.plumbing.network.elements
    on_path = (elements[i].role is Role.TRAP for i in _path(fixture, context))
    return fixture.trap is not None or any(on_path)


def _has_vent(fixture: Fixture, context: Context) -> bool:
    """Whether the pipe has a vent."""
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    number = drainage.outlet[fixture.index]
    own = (elements[i] for i in drainage.members if drainage.outlet[i] == number)
    return any(e.system is System.VENT or e.role is Role.VENT_TERMINAL for e in own)


def _points(fixture: Fixture, context: Context) -> list[Point] | None:
    """The points of the pipe's path; None where one is not known."""
    piping, (first, *path) = context.plumbing.venting.piping, _path(fixture, context)
    end = fixture.outlet.position if fixture.outlet is not None else None
    points = [*piping.path(tuple(path), piping.exit(first)), end]
    found = [p for p in points if p is not None]
    return found if len(found) == len(points) else None


def _developed_m(points: Iterable[Point]) -> float:
    return sum(dist(a, b) for a, b in pairwise(points))


def _untrapped(fixture: Fixture, is_clear: bool, context: Context) -> Answer:
    """The limits of the code that a pipe without a trap exceeds, the first of them."""
    along = known(_points(fixture, context), LENGTH, fixture)
    level_m = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(along))
    for key, length, words in (
        ("indirect_untrapped_level_in", level_m / M_PER_IN, "level"),
        ("indirect_untrapped_ft", _developed_m(along) / M_PER_FT, "in all"),
    ):
        most = context.code.limit_or_none(key)
        if most is not None and not at_most(length, most.value, most.unit):
            return missing(
                TRAPS,
                message=f"The indirect waste pipe of {fixture.label} runs {number_text(length)} "
                f"{most.unit} {words} without a trap.",
                remedy=Change(
                    "part", fixture.element_ids, "trap", "Fit a trap at the outlet of the fixture."
                ),
                wrong=Outcome.ADVISORY if is_clear else Outcome.VIOLATION,
                **against(length, most, "at most", "Without a trap, at most"),
            )
    return PASS


@rule(
    title="Receptor of indirect waste where it is seen",
    clauses={"upc": "804.1", "ipc": "802.3", "irc": "P2706.1"},
    applies=lambda fixture: fixture.kind in RECEIVING and fixture.is_drawn,
)
def receptor_place(fixture: Fixture, context: Context) -> Answer:
    """A receptor that runs over, or dries out, where nobody comes, is found by the damage.

    The room above the rim, by its name, against those that the code refuses: of floor sinks, and of
    whatever else indirect waste is drawn to end over (of a floor drain, more than the line of a
    relief valve, a pan or condensate). Of a room that others use as well, a floor
    sink over which nothing is drawn to end is an advisory.
    """
    takes_waste = fixture.element.guid in _receiving(context)
    if not takes_waste and fixture.kind != FLOOR_SINK:
        due(None)
    name = _room(fixture, context)
    if not name:
        drawn(ROOMS, context, "the room in which {} stands", fixture)
    use = _use(known(name or None, ROOM, fixture))
    row = context.code.table("receptor_rooms").one(room=use)
    if row is None:
        return PASS
    message, remedy = f'{fixture.label} is a receptor in "{name}".', ELSEWHERE
    if takes_waste or use in HIDDEN:
        return violation(message=message, remedy=remedy, clause=row.clause)
    return advise(message, remedy, clause=row.clause)


@derived
def _receiving(context: Context) -> set[str]:
    """The receptors that indirect waste is drawn to end over, and the floor sinks that lines of
    relief valves, pans and condensate do."""
    network = context.plumbing.network
    ends = [f.outlet.position for f in context.plumbing.fixtures if f.is_indirect and f.outlet]
    found = {r.guid for end in ends if (r := receptor_under(network, end)) is not None}
    lines = (receptor_under(network, line.end) for line in context.plumbing.heaters.lines)
    return found | {r.guid for r in lines if r is not None and r.kind == FLOOR_SINK}


def _room(fixture: Fixture, context: Context) -> str:
    """The room above the rim of a receptor, which may itself hang in what lies under the floor."""
    box, named = fixture.element.box, fixture.element.space
    if box is None:
        return named
    (x, y, _), (u, v, top) = box
    above = ((x + u) / 2, (y + v) / 2, top + ABOVE_RIM_M)
    names = [s.name for s in context.plumbing.surroundings.rooms_around(above)]
    return named if named in names or not names else names[0]


def _use(room: str) -> str:
    hidden = (use for use, words in _NAMED.items() if says_text(room, words))
    return next(hidden, "crawl-space" if CRAWL.search(room) else use_of(room))
