"""Which elements are drainage, and which of them give it water."""

from collections.abc import Collection
from itertools import takewhile

from ifclint.engineering.joined import NONE, by_steps, onward
from ifclint.ifc.building.by_place import is_classed_roof_drain
from ifclint.ifc.elements import DRAINAGE, Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.hoses import WASHER, drains_into_receptor
from ifclint.plumbing.words import says_text

_DRAINAGE_ROLES = frozenset(
    {Role.TRAP, Role.CLEANOUT, Role.VENT_TERMINAL, Role.INTERCEPTOR, Role.CHAMBER}
)
INDIRECT = frozenset({"pan-drain"})  # drains in an emergency, into the open
MAY_DRAIN = frozenset({"ice-maker", "emergency-fixture"})  # have a drain, or none
NO_DRAIN = frozenset({"hose-bibb", "roof-drain"}) | MAY_DRAIN | INDIRECT
IN_FLOORS = frozenset({"floor-drain", "floor-sink"})
OUTDOORS = (
    "area drain", "yard", "courtyard", "trench drain", "planter", "plaza", "deck", "ramp",
    "areaway", "terrace", "balcony", "roof", "hofablauf", "terrasse", "entwasserungsrinne",
    "patio", "terraza", "cour", "binnenplaats", "dakterras",
)  # fmt: skip
OWN_DRAIN = frozenset({"dishwasher-appliance", WASHER})
_MAY_DRAIN = frozenset({Role.APPLIANCE, Role.HEATER, Role.TANK})


def drain_sources(network: Network) -> list[int]:
    """What gives water to the drainage, in the order of the model.

    Fixtures, appliances that drain by a pipe of their own, and whatever else is joined to a drain
    or a trap: a softener, an ice maker, condensate. A washer that empties into a standpipe which is
    itself a fixture of the model is none: the standpipe stands for it.
    """
    receptors = drains_into_receptor(network)
    return [i for i in range(len(network.elements)) if i not in receptors and _gives(network, i)]


def _gives(network: Network, index: int) -> bool:
    element = network.elements[index]
    dry = is_dry_toilet(element)  # its exhaust is no drain; what seeps from it may have one
    if element.role is Role.FIXTURE and element.kind not in NO_DRAIN and not dry:
        return not takes_rain(element)
    if element.role is Role.APPLIANCE and element.kind in OWN_DRAIN:
        return True
    may = dry or element.role in _MAY_DRAIN or element.kind in MAY_DRAIN
    return may and any(_takes(network, i) for i in network.neighbours(index))


def is_dry_toilet(element: Element) -> bool:
    """Whether it is a toilet that composts, burns or holds what falls into it."""
    return element.kind == "water-closet" and element.properties.flag("nonwater") is True


def takes_rain(element: Element) -> bool:
    """Whether a drain in a floor takes storm water: it is classed as a roof drain, or in that
    service, and it or its place is called so. Any other on a storm drain is a fixture that drains
    where it may not."""
    if element.kind in IN_FLOORS and is_classed_roof_drain(element):
        return element.system in (None, System.STORM)
    if element.kind not in IN_FLOORS or element.system is not System.STORM:
        return False
    return says_text(f"{element.called} {element.space}", OUTDOORS)


def _takes(network: Network, index: int) -> bool:
    """Whether an element takes what drains: a trap, or sanitary pipe."""
    element = network.elements[index]
    if element.role is Role.TRAP:
        return element.system in (None, System.SANITARY)
    if element.kind == "cap":  # a plugged opening drains nothing
        return False
    return element.system is System.SANITARY and element.role in (Role.PIPE, Role.FITTING)


def drainage_members(network: Network, sources: Collection[int]) -> list[int]:
    """The drainage elements: by system, by what they are, or joined to a trap with no system."""
    elements, giving = network.elements, frozenset(sources)
    inside = [
        element.system in DRAINAGE
        or index in giving
        or element.kind in INDIRECT
        or (element.role in _DRAINAGE_ROLES and element.system is None)
        for index, element in enumerate(elements)
    ]
    frontier = [
        i
        for i, element in enumerate(elements)
        if inside[i] and (element.role in (Role.PIPE, Role.FITTING, *_DRAINAGE_ROLES))
    ]
    piping = by_steps(frontier, lambda i: (n for n, _ in network.joined[i] if not inside[n] and (
        elements[n].system is None and elements[n].role in (Role.PIPE, Role.FITTING)
    )))  # fmt: skip
    return [i for i, is_member in enumerate(inside) if is_member or i in piping]


def bare_heads(
    network: Network, outlet: list[int], above: list[list[int]], fed: set[int]
) -> list[int]:
    """The upper ends of sanitary pipe that leads to an outlet of which none is fed by a source, as
    on a drawing of the site alone: water enters there that comes from what is not drawn."""
    return [
        i
        for i, element in enumerate(network.elements)
        if element.role is Role.PIPE and element.system is System.SANITARY and not above[i]
        if outlet[i] != NONE and outlet[i] not in fed
    ]


def bare_traps(network: Network, wet: list[bool], down: list[int]) -> list[int]:
    """Traps that nothing drawn drains through: what stands above them is not in the model.

    Of several in a row, the upper one.
    """
    bare = {i for i in network.of_roles(Role.TRAP) if not wet[i] and down[i] != NONE}
    below: set[int] = set()
    for index in bare:
        below.update(takewhile(lambda i: i not in below, onward(down[index], down)))
    return sorted(bare - below)
