"""Rules about how elements are drawn and joined."""

from collections.abc import Iterator
from functools import partial

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, advise, check, not_known
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Measure, Outcome
from ifclint.ifc.elements import WATER_SUPPLY, Point, Role, System, in_file
from ifclint.packs import Context, derived
from ifclint.plumbing import Piece, Storm, StormOutlet
from ifclint.plumbing.drainage.pumped import is_of_ground
from ifclint.plumbing.drainage.receptors import receptor_under
from ifclint.plumbing.facts import JOIN_ENDS
from ifclint.plumbing.storm.sumps import storm_sumps
from ifclint.plumbing.supply.fills import fill_of
from ifclint.plumbing.words import SPILLS, says
from ifclint.rules.readiness.facts import piece_rule

SHORTEST_M = 0.001  # a pipe shorter than drawing is exact was left over when others were drawn
LONGEST_M = 100.0  # a longer single pipe is a sign of a wrong unit
LARGEST_IN = 48.0  # a wider one too: no building has it
LEAST_OUTSIDE, MOST_OUTSIDE = 0.8, 2.5  # times nominal: all pipe, thick or thin, lies between
_likely = partial(
    check,
    unit="in",
    remedy="Check the unit in which the diameter is given.",
    wrong=Outcome.ADVISORY,
)
JOINED = Fact(
    "{} joined to nothing on {}{}.",
    "Join the end to what it meets (ports, or ends nearer than the joining tolerance), or cap it "
    "if it is meant to end there.",
)
ONLY_DRAIN = frozenset({"floor-drain", "floor-sink", "trench-drain"})  # but for their primers
NEAR_PIPE = Fact("{} is joined to no pipe: {} ends {} from it.", JOIN_ENDS)
LETS_OFF = Fact(
    JOINED.words,
    "Join the end to what it meets (ports, or ends nearer than the joining tolerance), or draw the "
    "receptor that it ends over. What lets water off is never capped.",
)
MEETS = Fact(
    "{} joined to nothing on {}{}. It meets {}, of another service, and was not joined to it.",
    JOINED.remedy,
)
NEAR = Fact("{} joined to nothing on {}{}, {} from {}, which it points to.", JOIN_ENDS)
STRANGE = Fact(
    "{} ends in {}, which is not understood.",
    "Give {1} its IFC class, name it in trade words, or tell its words in the job file "
    "([[reading.vocabulary.element]]).",
)
NO_PIPE = Fact(
    "{} is joined to no pipe.",
    "Connect the {1}'s ports to its pipes (IfcRelConnectsPorts), or draw the pipes up to the {1}.",
)


@piece_rule(
    title="No pipe or fitting ends in the air",
    applies=lambda piece: (
        piece.role in (Role.PIPE, Role.FITTING)
        and bool(piece.element.ends)
        and piece.element.kind != "cap"
    ),
)
def ends_are_joined(piece: Piece, context: Context) -> Answer:
    """What is joined to nothing is followed no further.

    Ends of pipes and fittings that no port relation joins and that meet no other end within the
    joining tolerance; one that leads to what is not understood is named with that, one at a gap
    with the end across it, and ends that lie as far apart are one question. An outlet of the
    drainage may end open, as may leaders below gutters and above the ground, storm drains that
    leave the building in the ground where none of them is led to a sewer, foundation drains, the
    discharge of a storm sump outdoors, what a pump lifts over a receptor, and what is judged where
    it ends by other rules: the service before a meter, a fill over its tank, the overflow of one,
    the discharge lines of relief valves, pans and condensate, and a vent without a terminal.
    """
    if not piece.open_ends or piece.is_outlet or piece.key in _open_storm(context):
        return PASS
    if piece.system == System.STORM and _is_open_at_sump(piece, context):
        return PASS
    spills = piece.element.system in WATER_SUPPLY and says(piece.element, SPILLS)
    if len(piece.open_ends) == 1 and (spills or piece.key in _ends_of_lines(context)):
        return PASS
    if _is_pumped_into_receptor(piece, context):
        return PASS
    strange = context.plumbing.network.model.leads_elsewhere.get(piece.key)
    if strange is not None:
        what = f'"{strange}"' if strange else "something"
        return not_known(STRANGE, piece, what, cause=what)
    network, count = context.plumbing.network, len(piece.open_ends)
    near, where = network.near_of.get(piece.key), piece.open_ends[0]
    if near is not None and near.apart_m <= network.model.joining_tolerance_m:
        near = None  # they meet, and were not joined for another reason
    if near is not None:
        where = network.elements[near.a[0]].ends[near.a[1]].position
    at = _told_place(where, piece.element.storey, context) if where is not None else ""
    met = _other_services(context).get(piece.key)
    ends = "1 end is" if count == 1 else f"{count} ends are"
    if met:
        return not_known(MEETS, ends, piece, at, met)
    if near is not None:
        other, habit = network.elements[near.b[0]], f"ends that lie {near.apart} apart"
        ids = (piece.key, other.guid)
        return not_known(NEAR, ends, piece, at, near.apart, other, elements=ids, cause=habit)
    lets_off = piece.element.system in (System.RELIEF, System.CONDENSATE)
    return not_known(LETS_OFF if lets_off else JOINED, ends, piece, at)


