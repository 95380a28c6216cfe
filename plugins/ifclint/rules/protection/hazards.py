"""What can foul the potable water: equipment that takes it, and piping of other services."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import takewhile
from typing import NamedTuple

from ifclint.engineering.joined import NONE, by_steps, onward
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing.drainage.through_air import COMMERCIAL
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.circuits import circuit_of
from ifclint.plumbing.heaters.discharge import neighbours
from ifclint.plumbing.supply.fills import fill_of
from ifclint.plumbing.supply.primers import is_primer
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says, says_text
from ifclint.rules.protection.devices import Device, device_of

# that a line ends in
ENDING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP, Role.OTHER})
LINKS = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP})
FAR = 30  # elements; a device farther on is not that of the connection. Ours, no source
NON_POTABLE = (
    "non potable", "nonpotable", "reclaimed", "recycled water", "rain water", "rainwater",
    "greywater", "grey water", "graywater", "gray water", "well water irrigation", "eau de pluie",
    "regenwasser", "betriebswasser", "agua no potable", "agua regenerada", "cistern make up",
    "cistern fill",
)  # fmt: skip
DRAINS = frozenset({System.SANITARY, System.STORM, System.RELIEF})  # of a device's relief port
IN_FLOORS = frozenset({"floor-drain", "floor-sink", "trench-drain"})
IRRIGATION = frozenset({"irrigation", "irrigation-chemicals"})
CHEMICALS = (
    "chemical*", "fertilizer*", "fertiliser*", "fertigation", "pesticide*", "herbicide*",
    "proportioner", "dosing", "antifreeze", "anti freeze", "glycol*", "glykol*", "frostschutz*",
    "corrosion inhibitor", "foam concentrate", "antigel", "anticongelante", "antivries",
)  # fmt: skip
CIRCUITS = (  # what a tank that takes potable water and gives none is part of
    "chilled water", "cooling water", "heating water", "heating system", "hydronic", "glycol*",
    "glykol*", "buffer tank", "feed water", "feedwater", "condensate return", "heizung*",
    "eau glacee", "agua helada", "antifreeze", "solar",
)  # fmt: skip
BASINS = (  # that animals drink from or goods are dipped in
    "waterer", "livestock", "stock tank", "cattle", "water trough", "drinking trough", "trough",
    "horse wash", "fish tank", "fish pond", "aquarium", "dip tank", "dipping tank", "plating tank",
    "quench tank", "rinse tank", "viehtranke*", "viehtränke*", "abreuvoir", "bebedero",
    "abrevadero", "drinkbak",
)  # fmt: skip
KEEPS_BACK = ("air gap", "airgap", "anti siphon*", "antisiphon*", "vacuum breaker", "backflow")
SPRAYS = ("spray", "douche", "ascending spray", "shattaf", "handbrause", "douchette")  # of bidets
PLAIN_SPOUTS = ("plain spout", "plain end spout", "plain end faucet", "fixed spout", "plain outlet")
HUMIDIFIER, OPEN_BASIN = "humidifier", "open-basin"  # that no code lists
UNKNOWN = "unknown-service"  # of a system whose name tells none
TREATED = frozenset({"irrigation", "boiler-make-up", "fire-sprinklers"})  # worse with chemicals
_NAMED = {  # hazard -> what such equipment is called
    "irrigation": (
        "irrigation", "sprinkler connection", "lawn sprinkler", "drip system", "riego",
        "arrosage", "bewasserung", "bewässerung", "beregening",
    ),
    "fire-sprinklers": (
        "fire sprinkler", "sprinkler riser", "fire riser", "fire service", "standpipe riser",
        "fire standpipe", "standpipe fire*", "standpipe system", "standpipe hose*",
    ),
    "carbonated-beverages": (
        "carbonator", "carbonated", "soda machine", "soda dispenser", "soda fountain",
        "soda system", "post mix", "bag in box", "beverage dispenser", "drink dispenser",
    ),
    "coffee-machine": (
        "coffee machine", "coffee maker", "coffee brewer", "coffee urn", "espresso*", "tea brewer",
        "kaffeemaschine", "machine a cafe", "cafetera", "koffiemachine",
    ),
    "laboratory": (
        "lab sink", "laboratory", "lab faucet", "aspirator", "fume hood", "laborbecken",
        "laborspul*", "laborarmatur*", "laborabzug*", "digestorium", "laboratoire", "laboratorio",
        "laboratorium", "labwastafel", "zuurkast",
    ),
    "medical": (
        "sterilizer", "steriliser", "sterilisator", "autoclave", "autoclaaf", "bedpan washer",
        "washer disinfector", "dialysis", "dialyse", "autopsy", "mortuary", "embalming",
        "hydrotherapy", "endoscope*",
    ),
    "chemicals": (
        "chemical dispens*", "chemical feed*", "chemical proportioner", "chemical inject*",
        "soap proportioner", "detergent dispens*", "detergent feed*", "rinse aid*",
        "sanitizer dispens*", "cleaner dispens*",
    ),
    "kitchen-equipment": (
        "vegetable peeler", "potato peeler", "peeler", "garbage can wash*", "can washer",
        "trash can wash*", "wok range", "steam table", "steam kettle", "steamer", "combi oven",
        "pasta cooker", "scrap collector", "pulper", "hood wash*", "wash hood", "washing hood",
    ),
    "hand-spray": (
        "shampoo bowl", "shampoo sink", "shampoo station", "hair wash*", "haarwasch*", "pre rinse",
        "bidet spray*", "pet wash*", "dog wash*", "grooming tub",
    ),
    "cooling-tower": ("cooling tower", "evaporative cooler", "kuhlturm", "koeltoren"),
    "swimming-pool": ("swimming pool", "pool fill", "spa fill", "hot tub", "piscine", "piscina"),
    "ornamental-pool": (
        "ornamental pool", "ornamental pond", "ornamental fountain", "decorative fountain",
        "landscape fountain", "water feature", "reflecting pool", "pond fill", "fountain fill",
        "springbrunnen", "zierbrunnen", "bassin d ornement", "fuente ornamental", "vijver",
    ),
    "car-wash": (
        "car wash", "vehicle wash", "truck wash", "bus wash", "train wash", "autowaschanlage",
        "waschanlage", "lavage auto", "lavado de coches", "wasstraat",
    ),
    "film-processor": (
        "x ray process*", "x ray develop*", "x ray film", "xray process*", "xray develop*",
        "film process*", "film develop*", "photo process*", "photo develop*", "photo lab",
        "radiolog* process*", "darkroom", "filmentwickl*", "dunkelkammer", "revelado*",
    ),
    "dental-vacuum": ("dental vacuum", "dental pump", "dental suction", "dental air vac"),
    "vacuum-pump": (
        "vacuum pump", "liquid ring", "water ring", "vakuumpumpe", "wasserringpumpe",
        "pompe a vide", "anneau liquide", "bomba de vacio", "anillo liquido", "vacuumpomp",
    ),
    "non-potable": NON_POTABLE,
}  # fmt: skip
_SERVICES = {
    System.HEATING: "boiler-make-up", System.FIRE: "fire-sprinklers",
    System.STORM: "drainage", System.SANITARY: "drainage", System.NON_POTABLE: "non-potable",
    System.GAS: "other-service", System.OTHER: "other-service",
}  # fmt: skip
_SYSTEMS_NAMED = {  # hazard -> what a system alone is called, where an element's name says less
    "swimming-pool": (
        "pool", "spa", "schwimmbad*", "schwimmbecken*", "badewasser", "alberca", "zwembad*",
    ),
    "ornamental-pool": ("fountain circulation", "fountain water", "fountain return", "pond"),
    "cooling-tower": ("condenser water", "tower water", "cwtr", "cndw"),
    "medical": ("dialys*",),
    "dental-vacuum": ("dvac",),
}  # fmt: skip
_OF_KIND = {
    "beverage-dispenser": "carbonated-beverages", "coffee-machine": "coffee-machine",
    "steam-boiler": "boiler-make-up",
    "irrigation": "irrigation", "fire-sprinklers": "fire-sprinklers",
    "dental-unit": "medical", "sterilizer": "medical", "washer-disinfector": "medical",
    "chemical-dispenser": "chemicals", "cooling-tower": "cooling-tower",
    "swimming-pool": "swimming-pool", "pool-heater": "swimming-pool",
    "film-processor": "film-processor", "humidifier": HUMIDIFIER,
    "solar-collector": "boiler-make-up",  # at the end of a line: make-up, and not what it heats
}  # fmt: skip


@dataclass(eq=False)
class Hazard(OfElement):
    """One thing that takes potable water and can foul it: `kind` is a hazard of the code's table.

    `paths` has, for each connection, what the water passes on the way to it (or past it, in the
    piping of the other service) since it last served anything else. `stated` is False where two
    services are joined because their ends meet, and not because the model says so.
    """

    element: Element
    kind: str
    paths: list[list[Element]]
    stated: bool = True
    called: str = ""  # what is not in the model, but joined to it by name
    ats: list[int] = field(default_factory=list)  # the last of the supply on each of its paths
    clean: list[float] = field(default_factory=list)  # element -> whether it serves others too
    service = System.WATER
    sized_by = WATER_SUPPLY | {System.RELIEF}

    @property
    def label(self) -> str:
        return self.called or self.element.label

    @property
    def devices(self) -> list[list[tuple[Element, Device]]]:
        """What protects each connection."""
        return [[(e, d) for e in path if (d := device_of(e)) is not None] for path in self.paths]


@derived
def hazards(context: Context) -> list[Hazard]:
    """Every hazard of the model, in its order."""
    supply = context.plumbing.supply
    found: dict[str, Hazard] = {}
    tanks = _foul_tanks(supply)
    starts = [*_of_fixtures(context), *_of_drains(supply)]
    starts += [*_of_services(supply), *_of_ends(supply)]
    starts += (
        _Start(supply.elements[i], kind, [supply.distribution.up[i]], [])
        for i, kind in tanks.items()
    )
    over = {(s.indexes[-1], f.over.guid) for s in supply.segments if (f := fill_of(s)) is not None}
    starts = [s for s in starts if not all((at, s.element.guid) in over for at in s.ats)]
    fouled = {at for start in starts for at in start.ats} | _fed_from(supply, tanks)
    clean = _serves_clean(supply, fouled)
    for start in starts:
        paths = [[*_upstream(supply, at, clean), *start.beyond] for at in start.ats]
        made = found.setdefault(
            start.element.guid, Hazard(start.element, start.kind, [], start.stated, start.called)
        )
        made.paths += paths
        made.ats += start.ats
        made.clean = clean
    return _told_once(found.values())


def way_round(
    hazard: Hazard, number: int, keeps: Callable[[Element], bool], context: Context
) -> list[Element]:
    """Where one of the connections of a hazard has a device before it: the piping through which
    its water comes back to what serves others past all that `keeps` it; none where there is none.
    """
    supply, path = context.plumbing.supply, hazard.paths[number]
    made, at = supply.distribution, hazard.ats[number]
    own = [supply.elements[i] for i in onward(at, made.up)]
    if not any(keeps(e) for e in path if e in own):
        return []
    inside = set(made.members)
    came = by_steps([at], lambda i: _passed(supply, inside, i, keeps))
    for i in came:
        if hazard.clean[i] or i in supply.heads:
            back = onward(i, came)
            return [e for j in back if (e := supply.elements[j]) not in own]
    return []


def _passed(
    supply: Supply, inside: set[int], index: int, keeps: Callable[[Element], bool]
) -> Iterator[int]:
    """What water comes to from an element of the supply, if that lets it through."""
    element = supply.elements[index]
    if not keeps(element) and (element.role in LINKS or element.role is Role.METER):
        yield from (i for i in supply.network.neighbours(index) if i in inside)


def _told_once(found: Iterable[Hazard]) -> list[Hazard]:
    """Of ends of piping that lead to one system behind one branch, the first alone."""
    kept: dict[tuple[str, str], Hazard] = {}
    for hazard in found:
        is_end = hazard.element.role in LINKS and len(hazard.paths) == 1 and hazard.paths[0]
        branch = hazard.paths[0][-1].guid if is_end else ""
        kept.setdefault((hazard.kind, branch or hazard.element.guid), hazard)
    return list(kept.values())


def named_hazard(element: Element) -> str:
    """The hazard that an element is called; "" for none."""
    return _hazard_said(element.called)


def system_hazard(element: Element) -> str:
    """The hazard that the system of an element is called; "" for none."""
    name = element.system_name
    alone = next((kind for kind, words in _SYSTEMS_NAMED.items() if says_text(name, words)), "")
    return _hazard_said(name) or alone


def _hazard_said(text: str) -> str:
    kind = next((kind for kind, words in _NAMED.items() if says_text(text, words)), "")
    return _treated(kind, says_text(text, CHEMICALS))


def _treated(kind: str, has_chemicals: bool) -> str:
    return f"{kind}-chemicals" if kind in TREATED and has_chemicals else kind


def _basin(element: Element) -> str:
    """The hazard that an open basin is; "" where it is none, or is said to keep its water back."""
    is_one = says(element, BASINS) and not says(element, KEEPS_BACK)
    return OPEN_BASIN if is_one else ""


class _Start(NamedTuple):
    """One thing that can foul its water, found in one way."""

    element: Element
    kind: str
    ats: list[int]  # what feeds each of its connections
    beyond: list[Element]  # what the water passes past these
    stated: bool = True
    called: str = ""


def _of_fixtures(context: Context) -> Iterator[_Start]:
    """Fixtures and appliances that can foul their water, with the piping that feeds them."""
    for fixture in context.plumbing.supply.fixtures:
        element = fixture.element
        kind = "" if fixture.kind == "hose-bibb" else named_hazard(element)
        kind = kind or _treated(_OF_KIND.get(fixture.kind, ""), says(element, CHEMICALS))
        kind = kind or (_basin(element) if fixture.known_kind is None else "")
        if fixture.kind == "dishwasher" and says(element, COMMERCIAL):
            kind = "commercial-dishwasher"
        ats = [t.connection.up for t in fixture.fed]
        if fixture.kind == "bidet" and says(element, SPRAYS):
            kind = "hand-spray"
        if kind == "laboratory" and says(element, PLAIN_SPOUTS):
            continue  # it pours through the air
        if kind and ats:
            # piping of irrigation begins here; other equipment may have its device within
            yield _Start(element, kind, ats, [] if kind in IRRIGATION else [element])


def _of_drains(supply: Supply) -> Iterator[_Start]:
    """Drains in floors that water is led to, though no primer stands in its path."""
    for fixture in supply.fixtures:
        ats = [t.connection.up for t in fixture.fed] if fixture.kind in IN_FLOORS else []
        ats = [at for at in ats if not _is_primed(supply, at)]
        if ats:
            yield _Start(fixture.element, "drainage", ats, [])


def _is_primed(supply: Supply, at: int) -> bool:
    """Whether the water passes a trap primer, or piping named as one's, on its path to a place."""
    passed = (supply.elements[i] for i in onward(at, supply.distribution.up))
    return any(is_primer(element) for element in passed)


