"""What can foul the potable water: equipment that takes it, and piping of other services."""

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import takewhile

from ifclint.engineering.joined import NONE, by_steps, onward
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing.drainage.through_air import COMMERCIAL
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.supply.fills import fill_of
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.plumbing.words import says
from ifclint.rules.protection.cross_connections import (
    LINKS,
    Start,
    has_chemicals,
    is_primed,
    of_services,
    of_wells,
)
from ifclint.rules.protection.devices import Device, device_of
from ifclint.rules.protection.hazard_names import (
    CHEMICALS,
    HUMIDIFIER,
    basin,
    hazard_said,
    named_hazard,
    system_hazard,
    treated,
)

# that a line ends in
ENDING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP, Role.OTHER})
IN_FLOORS = frozenset({"floor-drain", "floor-sink", "trench-drain"})
IRRIGATION = frozenset({"irrigation", "irrigation-chemicals"})
CIRCUITS = (  # what a tank that takes potable water and gives none is part of
    "chilled water", "cooling water", "heating water", "heating system", "hydronic", "glycol*",
    "glykol*", "buffer tank", "feed water", "feedwater", "condensate return", "heizung*",
    "eau glacee", "agua helada", "antifreeze", "solar",
)  # fmt: skip
SPRAYS = ("spray", "douche", "ascending spray", "shattaf", "handbrause", "douchette")  # of bidets
PLAIN_SPOUTS = ("plain spout", "plain end spout", "plain end faucet", "fixed spout", "plain outlet")
_OF_KIND = {
    "beverage-dispenser": "carbonated-beverages", "coffee-machine": "still-beverages",
    "irrigation": "irrigation", "fire-sprinklers": "fire-sprinklers",
    "dental-unit": "medical", "sterilizer": "medical", "washer-disinfector": "medical",
    "dialysis-machine": "medical",
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
    starts += [*of_services(supply), *of_wells(supply), *_of_ends(supply)]
    starts += (
        Start(supply.elements[i], kind, [supply.distribution.up[i]], [])
        for i, kind in tanks.items()
    )
    over = {(f.at, f.over.guid) for s in supply.segments if (f := fill_of(s)) is not None}
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


def _of_fixtures(context: Context) -> Iterator[Start]:
    """Fixtures and appliances that can foul their water, with the piping that feeds them."""
    for fixture in context.plumbing.supply.fixtures:
        element = fixture.element
        kind = "" if fixture.kind == "hose-bibb" else named_hazard(element)
        kind = kind or treated(_OF_KIND.get(fixture.kind, ""), says(element, CHEMICALS))
        kind = kind or (basin(element) if fixture.known_kind is None else "")
        if fixture.kind == "dishwasher" and says(element, COMMERCIAL):
            kind = "commercial-dishwasher"
        ats = [t.connection.up for t in fixture.fed]
        if fixture.kind == "bidet" and says(element, SPRAYS):
            kind = "hand-spray"
        if kind == "laboratory" and says(element, PLAIN_SPOUTS):
            continue  # it pours through the air
        if kind and ats:
            # piping of irrigation begins here; other equipment may have its device within
            yield Start(element, kind, ats, [] if kind in IRRIGATION else [element])


def _of_drains(supply: Supply) -> Iterator[Start]:
    """Drains in floors that water is led to, though no primer stands in its path."""
    for fixture in supply.fixtures:
        ats = [t.connection.up for t in fixture.fed] if fixture.kind in IN_FLOORS else []
        ats = [at for at in ats if not is_primed(supply, at)]
        if ats:
            yield Start(fixture.element, "drainage", ats, [])


def _foul_tanks(supply: Supply) -> dict[int, str]:
    """The tanks that potable water comes to and that are called a hazard, with what."""
    made, down = supply.distribution, supply.distribution.down()
    tanks = (i for i in made.order if supply.elements[i].role is Role.TANK and made.up[i] != NONE)
    kinds = {i: named_hazard(supply.elements[i]) or basin(supply.elements[i]) for i in tanks}
    for i, kind in kinds.items():
        if not kind and not down[i] and says(supply.elements[i], CIRCUITS):
            kinds[i] = treated("boiler-make-up", has_chemicals(supply, i, []))
    return {i: kind for i, kind in kinds.items() if kind}


def _fed_from(supply: Supply, tanks: Collection[int]) -> set[int]:
    """Where fixtures are fed from some tanks."""
    fed = supply.distribution.connections if tanks else ()
    return {c.up for c in fed if any(i in tanks for i in onward(c.up, supply.distribution.up))}


def _of_ends(supply: Supply) -> Iterator[Start]:
    """Where a line ends, and its name, that of its system or what it is joined to says what it
    leads to."""
    for segment in supply.segments:
        last, at = segment.elements[-1], segment.indexes[-1]
        is_end = not segment.below and segment.connection is None
        if is_end and last.role in ENDING and last.kind != "relief":
            kind = "" if last.role is Role.PIPE else named_hazard(last)
            kind = kind or treated(_OF_KIND.get(last.kind, ""), says(last, CHEMICALS))
            beyond = "" if kind else segment.leads_to or ""
            if kind := kind or hazard_said(beyond):
                yield Start(last, kind, [at], [], called=beyond)
            elif kind := system_hazard(last):
                yield Start(last, kind, [at], [])


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