def _told_place(where: Point, storey: str, context: Context) -> str:
    """How high an end lies over the storey of what it is of, else the floor below; where no floor
    is known, its place in the file."""
    floors, model = context.plumbing.surroundings.floors, context.plumbing.network.model
    own = [(s.name, s.elevation_m) for s in model.storeys if s.name == storey]
    floor = floors.under(where[2], 0.0) or next(iter(floors.likely), None)
    below = [(floor.name, floor.level_m)] if floor is not None else []
    name, level_m = next(iter([*own, *below]), ("", 0.0))
    if not name:
        drawn = in_file(where, model.turned_rad)
        return ", one at x {:.2f}, y {:.2f}, z {:.2f} m".format(*drawn)
    over_ft = (where[2] - level_m) / M_PER_FT
    side = "below" if over_ft < 0 else "above"
    return f", one {feet_text(abs(over_ft))} {side} {name}"


@derived
def _other_services(context: Context) -> dict[str, str]:
    """By GlobalId: what the open end of an element meets that is of another service."""
    network, found = context.plumbing.network, dict[str, str]()
    for a, b in network.meeting_ends:
        one, other = network.elements[a], network.elements[b]
        if one.system is not None and other.system is not None and one.system is not other.system:
            found[one.guid] = f"{other.label} ({other.system.value})"
            found[other.guid] = f"{one.label} ({one.system.value})"
    return found


@derived
def _ends_of_lines(context: Context) -> frozenset[str]:
    """What ends, or begins, a line in the open, and is judged there by the rules of its service."""
    plumbing = context.plumbing
    elements, heaters, gas = plumbing.network.elements, plumbing.heaters, plumbing.gas
    found = {elements[i].guid for i in plumbing.supply.heads}
    found |= {s.elements[-1].guid for s in plumbing.supply.segments if fill_of(s) is not None}
    found |= {line.last.guid for line in heaters.lines}
    found |= {tree.piping.elements[tree.first].guid for tree in plumbing.venting.trees}
    if gas is not None:
        unfed = {e.guid for e in (*gas.open_ends, *gas.stray)}
        found |= {e.guid for e in gas.members} - unfed
    return frozenset(found)


@derived
def _open_storm(context: Context) -> frozenset[str]:
    """Where storm water enters and leaves the building's storm drainage."""
    storm = context.plumbing.storm
    if storm is None:
        return frozenset()
    led = [o for o in storm.outlets if not _is_lost(o, storm, context)]
    return frozenset(end.element.guid for end in (*storm.inlets, *led))


def _is_lost(outlet: StormOutlet, storm: Storm, context: Context) -> bool:
    """Whether storm water is let go in the ground: under the building, or while other storm drains
    of it are led to a sewer. Where secondary drains end is judged there."""
    at, around = outlet.outlet.position, context.plumbing.surroundings
    ground = context.ground
    if outlet.outlet.kind != "open end" or at is None or ground is None:
        return False
    if ground.is_below(at[2]) is not True or is_of_ground(outlet.element):
        return False
    if all(inlet.is_secondary or inlet.takes_ground_water for inlet in outlet.inlets):
        return False
    is_under = around.footprint is not None and around.footprint.holds(at)
    return is_under or any(other.element.role is Role.CHAMBER for other in storm.outlets)