def _foul_tanks(supply: Supply) -> dict[int, str]:
    """The tanks that potable water comes to and that are called a hazard, with what."""
    made, down = supply.distribution, supply.distribution.down()
    tanks = (i for i in made.order if supply.elements[i].role is Role.TANK and made.up[i] >= 0)
    kinds = {i: named_hazard(supply.elements[i]) or _basin(supply.elements[i]) for i in tanks}
    for i, kind in kinds.items():
        if not kind and not down[i] and says(supply.elements[i], CIRCUITS):
            kinds[i] = _treated("boiler-make-up", _has_chemicals(supply, i, []))
    return {i: kind for i, kind in kinds.items() if kind}


def _fed_from(supply: Supply, tanks: Collection[int]) -> set[int]:
    """Where fixtures are fed from some tanks."""
    fed = supply.distribution.connections if tanks else ()
    return {c.up for c in fed if any(i in tanks for i in onward(c.up, supply.distribution.up))}


def _of_ends(supply: Supply) -> Iterator[_Start]:
    """Where a line ends, and its name, that of its system or what it is joined to says what it
    leads to."""
    for segment in supply.segments:
        last, at = segment.elements[-1], segment.indexes[-1]
        is_end = not segment.below and segment.connection is None
        if is_end and last.role in ENDING and last.kind != "relief":
            kind = "" if last.role is Role.PIPE else named_hazard(last)
            kind = kind or _treated(_OF_KIND.get(last.kind, ""), says(last, CHEMICALS))
            beyond = "" if kind else segment.leads_to or ""
            if kind := kind or _hazard_said(beyond):
                yield _Start(last, kind, [at], [], called=beyond)
            elif kind := system_hazard(last):
                yield _Start(last, kind, [at], [])


