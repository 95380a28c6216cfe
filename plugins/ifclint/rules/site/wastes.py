"""Waste that an interceptor must clear: where it comes from, and how it reaches the sewer."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import DRAINAGE, Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing import Fixture
from ifclint.plumbing.drainage.receptors import RECEPTOR, receptor_under
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import COMMON_LAUNDRIES, says, says_text

GREASE, OIL, CHEMICAL, LINT = "grease", "oil", "chemical", "lint"
HUMAN_WASTE = frozenset({"water-closet", "urinal", "bidet", "clinical-sink"})
_KITCHEN = (  # what is washed here comes from a commercial kitchen or bar
    "pot sink", "pot wash*", "scullery", "utensil sink", "pre rinse", "prerinse", "wok",
    "soup kettle", "steam kettle", "tilt* kettle", "three compartment", "3 compartment",
    "four compartment", "4 compartment", "3 comp", "three comp", "4 comp", "commercial kitchen",
    "commercial sink", "grease", "spulkuche", "spülküche", "plonge", "gewerbekuche*",
    "gewerbeküche*", "grosskuche*", "grossküche*", "großküche*", "dreiteilig*", "topfspul*",
    "topfspül*", "trois bacs", "3 bacs", "cuisine professionnelle", "cuisine collective",
    "tres senos",
    "3 senos", "tres tarjas", "cocina industrial", "cocina comercial", "lavaollas",
    "drie bakken", "grootkeuken", "bedrijfskeuken",
)  # fmt: skip
_LINES = {  # what a line that carries such waste is called
    GREASE: (
        "grease", "fetthaltig*", "fettabwasser*", "fettleitung*", "vethoudend*", "eaux grasses",
        "grasas", "graisse*",
    ),
    OIL: (
        "sand oil", "oil sand", "oil waste", "oily waste", "sand waste", "ölhaltig*", "olhaltig*",
        "mineralol*", "mineralöl*", "hydrocarbure*", "aguas aceitosas", "hidrocarburo*",
        "oliehoudend*",
    ),
    CHEMICAL: (
        "acid waste", "chemical waste", "lab waste", "laboratory waste", "corrosive waste",
        "saureabwasser*", "laborabwasser*", "effluents chimiques", "residuos quimicos",
    ),
    LINT: ("laundry waste", "lint waste"),
}  # fmt: skip
_VEHICLES = (  # where vehicles are washed, mended or fuelled; not where they only stand
    "car wash", "carwash", "wash bay", "vehicle wash*", "truck wash*", "wash rack", "repair garage",
    "service bay", "lube bay", "lubrication", "auto repair", "vehicle maintenance", "repair bay",
    "service garage", "fuel* area", "fuel* bay", "waschplatz", "waschhalle", "kfz werkstatt",
    "aire de lavage", "wasplaats", "tunel de lavado",
)  # fmt: skip
_LABORATORY = (
    "lab sink", "laboratory sink", "laboratory", "fume hood", "cup sink", "chemistry", "darkroom",
    "labor", "laborbecken", "laboratoire", "laboratorio",
)  # fmt: skip
_NAMED_SO = {  # what such an interceptor is called, whatever its class
    "neutralizer": ("neutrali*", "acid dilution", "dilution tank", "acid tank"),
    "lint": ("lint", "laundry interceptor"),
}
_LAUNDRIES = (  # of the public or of a business; not the laundry of a dwelling
    "coin laundry", "coin wash*", "coin operated", "laundromat", "launderette",
    "commercial laundry", "commercial wash*", "commercial clothes washer", "washer extractor",
    "waschsalon", "laverie", "lavanderia autoservicio", "wasserette",
)  # fmt: skip
_WASHERS = frozenset({"clothes-washer", "laundry-sink", "standpipe"})
OF_A_DWELLING = 2  # washers in one room, at most. Ours, no source
_SINKS = frozenset({"sink", "laundry-sink", "mop-sink", "floor-drain", "floor-sink", "bar-sink"})
_FLOOR = frozenset({"floor-drain", "floor-sink", "mop-sink"})
CLEARS = {
    GREASE: frozenset({"grease"}),
    OIL: frozenset({"oil", "sand"}),
    CHEMICAL: frozenset({"neutralizer"}),
    LINT: frozenset({"lint", "solids"}),
}


def clears(interceptor: Element, kind: str) -> bool:
    """Whether an interceptor is, or may be, of the kind that some waste must pass."""
    return kind_of(interceptor) in ("", *CLEARS[kind])


def kind_of(interceptor: Element) -> str:
    """What an interceptor is for: by its name where no class says so, else as it is read."""
    named = (kind for kind, words in _NAMED_SO.items() if says(interceptor, words))
    return next(named, interceptor.kind)


@dataclass(eq=False)
class Waste(OfElement):
    """Fixtures whose waste an interceptor of a kind must clear, and which reach the sewer one way.

    `interceptor` is the first of the kind that they pass; `meets` where they are first joined by
    human waste, which may pass none: None where the model draws no such place.
    """

    element: Element  # the first of the fixtures
    kind: str
    interceptor: Element | None
    meets: Element | None
    fixtures: list[Fixture] = field(default_factory=list)
    sized_by = DRAINAGE

    @property
    def label(self) -> str:
        others = len(self.fixtures) - 1
        return self.fixtures[0].label + (f" and {others} more" if others else "")

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(f.element.guid for f in self.fixtures)


@derived
def route(context: Context, fixture: Fixture) -> tuple[int, ...]:
    """The elements that the waste of a fixture passes, also past the receptors it drips into."""
    plumbing, passed, index = context.plumbing, list[int](), fixture.index
    while index != NONE and index not in passed:
        passed += plumbing.drainage.path(index)[::-1]
        outlet = plumbing.drainage.outlet_of(index)
        if outlet is None or outlet.kind != RECEPTOR:
            break
        receptor = receptor_under(plumbing.network, outlet.position)
        index = _at(context).get(receptor.guid, NONE) if receptor else NONE
    return tuple(passed[1:])


@derived
def _at(context: Context) -> dict[str, int]:
    return {f.element.guid: f.index for f in context.plumbing.fixtures}


@derived
def wastes(context: Context) -> list[Waste]:
    """All such waste, that of surest origin first."""
    elements = context.plumbing.network.elements
    found: dict[tuple[str, int, int], Waste] = {}
    for fixture, kind in _sources(context):
        cleared, meets, end = _ends(context, fixture, kind)
        interceptor = elements[cleared] if cleared != NONE else None
        joined = elements[meets] if meets != NONE else None
        waste = Waste(fixture.element, kind, interceptor, joined)
        key = (kind, cleared, meets if meets != NONE else end)
        found.setdefault(key, waste).fixtures.append(fixture)
    return list(found.values())


def _sources(context: Context) -> Iterator[tuple[Fixture, str]]:
    """Fixtures with such waste: by what they are called, where they stand, or by their line."""
    drained = [f for f in context.plumbing.fixtures if f.outlet is not None and f.outlet.accepted]
    human = [f for f in drained if f.kind in HUMAN_WASTE]
    others = [f for f in drained if f not in human]
    named = [f for f in others if says(f.element, _KITCHEN)]
    yield from ((f, GREASE) for f in named)
    for fixture in others:
        if fixture not in named and _on_line(context, fixture, GREASE):
            yield fixture, GREASE
        place = f"{fixture.element.called} {fixture.element.space}"
        of_vehicles = fixture.kind in _FLOOR and says_text(place, _VEHICLES)
        if of_vehicles or _on_line(context, fixture, OIL):
            yield fixture, OIL
        of_laboratory = fixture.kind in _SINKS and says(fixture.element, _LABORATORY)
        if of_laboratory or _on_line(context, fixture, CHEMICAL):
            yield fixture, CHEMICAL
        of_laundry = fixture.kind in _WASHERS and says_text(place, _LAUNDRIES)
        if of_laundry or fixture in _of_many(context) or _on_line(context, fixture, LINT):
            yield fixture, LINT


@derived
def _of_many(context: Context) -> set[Fixture]:
    """The clothes washers that share a room with another, in a building that is no dwelling or a
    room called a common laundry; and more than two of any room, which are in no dwelling."""
    rooms = defaultdict[tuple[object, ...], list[Fixture]](list)
    for fixture in context.plumbing.fixtures:
        if fixture.kind == "clothes-washer" and fixture.element.space:
            rooms[_room(fixture.element, context)].append(fixture)
    dwelling = context.job.building.use == "private"
    found = set[Fixture]()
    for (_, name, _), those in rooms.items():
        one_household = dwelling and not says_text(str(name), COMMON_LAUNDRIES)
        if len(those) > (OF_A_DWELLING if one_household else 1):
            found.update(those)
    return found


def _room(element: Element, context: Context) -> tuple[object, ...]:
    """The room an element stands in: of several of one name on a storey, that which holds it."""
    at = element.position
    around = context.plumbing.surroundings.rooms_around(at) if at is not None else []
    low = next((room.low for room in around if room.name == element.space), None)
    return element.storey, element.space, low


def _on_line(context: Context, fixture: Fixture, kind: str) -> bool:
    """Whether its own drain, before closets join, is called one of such waste."""
    called, fouled = _called(context, kind), _fouled(context)
    elements = context.plumbing.network.elements
    for index in (fixture.index, *route(context, fixture)) if called else ():
        if fouled[index] or elements[index].role is Role.INTERCEPTOR:
            return False
        if elements[index].guid in called:
            return True
    return False


@derived
def _called(context: Context, kind: str) -> frozenset[str]:
    """What is in a system of such waste by its name, and pipes that are called so themselves."""
    words, network = _LINES[kind], context.plumbing.network
    named = (those for name, those in network.of_system_name.items() if says_text(name, words))
    in_system = (network.elements[i].guid for i in chain.from_iterable(named))
    pipes = (e.guid for e in context.plumbing.saying(words) if e.role is Role.PIPE)
    return frozenset((*in_system, *pipes))


@derived
def _fouled(context: Context) -> list[float]:
    """Element -> how many fixtures with human waste it takes."""
    closets = (f for f in context.plumbing.fixtures if f.kind in HUMAN_WASTE)
    return context.plumbing.drainage.how_many(f.index for f in closets)


def _ends(context: Context, fixture: Fixture, kind: str) -> tuple[int, int, int]:
    """The interceptor its waste passes, else where human waste joins it, and its end.

    Where both first meet in a chamber, each has come there by itself.
    """
    elements, fouled = context.plumbing.network.elements, _fouled(context)
    passed = route(context, fixture)
    end = passed[-1] if passed else NONE
    cleared = (i for i in passed if elements[i].role is Role.INTERCEPTOR)
    if fit := [i for i in cleared if clears(elements[i], kind)]:
        return fit[0], NONE, end
    met = next((i for i in passed if fouled[i]), NONE)
    return (NONE, NONE if met != NONE and elements[met].role is Role.CHAMBER else met, end)