@derived
def _pumped_storm(context: Context) -> frozenset[str]:
    return frozenset(e.guid for sump in storm_sumps(context) for e in sump.discharge)


def _is_pumped_into_receptor(piece: Piece, context: Context) -> bool:
    """Whether what a pump lifts ends here in the air over a receptor."""
    drainage, network = context.plumbing.drainage, context.plumbing.network
    end = piece.open_ends[0] if len(piece.open_ends) == 1 else None
    if end is None or piece.key not in {network.elements[i].guid for i in drainage.pressed}:
        return False
    return receptor_under(network, end) is not None


def _is_open_at_sump(piece: Piece, context: Context) -> bool:
    """Whether a foundation drain begins here, or what a sump's pump lifts comes to daylight."""
    if is_of_ground(piece.element):
        return True
    end, outdoors = piece.open_ends[0], context.plumbing.surroundings.is_outdoors
    is_pumped = len(piece.open_ends) == 1 and piece.key in _pumped_storm(context)
    return is_pumped and end is not None and outdoors(end) is not False


@piece_rule(
    title="Every fixture is joined to something",
    applies=lambda piece: (
        piece.role in (Role.FIXTURE, Role.TRAP) and piece.element.kind != "pan-drain"
    ),
)
def fixture_is_joined(piece: Piece, context: Context) -> Answer:
    """A fixture joined to no pipe is in no network, and nothing about its piping can be judged.

    Joints of fixtures and traps, by ports or by ends that meet. What only drains is not asked for
    where the drainage is out of scope, and pans are judged with their heaters.
    """
    if piece.element.kind in ONLY_DRAIN and "drainage" in context.job.out_of_scope:
        return NOT_APPLICABLE
    if len(piece.open_ends) < len(piece.element.ends):
        return PASS
    network = context.plumbing.network
    near = network.near_of.get(piece.key)
    if near is not None:
        pipe = network.elements[near.b[0]]
        ids = (piece.key, pipe.guid)
        return not_known(NEAR_PIPE, piece, pipe, near.apart, elements=ids)
    return not_known(NO_PIPE, piece, piece.role.value)


@piece_rule(
    title="Every pipe has a length, and a likely one",
    needs=("length_m",),
    applies=lambda piece: piece.role is Role.PIPE,
)
def pipe_has_length(piece: Piece, context: Context) -> Answer:
    """A pipe of no length is a leftover; one of hundreds of metres is in the wrong unit.

    The length of the axis, or the Length quantity where there is no shape.
    """
    assert piece.length_m is not None
    feet = piece.length_m / M_PER_FT

    def message() -> str:
        return f"{piece.label} is {feet_text(feet)} long."

    if piece.length_m < SHORTEST_M:
        least = Measure(SHORTEST_M / M_PER_FT, "ft", "at least")
        return advise(message, "Delete the leftover.", measured=Measure(feet, "ft"), required=least)
    return check(
        feet,
        at_most=LONGEST_M / M_PER_FT,
        unit="ft",
        message=message,
        remedy="Check the unit of length of the model.",
        wrong=Outcome.ADVISORY,
    )


@piece_rule(
    title="Sizes are those of a building",
    applies=lambda piece: piece.role is Role.PIPE and piece.size_in is not None,
)
def size_is_likely(piece: Piece, context: Context) -> Iterator[Answer]:
    """A pipe wider than it is likely to be is in the wrong unit.

    The nominal size against 48 in, and the outside diameter against the size where both are told.
    """
    assert piece.size_in is not None
    yield _likely(
        piece.size_in, at_most=LARGEST_IN, message=lambda: f"{piece.label} has an unlikely size."
    )
    outside_m = piece.element.properties.number("outside_diameter_m")
    if outside_m is not None:
        inches = outside_m / M_PER_IN

        def message() -> str:
            stated = f"its outside diameter is stated as {outside_m:.3f} m"
            return f"{piece.label} has an unlikely size: {stated}."

        least, most = LEAST_OUTSIDE * piece.size_in, MOST_OUTSIDE * piece.size_in
        yield _likely(inches, at_least=least, message=message, about="outside diameter")
        yield _likely(inches, at_most=most, message=message, about="outside diameter")