def _of_services(supply: Supply) -> Iterator[_Start]:
    """Piping, equipment and boilers of other services that the supply is joined to."""
    inside, joints = set(supply.distribution.members), supply.network.joints
    met = [(joint.a, joint.b, not joint.inferred) for joint in joints]
    met += [(a, b, False) for a, b in (*supply.network.meeting_ends, *supply.network.meeting_sides)]
    for a, b, stated in met:
        for at, other in ((a, b), (b, a)):
            if at not in inside or other in inside:
                continue
            element = supply.elements[at]
            is_supply = element.system in WATER_SUPPLY and element.role in LINKS
            is_supply = is_supply and element.kind != "relief"
            drains = supply.elements[other].system in DRAINS
            is_port = drains and device_of(element) is not None  # the relief port of a device
            if is_supply and not is_port and supply.distribution.reached(at):
                yield from _crossing(supply, at, other, stated)
    for at in supply.heaters:
        if supply.heats_rooms(at) and supply.distribution.up[at] != NONE:
            boiler = supply.elements[at]
            kind = _treated("boiler-make-up", _has_chemicals(supply, at, []))
            yield _Start(boiler, kind, [supply.distribution.up[at]], [])


def _crossing(supply: Supply, at: int, other: int, stated: bool) -> Iterator[_Start]:
    element = supply.elements[other]
    if element.kind == "relief":  # its line is the place where hot water turns into discharge
        return
    kind, beyond = named_hazard(element), [element]
    if element.role in LINKS:
        beyond = _beyond(supply, at, other)
        kind = kind or _led_into(beyond, _after(supply, beyond, at))
        kind = kind or (UNKNOWN if element.system is None and element.system_name else "")
        kind = _treated(kind, kind in TREATED and _has_chemicals(supply, other, beyond))
    elif element.role is Role.TRAP:
        kind = "drainage"
    primed = _is_primed(supply, at) or any(is_primer(e) for e in beyond)
    if kind and not primed:
        yield _Start(element, kind, [at], beyond, stated)


