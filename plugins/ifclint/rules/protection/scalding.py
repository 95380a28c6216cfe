"""Rule about scalds: what limits the temperature at a fixture."""

from collections import Counter
from collections.abc import Callable
from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, due, missing, not_known, violation
from ifclint.codes.tables import Row
from ifclint.engineering.extents import holds
from ifclint.engineering.joined import by_steps
from ifclint.engineering.tolerance import at_most
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.words import listed_to, says, says_text
from ifclint.rules.protection.parts import set_point_f

LIMITS = (
    "pressure balanc*", "thermostat*", "anti scald", "antiscald", "tempering", "tempered",
    "temperature limiting", "mixing valve", "tmv", "asse 1016", "asse 1069", "asse 1070",
    "mitigeur thermostatique", "termostatic*",
)  # fmt: skip
WITH_SHOWER = (  # a tub above which one showers
    "shower*", "tub shower", "shower tub", "combination", "combo", "douche", "dusche", "ducha",
)  # fmt: skip
TWO_HANDLES = (  # no such valve answers to a change of pressure or heat
    "two handle*", "2 handle*", "dual handle*", "double handle*", "two valve*", "2 valve",
    "separate hot and cold", "separate hot and cold valve*", "manual mixing", "hand mixed",
    "zweigriff*", "tweegreeps*",
)  # fmt: skip
FOR_ANIMALS = ("dog*", "pet", "animal*", "kennel*", "grooming", "horse*", "equine", "hundebad",
    "hundedusche", "hundewanne", "chien*", "perro*")  # fmt: skip
SALON = "salon"  # where what is called so stands, in the words of the code's table
SALON_WORDS = ("shampoo*", "hair wash*", "haarwasch*", "pedicure*", "foot bath*", "footbath*",
    "backwash unit*")  # fmt: skip
OF_MANY = (
    "men", "mens", "women", "womens", "boys", "girls", "locker*", "changing", "damen", "herren",
    "hommes", "femmes", "hombres", "mujeres", "caballeros", "damas", "heren", "dames",
)  # fmt: skip
# Standards of mixing valves, of ASSE
FOR_TAPS, FOR_HEATER = "1070", "1017"
FOR_SHOWERS = ("1016", "1069")
MASTER = ("master mixing",)  # keeps the system's heat, and no fixture's
SMALL = frozenset({"shower", "bathtub", "bidet", "lavatory", "wash-fountain"})
STAFF = ("hand sink", "hand wash*", "handwash*", "handsink", "scrub*", "surgeon", "kitchen")
WORKROOMS = (
    "kitchen", "kitchenette", "prep", "food prep*", "scullery", "dishwash*", "ware wash*", "bar",
    "servery", "pantry", "bakery", "lab", "laborator*", "exam", "exam room", "treatment", "clinic",
    "küche*", "*küche", "kuche*", "grosskuche", "cuisine", "cocina", "keuken", "plonge",
)  # fmt: skip
AT_FIXTURE_M = 0.3  # a faucet drawn so near a fixture's box is its own. Ours, no source
ABOVE_M = 1.9  # and, with that, a shower's valve over its tray. Ours, no source
BATHROOM_M = 3.0  # a lavatory so near a tub or shower is one of a bathroom. Ours, no source
TEMPERED = Fact(
    "{} serves {} and fixtures that want hotter water; whether {} gets water {} is not known.",
    "Show the valve that limits the heat at such fixtures.",
)


def _is_showered_in(fixture: WaterFixture) -> bool:
    """A shower, or a tub called a tub with a shower."""
    is_tub = fixture.kind == "bathtub"
    return fixture.kind == "shower" or (is_tub and says(fixture.element, WITH_SHOWER))


def _is_of_salon(fixture: WaterFixture) -> bool:
    """Where hair or feet are washed, and nobody's hands."""
    return fixture.kind not in ("shower", "bathtub") and says(fixture.element, SALON_WORDS)


def _is_for_taps_alone(fixture: WaterFixture) -> bool:
    """Whether one showers under a valve that is told to be of the standard for taps, and no other
    that a shower's is."""
    own = fixture.element
    told = listed_to(own, *FOR_SHOWERS) or says(own, ("pressure balanc*", "thermostat*"))
    return _is_showered_in(fixture) and listed_to(own, FOR_TAPS) and not told


@derived
def _row_of(context: Context, fixture: WaterFixture) -> Row | None:
    """The row of the code that limits the heat at a fixture; None where none does."""
    public = context.job.building.use != "private"
    kind = "shower" if _is_showered_in(fixture) else fixture.kind
    table = context.code.table("temperature_limits")
    if _is_of_salon(fixture):
        return table.one(fixture="lavatory", occupancy=SALON)
    for row in table.where(fixture=kind):
        if row.text("occupancy") == "" or (
            row.text("occupancy") == "public" and public and _is_for_public(context, fixture)
        ):
            return row
    return None


