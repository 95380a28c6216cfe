"""What must drain through the air: which equipment that is, and what of it is piped straight in."""

from ifclint.codes.tables import Row
from ifclint.ifc.elements import Element, Role
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.clear_water import tied_drains, tied_sources
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.receptors import RECEIVING
from ifclint.plumbing.drainage.segments import DrainSegment
from ifclint.plumbing.words import CONDENSES, says

DOMESTIC = ("domestic", "residential", "household")
COMMERCIAL = (
    "commercial", "warewash*", "ware wash*", "conveyor", "rack", "door type", "pot wash*",
    "glass wash*", "glasswash*",
)  # fmt: skip
SINKS = frozenset({"kitchen-sink", "bar-sink", "sink", "disposer"})
TRAPPED = "trapped"  # may be joined to a drain by a trap of its own
DISHWASHER = "domestic-dishwasher"
_NAMED = {  # what drains indirectly -> what it is called
    "food-preparation-sink": (
        "prep sink", "preparation sink", "food prep*", "vegetable sink", "veg sink", "dipper well",
        "potato peeler", "vorbereitungsspul*", "vorbereitungsspül*", "gemusespul*", "gemüsespül*",
        "evier de preparation", "évier de préparation", "plonge legumes",
        "fregadero de preparacion", "fregadero de preparación", "voorbereidingsspoel*",
    ),
    "food-equipment": (
        "steam table", "steam kettle", "steamer", "coffee urn", "coffee brewer", "espresso*",
        "beverage dispenser", "drink dispenser", "walk in cooler", "reach in cooler", "egg boiler",
        "ice bin", "salad bar", "soda dispenser", "soda fountain", "soda gun",
    ),
    "water-treatment": (
        "softener", "water treatment", "water conditioner", "reverse osmosis", "enthartung*",
        "adoucisseur", "descalcificador", "ontharder",
    ),
    "sterilizer": ("sterilizer", "autoclave"),
    "pool-filter": (
        "pool filter", "pool sand filter", "spa filter", "sand filter", "filter backwash",
    ),
}  # fmt: skip
_OF_KIND = {
    "ice-maker": "ice-machine", "sterilizer": "sterilizer", "water-softener": "water-treatment",
    "refrigerator": "food-equipment", "beverage-dispenser": "food-equipment",
    "range": "food-equipment", "cooking": "food-equipment",
}  # fmt: skip
CLEAR_WATER = "clear-water"  # of what is no plumbing fixture: it drips, bleeds or is emptied
_GIVE_CLEAR_WATER = (
    "cooling tower", "humidifier", "expansion tank", "evaporative cooler", "swamp cooler",
    "air compressor", "kühlturm", "kuhlturm", "luftbefeuchter", "ausdehnungsgefäß",
    "ausdehnungsgefäss", "ausdehnungsgefass", "tour de refroidissement", "humidificateur",
    "torre de enfriamiento", "humidificador", "koeltoren", "luchtbevochtiger",
)  # fmt: skip
FOR_PUBLIC = frozenset({"food-preparation-sink", "food-equipment", "ice-machine"})


def is_public(context: Context) -> bool:
    return context.job.building.use != "private"


@derived
def row_of(context: Context, fixture: Fixture) -> Row | None:
    """The row of the code for what a fixture is; None where it may drain as it likes."""
    return row_named(appliance_of(fixture, context), context)


def row_for(element: Element, context: Context) -> Row | None:
    """The row of the code for equipment that is called so; None where it may drain as it likes."""
    return row_named(_called(element), context)


def row_named(appliance: str, context: Context) -> Row | None:
    if appliance in FOR_PUBLIC and not is_public(context):
        return None
    return context.code.table("indirect_waste").one(appliance=appliance) if appliance else None


def appliance_of(fixture: Fixture, context: Context) -> str:
    if fixture.kind == "dishwasher":
        return DISHWASHER if _is_domestic(fixture, context) else "commercial-dishwasher"
    return _called(fixture.element)


def _called(element: Element) -> str:
    named = (a for a, words in _NAMED.items() if says(element, words))
    clear = CLEAR_WATER if _gives_clear_water(element) else ""
    return _OF_KIND.get(element.kind) or next(named, clear)


def _gives_clear_water(element: Element) -> bool:
    """A receptor called after what drips into it is none, and condensate is judged as that."""
    if element.kind in RECEIVING or says(element, CONDENSES):
        return False
    return element.kind == "boiler" or says(element, _GIVE_CLEAR_WATER)


def _is_domestic(fixture: Fixture, context: Context) -> bool:
    """A dishwasher of a dwelling, or one that drains into a sink as those do."""
    if says(fixture.element, COMMERCIAL):
        return False
    if not is_public(context) or says(fixture.element, DOMESTIC):
        return True
    shared = fixture.trap.fixtures if fixture.trap is not None else []
    return any(f.kind in SINKS for f in shared)


def joined_receptor(fixture: Fixture, context: Context) -> Element | None:
    """A receptor that the waste line is joined to, before the trap it shares with it."""
    network, own = context.plumbing.network, fixture.trap.element if fixture.trap else None
    for index in reversed(context.plumbing.drainage.path(fixture.index)):
        near = [index, *network.neighbours(index)]
        mine = (network.elements[i] for i in near if i != fixture.index)
        found = (e for e in mine if e.role is Role.FIXTURE and e.kind in RECEIVING)
        if receptor := next(found, None):
            return receptor
        if network.elements[index].role is Role.TRAP and network.elements[index] is not own:
            return None
    return None


@derived
def ends_in_drain(context: Context, fixture: Fixture) -> bool:
    """Whether it must drain through the air, and its line is drawn into a drain, without a trap or
    with one of its own as a sink has it: the line is to end elsewhere, and what else it lacks as a
    drain does not matter."""
    if fixture.element.guid in tied_sources(context):
        return True
    required = row_of(context, fixture)
    if required is None or required.text("direct") == "yes" or not fixture.is_drawn:
        return False
    into_drain = fixture.outlet is not None and fixture.outlet.accepted and bool(fixture.path)
    if not into_drain or fixture.is_indirect or joined_receptor(fixture, context) is not None:
        return False
    is_sink = fixture.element.role is Role.FIXTURE and required.text("direct") != TRAPPED
    return fixture.trap is None or (is_sink and fixture.trap.fixtures == [fixture])


def is_tied(context: Context, fixture: Fixture) -> bool:
    """Whether the line that is to end elsewhere is drawn without a trap."""
    return fixture.trap is None and ends_in_drain(context, fixture)


@derived
def tied_lines(context: Context) -> frozenset[DrainSegment]:
    """The pipe that nothing but such equipment, or lines of clear water, drain through."""
    fixtures = [f for f in context.plumbing.fixtures if f.outlet is not None]
    tied, own = [f for f in fixtures if ends_in_drain(context, f)], tied_drains(context)
    clear = {s for s in context.plumbing.drains if s.indexes[-1] in own}
    if not tied:
        return frozenset(clear)
    all_of = context.plumbing.load(dict.fromkeys(fixtures, 1.0))
    of_tied = context.plumbing.load(dict.fromkeys(tied, 1.0))
    return frozenset(clear | {s for s, n in of_tied.items() if n and n == all_of[s]})