def _led_into(beyond: list[Element], after: list[Element]) -> str:
    """The hazard of the piping that water passes into, or where that tells no service, of what it
    branches into: by what it is called, by the name of its system, by its service."""
    if any(says(e, NON_POTABLE) for e in beyond):
        return "non-potable"
    pipes = [e for e in beyond if e.role in (Role.PIPE, Role.FITTING)]
    into = next((_SERVICES[e.system] for e in (*pipes, *after) if e.system in _SERVICES), "")
    if into == "drainage":
        return into
    return next((said for e in (*beyond, *after) if (said := system_hazard(e))), into)


def _after(supply: Supply, beyond: list[Element], at: int) -> list[Element]:
    """What a chain of piping that tells no service branches into, that is not of the supply."""
    if not beyond or any(e.system is not None for e in beyond):
        return []
    last = supply.network.index_of(beyond[-1])
    joined = (i for i in supply.network.neighbours(last) if i != at)
    return [e for i in joined if (e := supply.elements[i]) not in beyond and e.role in LINKS]


def _has_chemicals(supply: Supply, at: int, beyond: list[Element]) -> bool:
    """Whether what is joined there, the circuit of an element, or anything of its system, is said
    to hold chemicals."""
    beyond = [*beyond, *circuit_of(supply.network, at)]
    names = {(e.system, e.system_name) for e in beyond if e.system_name}
    of_system = (e for e in supply.elements if (e.system, e.system_name) in names)
    said = any(says_text(name, CHEMICALS) for _, name in names)
    return said or any(says(e, CHEMICALS) for e in (*beyond, *of_system))


