"""Rules about floor drains: where one is due, and that its trap does not dry out."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field

from ifclint.checks import NOT_APPLICABLE, PASS, Answer, Fact, PartKind, due, missing, not_known
from ifclint.codes import Limit
from ifclint.engineering.boxes import Boxes
from ifclint.engineering.tolerance import at_least
from ifclint.findings import Severity
from ifclint.ifc.elements import WATER_SUPPLY, Element, Point, Role, Space, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Fixture, Trap
from ifclint.plumbing.drainage.fixtures import CONDENSING
from ifclint.plumbing.drainage.receptors import RECEPTOR, receptor_under
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.supply.primers import PRIMERS, marks
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.words import COMMON_LAUNDRIES, says, says_text

DRAINS = frozenset({"floor-drain", "floor-sink", "trench-drain"})
FLOODS = frozenset({"water-closet", "urinal", "clothes-washer"})
LAUNDRY = ("laundry", "laundromat", "launderette", "lavanderia", "waschkuche", "waschküche",
    "buanderie", "wasruimte")  # fmt: skip
OF_A_DWELLING = ("unit", "apartment", "apt", "dwelling", "flat", "residence")
GUARDS = ("trap guard*", "trap seal", "trap seal device", "barrier type*", "deep seal*",
    "waterless", "asse 1018", "asse 1044", "asse 1072")  # fmt: skip
WASHED = ("kitchen", "dish*", "scullery", "pot wash", "food prep*", "shower*", "cocina", "ducha*",
    "küche*", "kuche*", "dusch*", "cuisine", "douche*", "keuken*", "wash bay*", "car wash*",
    "truck wash*", "wash rack*", "kennel*", "grooming", "milking", "locker*", "steam room*",
    "washdown*", "wash down*", "autolavado*", "waschhalle*", "waschplatz*")  # fmt: skip
SUNK_M = 0.6  # the body of a floor drain hangs no deeper below its room. Ours, no source
PASSED = frozenset({Role.TRAP, Role.FITTING})
NEAR = 4  # elements from a floor drain to what keeps its trap full. Ours, no source

FLOOR_DRAINS = PartKind(
    "floor drains",
    drawn=lambda context: any(e.kind in DRAINS for e in context.plumbing.network.elements),
    remedy="Draw the floor drains (IfcWasteTerminal, FLOORTRAP or FLOORWASTE) in their rooms.",
)
SEALS = PartKind(
    "trap seal primers",
    drawn=lambda context: (
        bool(context.plumbing.saying((*PRIMERS, *GUARDS)))
        or any(_is_guarded(e) for e in context.plumbing.network.elements)
    ),
    remedy="Draw the trap primer and its line to the floor drain's trap, or name the device that "
    "guards the seal (ASSE 1072, deep seal).",
)
DAILY = Fact(
    "whether {} in {} is used daily, or wants a primer, is not known.",
    "Draw a trap primer, or show the authority that the drain is used every day.",
)
SHARED = Fact(
    "Whether closets, urinals or clothes washers that stand in no room share one, and a floor "
    "drain is due, is not known.",
    "Contain the fixtures and floor drains in their rooms (IfcSpace), or say in the job file that "
    'this is a dwelling (building.occupancy = "private").',
)
PUBLIC = Fact(
    "whether {} is for the public, and a floor drain is due, is not known.",
    "State the occupancy in the job file (building.occupancy), and name laundries for whom they "
    'are: "Common laundry", "Laundry, unit 3".',
)
WHOSE = Fact(
    "whether {} is a common laundry, and a floor drain is due, is not known.",
    'Name the laundry for whom it is: "Common laundry", "Laundry, unit 3".',
)
STANDS_IN = Fact("whether {} stands in {}", "Contain the floor drain in its room (IfcSpace).")


@rule(
    title="Trap of a floor drain kept from drying out",
    clauses={"upc": "1007.1", "ipc": "1002.4.1", "irc": "P3201.2"},
    severity=Severity.LOW,
    applies=lambda fixture: fixture.kind == "floor-drain",
)
def floor_drain_primed(fixture: Fixture, context: Context) -> Answer:
    """A trap that nobody pours into dries in a month, and sewer gas comes up through it.

    A primer or water line joined to the floor drain, its trap or what is between, or one that bears
    the drain's mark, or a device or trap named as one that guards the seal. Where the model draws
    none at all they are asked for once. One that takes the waste of a fixture is used every day;
    one in a room that is washed down or showered in may be, and is a question.
    """
    around, network = _around(fixture, context), context.plumbing.network
    if any(_keeps_full(network.elements[i], fixture.element) for i in around):
        return PASS
    if not context.plumbing.supply.ends_of_primer_lines.isdisjoint(around):
        return PASS
    if not _primed(context).isdisjoint(marks(fixture.element)):
        return PASS
    if _takes_waste(fixture, context):
        return PASS
    room = _space_of(fixture.element, context)
    name = fixture.element.space if room is None else room.name
    if SEALS.is_drawn(context) and says_text(name, WASHED):
        return not_known(DAILY, fixture, name)
    return missing(
        SEALS,
        message=f"Nothing is drawn that keeps the trap of {fixture.label} full.",
        remedy="Give the trap a primer, or a listed device that guards its seal, as the authority "
        "accepts.",
    )


@derived
def _primed(context: Context) -> set[tuple[str, str]]:
    """The marks of the drains that primers and their lines are named for."""
    return {mark for primer in context.plumbing.saying(PRIMERS) for mark in marks(primer)}


def _takes_waste(drain: Fixture, context: Context) -> bool:
    """Whether another fixture drains through its trap, or ends over it in the open: not one that
    gives no more than condensate, and that for some months alone."""
    return not _in_use(context).isdisjoint((drain.trap, drain.element.key))


@derived
def _in_use(context: Context) -> set[Trap | str]:
    """The traps through which water of other fixtures comes, and what it ends over, by its key."""
    network = context.plumbing.network
    others = [f for f in context.plumbing.fixtures if f.kind not in DRAINS | CONDENSING]
    ends = (f.outlet.position for f in others if f.outlet and f.outlet.kind == RECEPTOR)
    receptors = {r.key for end in ends if (r := receptor_under(network, end)) is not None}
    return receptors.union(f.trap for f in others if f.trap is not None)


def _keeps_full(element: Element, drain: Element) -> bool:
    if says(element, (*PRIMERS, *GUARDS)) or _is_guarded(element):
        return True
    return element is not drain and element.system in WATER_SUPPLY


def _is_guarded(element: Element) -> bool:
    """Whether the description of a drain or trap tells a device that guards the seal."""
    return says_text(element.properties.text("described"), GUARDS)


def _around(fixture: Fixture, context: Context) -> list[int]:
    """The drain, its trap, and what is joined to either or to the pipe between, but not the drain
    pipe below the trap."""
    network, seen, edge = context.plumbing.network, {fixture.index}, [fixture.index]
    passed = PASSED | {Role.PIPE} if fixture.trap is not None else PASSED
    for _ in range(NEAR):
        onward = [i for at in edge for i in network.neighbours(at) if i not in seen]
        seen.update(onward)
        if any(network.elements[i].role is Role.TRAP for i in onward):
            passed = PASSED
        edge = [i for i in onward if network.elements[i].role in passed]
        edge = [i for i in edge if network.elements[i].kind != "cleanout"]
    return sorted(seen)


@dataclass(eq=False)
class WetRoom(OfElement):
    """A room and the fixtures in it, first what may flood it; `name` is "" for all that stands in
    no room that is told."""

    sized_by = frozenset[System]()  # no size bears on it

    name: str
    fixtures: list[Element] = field(default_factory=list)

    def count(self, *kinds: str) -> int:
        return sum(_is_of(e, kinds) for e in self.fixtures)

    @property
    def element(self) -> Element:
        return self.fixtures[0]

    @property
    def label(self) -> str:
        return f'"{self.name}"' if self.name else "what stands in no room"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(e.guid for e in self.fixtures)


def _is_of(element: Element, kinds: Collection[str]) -> bool:
    return element.kind.removesuffix("-appliance") in kinds


@derived
def wet_rooms(context: Context) -> list[WetRoom]:
    """The rooms in which fixtures stand, in the model's order; rooms of one name each by itself."""
    found = defaultdict[tuple[str, str, Space | None], list[Element]](list)
    network = context.plumbing.network
    for number in network.of_roles(Role.FIXTURE, Role.APPLIANCE):
        e = network.elements[number]
        space = _space_of(e, context)
        name = space.name if space is not None else e.space
        storey = (space.storey if space is not None else e.storey) if name else ""
        found[storey, name, space].append(e)
    for fixtures in found.values():
        fixtures.sort(key=lambda e: not _is_of(e, FLOODS))
    return [WetRoom(name, fixtures) for (_, name, _), fixtures in found.items()]