def _is_for_public(context: Context, fixture: WaterFixture) -> bool:
    """A hand-washing place for anybody: not of the staff, nor of a bathroom with a tub."""
    here = fixture.element.position
    bathrooms = (
        f.element.position
        for f in context.plumbing.supply.fixtures
        if f.kind in ("bathtub", "shower") and f.element.storey == fixture.element.storey
    )
    beside = here and any(p and at_most(dist(p, here), BATHROOM_M, "m") for p in bathrooms)
    if beside and not _is_of_many(context, fixture.element):
        return False
    return not says(fixture.element, STAFF) and not _among_staff(context, fixture)


def _is_of_many(context: Context, element: Element) -> bool:
    """Whether it stands in a room for many, though people shower there: by its name or closets."""
    room = element.space
    return _closets(context)[room, element.storey] > 1 or says_text(room, OF_MANY)


@derived
def _closets(context: Context) -> Counter[tuple[str, str]]:
    """How many closets and urinals stand in each room, by its name and storey."""
    rooms = (
        (e.space, e.storey)
        for e in context.plumbing.network.elements
        if e.space and e.kind in ("water-closet", "urinal")
    )
    return Counter(rooms)


def _among_staff(context: Context, fixture: WaterFixture) -> bool:
    """Whether it stands in a room where people work, by its name, without a closet or urinal."""
    room = fixture.element.space
    return says_text(room, WORKROOMS) and all(name != room for name, _ in _closets(context))


@derived
def _limiting(context: Context, fixture: WaterFixture) -> tuple[Element | None, Element | None]:
    """What limits the heat at a fixture, and a mixing valve that serves more than such fixtures."""
    if says(fixture.element, LIMITS):
        return fixture.element, None
    supply, others, master = context.plumbing.supply, _other_users(context), None
    for tap in fixture.fed:
        for index in reversed(supply.distribution.path(tap.connection.up)):
            element = supply.elements[index]
            if element.role is Role.HEATER:
                break
            if _may_limit(element):
                if not others[index] and not _is_of_heater(element):
                    return element, None
                master = master or element
    return drawn_at(fixture, context) or _where_not_fed(fixture, context), master


def _may_limit(element: Element) -> bool:
    return element.kind == "mixing" or (element.role is Role.VALVE and says(element, LIMITS))


def _where_not_fed(fixture: WaterFixture, context: Context) -> Element | None:
    """The nearest such valve in the piping at a fixture that no source reaches."""
    supply = context.plumbing.supply
    if len(fixture.fed) == len(fixture.taps):
        return None
    not_fed, neighbours = _not_fed(context), supply.network.neighbours
    met = by_steps([fixture.index], lambda i: (n for n in neighbours(i) if n in not_fed))
    return next((e for i in met if _may_limit(e := supply.elements[i])), None)


@derived
def _not_fed(context: Context) -> set[int]:
    return set(context.plumbing.supply.not_fed)


def _is_of_heater(valve: Element) -> bool:
    """Whether a mixing valve is made for the heater, and not, by its listing, for taps too."""
    for_heater = listed_to(valve, FOR_HEATER) or says(valve, MASTER)
    return for_heater and not listed_to(valve, FOR_TAPS)


@derived
def _other_users(context: Context) -> list[float]:
    """Element of the supply -> how many connections it feeds that want hotter water."""
    supply = context.plumbing.supply
    taps = [(f.kind, t) for f in supply.fixtures for t in f.fed]
    wanting = [t.connection.up for kind, t in taps if kind not in SMALL and t.service == "hot"]
    return supply.distribution.how_many(wanting)


def drawn_at(fixture: WaterFixture, context: Context) -> Element | None:
    """A valve or faucet that says it limits, drawn at a fixture and joined to nothing."""
    return next((e for e in _loose_valves(context) if _is_at(fixture.element, e)), None)


@derived
def _loose_valves(context: Context) -> list[Element]:
    network = context.plumbing.network
    return [
        e
        for i, e in enumerate(network.elements)
        if e.role is Role.VALVE
        and not network.joined[i]
        and (e.kind == "mixing" or says(e, LIMITS))
    ]


def _is_at(fixture: Element, valve: Element) -> bool:
    if fixture.box is None or valve.position is None:
        return False
    (x, y, z), (u, v, _) = fixture.box
    room = (x, y, z), (u, v, z + ABOVE_M)
    return holds(*room, valve.position, AT_FIXTURE_M)


def _part(is_one: Callable[[WaterFixture], bool], name: str) -> PartKind:
    def drawn(context: Context) -> bool:
        mine = filter(is_one, context.plumbing.supply.fixtures)
        return any(_limiting(context, f)[0] for f in mine)

    remedy = (
        "Name the type of the valve or faucet (pressure balanced, thermostatic, ASSE 1016 or "
        "1070), or model the mixing valve."
    )
    return PartKind(name, drawn, remedy)