def _beyond(supply: Supply, at: int, other: int) -> list[Element]:
    """What follows in the other service, up to a branch; nothing where it leads back."""
    inside, network = set(supply.distribution.members), supply.network
    chain, before, now = [other], at, other
    while len(chain) < FAR:
        joined = neighbours(network, now)
        entered = {own for i, own, _ in joined if i == before}
        onward = [i for i, own, _ in joined if own not in entered and i not in chain]
        if len(onward) != 1:
            legs = _legs(supply, before, now)
            return [supply.elements[i] for i in dict.fromkeys([*chain, *legs])]
        before, now = now, onward[0]
        if now in inside and supply.distribution.reached(now):
            return []
        if supply.elements[now].role not in LINKS:
            break
        chain.append(now)
    return [supply.elements[i] for i in chain]


def _legs(supply: Supply, before: int, split: int) -> list[int]:
    """Where piping splits into legs that meet again past a device in each: the legs as far as
    these; nothing where anything else is led to."""
    elements, network = supply.elements, supply.network
    piping, devices, seen = [split], list[int](), {before, split}
    for index in piping:  # grows meanwhile
        for other in sorted({*network.neighbours(index)} - seen):
            seen.add(other)
            if device_of(elements[other]) is not None:
                devices.append(other)
            elif elements[other].role in LINKS and len(piping) < FAR:
                piping.append(other)
            else:
                return []
    are_passed = any(len({*network.neighbours(i)} & {*piping}) > 1 for i in devices)
    return [] if are_passed or len(devices) < 2 else [*piping, *devices]


def _serves_clean(supply: Supply, fouled: set[int]) -> list[float]:
    """Element -> how many pipes it feeds that lead to no hazard."""
    made = supply.distribution
    clean = {c.up for c in made.connections if c.up not in fouled}
    clean |= {heater for heater in supply.heaters if made.up[heater] not in fouled}
    return made.how_many(clean)


def _upstream(supply: Supply, at: int, clean: list[float]) -> list[Element]:
    """The piping before a connection that serves nothing but hazards."""
    fouled = takewhile(lambda i: not clean[i], onward(at, supply.distribution.up))
    return [supply.elements[i] for i in fouled]
