"""What every element is to the drainage: drain, vent, way to a cleanout, stub."""

from collections import Counter
from collections.abc import Callable, Collection
from enum import StrEnum

from ifclint.engineering.boxes import Boxes
from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import LENGTH_M
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.orientation import counts_as_vertical
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.drainage.sources import INDIRECT

# How far from the body of a fixture, in plan and below it, its drain is stubbed out: the stub turns
# out of the wall behind it, and no tailpiece is longer than 24 in (IPC 1002.1). In plan our own.
BEFORE_M, BELOW_M = 0.3, 0.61


class Service(StrEnum):
    DRAIN = "drain"
    VENT = "vent"
    CLEANOUT = "cleanout"
    STUB = "stub"  # dry, and leads to nothing
    INDIRECT = "indirect waste"  # ends in the open over a receptor
    PRESSURE = "pumped discharge"  # runs full, from a pump to the drain that takes it


def services(
    network: Network,
    drainage: Drainage,
    sources: Collection[int],
    is_above_roof: Callable[[Point], bool] = lambda _: False,
) -> list[Service]:
    """What every element is to the drainage: wet, dry vent, path to a cleanout, or a stub. A pipe
    that ends open above the roof ends a vent, whatever it is called."""
    elements = network.elements
    members, passed_by = drainage.members, drainage.passed_by
    wet = passed_by([*sources, *drainage.entries])
    vents = passed_by(i for i in members if elements[i].system is System.VENT)
    cleanouts = passed_by(i for i in members if elements[i].role is Role.CLEANOUT)

    indirect = [i for i in members if elements[i].kind in INDIRECT]
    fed = {drainage.outlet[index] for index in (*sources, *indirect, *drainage.entries)}

    low, high = _open_ends(network, drainage, wet)
    dangling, rising = passed_by(low), passed_by(high)
    roughed_in = passed_by(rough_ins(network, drainage, wet))
    outdoors = [i for i, point in high.items() if is_above_roof(point)]
    ends = (i for i in members if elements[i].role is Role.VENT_TERMINAL)
    terminals = passed_by([*ends, *outdoors])
    upper_ends = (i for i in members if not drainage.beyond[i] and elements[i].role is Role.PIPE)
    drained = passed_by(upper_ends)

    over = [outlet.kind == RECEPTOR for outlet in drainage.outlets]

    pressed = drainage.pressed

    def service(index: int) -> Service:
        if index in pressed:
            return Service.PRESSURE
        if drainage.outlet[index] != NONE and over[drainage.outlet[index]]:
            return Service.INDIRECT
        if wet[index] or roughed_in[index] or (dangling[index] and not terminals[index]):
            return Service.DRAIN
        is_fed = drainage.outlet[index] in fed
        if elements[index].system is System.VENT or terminals[index] or (vents[index] and is_fed):
            return Service.VENT
        if not is_fed and (drained[index] or not cleanouts[index]):
            return Service.DRAIN  # the model holds no fixture of this drainage
        return Service.CLEANOUT if cleanouts[index] and not rising[index] else Service.STUB

    found = [service(i) for i in range(len(elements))]
    for index in _below_vents(network, drainage, found, high):
        found[index] = Service.VENT
    return found


def _below_vents(
    network: Network, drainage: Drainage, service: list[Service], rising: Collection[int]
) -> list[int]:
    """The upright pipe of cleanouts that a vent joins above: air passes it on from the drain.
    `rising` are the dry pipes that end open above all fixtures."""
    found = []
    for vent in sorted(_of_vents(network, drainage, service, rising)):
        for index in onward(drainage.down[vent], drainage.down):
            if service[index] is not Service.CLEANOUT or _lies_level(network.elements[index]):
                break
            found.append(index)
    return found


def _lies_level(element: Element) -> bool:
    ends = [end.position for end in element.ends]
    way = direction(ends[0], ends[-1]) if element.role is Role.PIPE and len(ends) > 1 else None
    return way is not None and not counts_as_vertical(abs(rise_deg(way)))