BATHING = _part(
    lambda f: f.kind in ("shower", "bathtub", "bidet"),
    "valves that limit the heat of showers and tubs",
)
WASHING = _part(
    lambda f: f.kind == "lavatory" and not _is_of_salon(f),
    "valves that limit the heat of public lavatories",
)
AT_SALON = _part(_is_of_salon, "valves that limit the heat of shampoo sinks and foot baths")


@rule(
    title="Hot water limited where people bathe, and where the public washes",
    clauses={"upc": "408.3", "ipc": "412.3", "irc": "P2708.4"},
    severity=Severity.HIGH,
    applies=lambda fixture: (
        (fixture.kind in ("shower", "bathtub", "bidet", "lavatory") or _is_of_salon(fixture))
        and any(tap.service == "hot" for tap in fixture.taps)
    ),
)
def temperature_limited(fixture: WaterFixture, context: Context) -> Answer:
    """At 140 °F skin burns in five seconds, a child's sooner.

    Showers, tubs and bidets, and lavatories of public toilet rooms: a valve that limits the heat,
    told by the fixture, by a valve drawn at it, or by a mixing valve ahead of such fixtures alone.
    One that serves kitchens too may be set hotter, and is asked about; a master valve of the heater
    (ASSE 1017) keeps the heat of the system and counts at no fixture, unless it is listed to ASSE
    1070 too. Where its name tells to what the valve is set, that is held against the limit. Excused
    are hand sinks of the staff, by their own name or that of a workroom without closets, and
    lavatories beside a tub or shower, which are of a dwelling or a guest room, unless the room has
    several closets or is named for men or women. Shampoo sinks and foot baths are no lavatories;
    the IPC alone limits their heat. A tub for animals is excused. A tub called one
    with a shower is held to be a shower. A shower named with a valve of two handles is wrong,
    whatever is drawn elsewhere; so is one whose valve is listed to ASSE 1070 alone, which gives no
    answer to a change of pressure.
    """
    if _is_for_animals(fixture.element):
        return NOT_APPLICABLE
    row = due(_row_of(context, fixture))
    limiting, master = _limiting(context, fixture)
    asked = f"no hotter than {row.number('max_f'):g} °F ({row.text('devices')})"
    text = f"Put in a valve that gives water {asked}."
    put_in = Change("part", fixture.element_ids, "temperature-limiting valve", text)
    if limiting is not None and _is_for_taps_alone(fixture):
        what = f"{fixture.label} has a valve of ASSE {FOR_TAPS}"
        message = f"{what}, which does not answer to a change of pressure."
        return violation(message=message, remedy=put_in, clause=row.clause)
    if limiting is not None:
        return _set(limiting, fixture, row, context)
    if master is not None and not _is_of_heater(master):
        of, ids = (master, fixture, fixture, asked), (fixture.element.guid, master.guid)
        return not_known(TEMPERED, *of, elements=ids, clause=row.clause)
    message = f"The model tells of no valve that keeps {fixture.label} {asked}"
    part = WASHING if fixture.kind == "lavatory" else BATHING
    if master is not None:
        message += f"; {master.label} keeps the heat of the system, and of no fixture"
    if _is_showered_in(fixture) and says(fixture.element, TWO_HANDLES):
        return violation(
            message=f"{fixture.label} has two handles; nothing keeps it {asked}.",
            remedy=put_in,
            clause=row.clause,
        )
    return missing(
        AT_SALON if _is_of_salon(fixture) else part,
        message=f"{message}.",
        remedy=put_in,
        clause=row.clause,
    )


def _set(limiting: Element, fixture: WaterFixture, row: Row, context: Context) -> Answer:
    """To what the valve that limits the heat is set, where that is told."""
    told_f = set_point_f(limiting)
    if told_f is None:
        return PASS
    least_f = _least_asked_f(context)[limiting.guid]  # one setting for all that it serves
    text = f"Set {limiting.label} to {least_f:g} °F or less."
    return check(
        told_f,
        at_most=row.number("max_f"),
        unit="°F",
        message=f"{limiting.label} is set to {told_f:g} °F; {fixture.label} wants water no hotter "
        f"than {row.number('max_f'):g} °F.",
        remedy=Change("work", (limiting.guid,), "temperature setting", text),
        elements=(limiting.guid, *fixture.element_ids),
        clause=row.clause,
    )


@derived
def _least_asked_f(context: Context) -> dict[str, float]:
    """The lowest limit of the fixtures that each limiting valve serves."""
    found: dict[str, float] = {}
    for fixture in context.plumbing.supply.fixtures:
        limiting, row = _limiting(context, fixture)[0], _row_of(context, fixture)
        if limiting is not None and row is not None:
            asked_f = row.number("max_f")
            found[limiting.guid] = min(found.get(limiting.guid, asked_f), asked_f)
    return found


def _is_for_animals(element: Element) -> bool:
    is_bath = element.kind in ("bathtub", "shower")
    return is_bath and (says(element, FOR_ANIMALS) or says_text(element.space, FOR_ANIMALS))