@derived
def _sunk_rooms(context: Context) -> Boxes:
    """The rooms with the floors in which bodies of drains hang."""
    spaces = context.plumbing.network.model.spaces
    return Boxes(((*s.low[:2], s.low[2] - SUNK_M), s.high) for s in spaces)


def _space_of(element: Element, context: Context) -> Space | None:
    """The one space around an element among those of its room's name, the nearest of these where
    its place lies in none, as that of a closet does that hangs on a carrier in the wall; of a floor
    drain that is said to stand in none, among all: its body hangs in the floor."""
    at, named = element.position, element.space
    if at is None or not (named or element.kind in DRAINS):
        return None
    spaces = context.plumbing.network.model.spaces
    around = [spaces[i] for i in _sunk_rooms(context).around(at)]
    around = [s for s in around if s.name == named or not named]
    if len(around) > 1:  # floor by floor over each other
        around = [s for s in around if s.low[2] <= at[2]] or around
    if not around and named:
        return _nearest(element, at, context)
    return around[0] if len(around) == 1 else None


def _nearest(element: Element, at: Point, context: Context) -> Space | None:
    """The nearest space of the name of an element's room, of its storey where both have one."""
    storeys = (element.storey, "") if element.storey else None
    named = (s for s in context.plumbing.network.model.spaces if s.name == element.space)
    spaces = [s for s in named if storeys is None or s.storey in storeys]
    far = {id(s): (level_distance_m(at, s.low, s.high), abs(at[2] - s.low[2])) for s in spaces}
    return min(spaces, key=lambda s: far[id(s)], default=None)