def dangling_ends(network: Network, drainage: Drainage, wet: list[bool]) -> list[int]:
    """Dry sanitary pipes that end open no higher than the fixtures: what they take is not drawn."""
    return _open_ends(network, drainage, wet)[0]


def _open_ends(
    network: Network, drainage: Drainage, wet: list[bool]
) -> tuple[list[int], dict[int, Point]]:
    """Dry sanitary pipes that end open no higher than the fixtures, and where those do that end
    above.

    An open end above every fixture is that of a vent; on the inlet of a trap stands no vent, but a
    standpipe or tailpiece, however high it ends.
    """
    elements = network.elements
    rims = [e.position[2] for i, e in enumerate(elements) if wet[i] and e.position is not None]
    highest = max(rims, default=-float("inf"))
    uses = Counter(place for index in drainage.members for place in drainage.ends_at[index])
    low, high = list[int](), dict[int, Point]()
    for index in drainage.members:
        element = elements[index]
        if wet[index] or element.role is not Role.PIPE or element.system is not System.SANITARY:
            continue
        points = [
            drainage.places[place]
            for place in drainage.ends_at[index]
            if uses[place] == 1 and place != drainage.exit_place[index]
        ]
        lowest = min((p for p in points if p is not None), key=lambda p: p[2], default=None)
        if lowest is None:
            continue
        if lowest[2] <= highest or _stands_on_trap(network, drainage, wet, index):
            low.append(index)
        else:
            high[index] = lowest
    return low, high


def rough_ins(network: Network, drainage: Drainage, wet: list[bool]) -> list[int]:
    """Dry sanitary pipe and caps that end before or below a fixture at which no drain is drawn: its
    trap is set later."""
    elements = network.elements
    waiting = [elements[i] for i in drainage.sources if not drainage.joined[i]]
    bodies = [e.box or (e.position, e.position) for e in waiting if e.position is not None]
    before = Boxes(_stubs_before(*body) for body in bodies)
    uses = Counter(place for index in drainage.members for place in drainage.ends_at[index])
    found = []
    for index in drainage.members if bodies else ():
        element = elements[index]
        capped = element.kind == "cap"
        if wet[index] or element.system is not System.SANITARY:
            continue
        if not capped and element.role is not Role.PIPE:
            continue
        points = [
            drainage.places[place]
            for place in drainage.ends_at[index]
            if capped or (uses[place] == 1 and place != drainage.exit_place[index])
        ]
        if any(p is not None and before.around(p) for p in points):
            found.append(index)
    return found


def _stubs_before(low: Point, high: Point) -> tuple[Point, Point]:
    """Where the drain of a fixture with such a body is stubbed out."""
    (x, y, z), (u, v, w), by_m = low, high, BEFORE_M + LENGTH_M
    return (x - by_m, y - by_m, z - BELOW_M), (u + by_m, v + by_m, w)


def _stands_on_trap(network: Network, drainage: Drainage, wet: list[bool], index: int) -> bool:
    """Whether the first that is wet below a dry pipe is a trap."""
    first = next((i for i in onward(index, drainage.down) if wet[i]), NONE)
    return first != NONE and network.elements[first].role is Role.TRAP


def vents_of(
    network: Network, drainage: Drainage, service: list[Service], wet: list[bool]
) -> set[int]:
    """The dry piping that is joined to a vent or ends open above all fixtures, called so or not."""
    return _of_vents(network, drainage, service, _open_ends(network, drainage, wet)[1])


def _of_vents(
    network: Network, drainage: Drainage, service: list[Service], open_above: Collection[int]
) -> set[int]:
    rising = set(open_above)
    dry = [i for i in drainage.members if service[i] in (Service.VENT, Service.STUB)]
    found: set[int] = set()
    for piece in network.pieces(dry):
        if any(service[i] is Service.VENT or i in rising for i in piece):
            found |= piece
    return found
