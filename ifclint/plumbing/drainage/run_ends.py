"""Where one run of drain ends and the next begins, and which of those that meet in a fitting goes
straight through it."""

from dataclasses import dataclass
from math import dist, isclose

from ifclint.engineering.arithmetic import largest
from ifclint.engineering.directions import angle_deg, direction, rise_deg
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.ifc.elements import Point, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.orientation import counts_as_vertical
from ifclint.plumbing.drainage.services import Service, vents_of
from ifclint.plumbing.flow.places import HOLDING

FALLS = 1e-4  # of its length: pipe that falls less was drawn level. Ours, no source
LEVEL_SHARE = 0.9  # of the lying drains, by length: where as much is level, no fall was drawn. Ours
STRAIGHT_DEG = 30.0  # a run that bends less goes straight through a fitting. Ours, no source


def last_branches(network: Network, drainage: Drainage, wet: list[bool]) -> set[int]:
    """The fittings in which drains come in at the side alone, while the run goes on straight, no
    smaller, to a cleanout; and the pipes that begin so where no fitting is drawn."""
    toward_cleanout = drainage.passed_by(
        i for i in drainage.members if network.elements[i].role is Role.CLEANOUT
    )
    found = set()
    for index in drainage.members:
        into = drainage.beyond[index]
        is_joint = network.elements[index].role in (Role.FITTING, Role.PIPE)
        if not wet[index] or len(into) < 2 or not is_joint:
            continue
        dry = [i for i in into if not wet[i] and toward_cleanout[i]]
        drains = [i for i in into if wet[i]]
        if not dry or not drains or any(goes_straight(drainage, i, index) for i in drains):
            continue
        sizes = (network.elements[i].size_in for i in drains)
        of_drains = largest(size for size in sizes if size is not None)
        for i in dry:
            size = network.elements[i].size_in
            if goes_straight(drainage, i, index) and (
                size is None or at_least(size, of_drains, "in")
            ):
                found.add(index)
    return found


def goes_straight(drainage: Drainage, above: int, index: int) -> bool:
    """Whether what comes from above leaves a fitting, or runs on in a pipe, in the direction in
    which it came in."""
    place, leaving = drainage.exit_place[above], drainage.exit_place[index]
    if place == NONE or leaving == NONE:
        return False
    points = (drainage.places[place], drainage.middles[index], drainage.places[leaving])
    entered, middle, left = points
    if entered is None or middle is None or left is None:
        return False
    came, went = direction(entered, middle), direction(middle, left)
    if all(drainage.elements[i].role is Role.PIPE for i in (above, index)):
        came = direction(drainage.middles[above] or entered, entered)
    if came is None or went is None:
        return False
    return at_most(angle_deg(came, went), STRAIGHT_DEG, "deg")


@dataclass
class Topology:
    """The forest seen from its junctions."""

    network: Network
    drainage: Drainage
    service: list[Service]
    junction: list[bool]
    drawn_level: bool = False


def topology_of(network: Network, drainage: Drainage, service: list[Service]) -> Topology:
    elements = network.elements
    inflows = [0] * len(elements)
    at_place: dict[int, int] = {}
    wet = [s is Service.DRAIN for s in service]
    vents = vents_of(network, drainage, service, wet)
    for index in drainage.members:
        below = drainage.down[index]
        if below != NONE and (service[index] is Service.DRAIN or index in vents):
            inflows[below] += 1
            place = drainage.exit_place[index]
            at_place[place] = at_place.get(place, 0) + 1
    junction = [count > 1 for count in inflows]
    for index in drainage.members:
        if at_place.get(drainage.exit_place[index], 0) > 1 and drainage.down[index] != NONE:
            junction[drainage.down[index]] = True
    held = (index for index in drainage.members if elements[index].role in HOLDING)
    ended = last_branches(network, drainage, wet)
    for index in (*_where_vents_meet(drainage, service), *ended, *held):
        junction[index] = True
    topology = Topology(network, drainage, service, junction)
    topology.drawn_level = _drawn_level(topology)
    return topology


def _where_vents_meet(drainage: Drainage, service: list[Service]) -> list[int]:
    """Dry vents that more than two others join. Water flows apart there, air together."""
    at: dict[int, list[int]] = {}
    vents = [i for i in drainage.members if service[i] is Service.VENT]
    for index in vents:
        for place in dict.fromkeys(drainage.ends_at[index]):
            at.setdefault(place, []).append(index)
    joined = {i: {o for p in drainage.ends_at[i] for o in at[p]} - {i} for i in vents}
    return [index for index, others in joined.items() if len(others) > 2]


def _drawn_level(topology: Topology) -> bool:
    """True where hardly any near-horizontal drain of the whole model falls: no fall was drawn."""
    level_m = whole_m = 0.0
    for index in topology.drainage.members:
        element = topology.network.elements[index]
        if element.role is Role.PIPE and len(element.ends) > 1:
            a, b = element.ends[0].position, element.ends[1].position
            way = direction(a, b)
            if a is None or b is None or way is None or counts_as_vertical(abs(rise_deg(way))):
                continue
            whole_m += dist(a, b)
            level_m += dist(a, b) if is_level(way) else 0.0
    return level_m > 0 and level_m >= LEVEL_SHARE * whole_m


def is_level(way: Point) -> bool:
    return isclose(way[2], 0.0, abs_tol=FALLS)