@rule(
    title="Floor drain in public toilet rooms and common laundries",
    clauses={"upc": "418.3", "ipc": "413.4", "irc": ""},
)
def floor_drain_due(room: WetRoom, context: Context) -> Answer:
    """A closet that overflows in a public toilet room floods the building, and nobody is there.

    Rooms with as many closets and urinals, or clothes washers, as the code says, where the job
    file says that the building is public or for assembly; a floor drain or floor sink in the same
    room. What its name, or that of a washer, tells to be a common or coin laundry is one, whatever
    the building and with a single washer; in another laundry without a kitchen sink a single washer
    is asked about. So are a large room where the occupancy is not stated, and fixtures and floor
    drains that stand in no room.
    """
    is_due, found = _due(room, context)
    limit, occupancy = due(found), context.job.building.occupancy
    is_common = _is_common_laundry(room)
    if occupancy == "private" and not is_common:
        return NOT_APPLICABLE
    if not room.name:
        return not_known(SHARED, clause=limit.clause)
    if room.count(*DRAINS):
        return PASS
    if occupancy is None and not is_common:
        return not_known(PUBLIC, room, clause=limit.clause)
    if not is_due:
        return not_known(WHOSE, room, clause=limit.clause)
    if astray := _in_no_room(room, context):
        return not_known(STANDS_IN, astray, room, clause=limit.clause)
    return missing(
        FLOOR_DRAINS,
        message=f"{room.label} has no floor drain.",
        remedy="Set a floor drain with a trap that stays full in the room.",
        clause=limit.clause,
    )


def _in_no_room(room: WetRoom, context: Context) -> Element | None:
    """A floor drain of the same storey, or of none, that stands in no room that is told."""
    storey = room.fixtures[0].storey
    others = (e for r in wet_rooms(context) if not r.name for e in r.fixtures if e.kind in DRAINS)
    return next((e for e in others if not e.storey or e.storey == storey), None)


def _due(room: WetRoom, context: Context) -> tuple[bool, Limit | None]:
    """Whether the room has as many fixtures as make a floor drain due, and the limit; None where
    it is no such room."""
    closets = context.code.limit_or_none("floor_drain_closets_from")
    washers = context.code.limit_or_none("floor_drain_washers_from")
    seats = room.count("water-closet", "urinal")
    if closets is not None and room.count("water-closet") and at_least(seats, closets.value, ""):
        return True, closets
    machines = room.count("clothes-washer")
    if washers is not None and at_least(machines, washers.value, ""):
        return True, washers
    if machines and _is_common_laundry(room):
        return True, washers
    is_laundry = says_text(room.name, LAUNDRY) and not room.count("kitchen-sink")
    is_asked = machines and is_laundry and not says_text(room.name, OF_A_DWELLING)
    return False, washers if is_asked else None


def _is_common_laundry(room: WetRoom) -> bool:
    """Whether the name of the room, or of a washer in it, tells that many wash there."""
    washers = [e for e in room.fixtures if _is_of(e, ("clothes-washer",))]
    return bool(washers) and (
        says_text(room.name, COMMON_LAUNDRIES)
        or any(says(e, ("coin", "coin op*")) for e in washers)
    )
