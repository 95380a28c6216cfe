"""Where drainage ends: the outlets a model or a job file names, and where stranded drains stop."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from ifclint.ifc.elements import Element, Point, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.receptors import RECEPTOR, receptor_under
from ifclint.plumbing.floors import Floors
from ifclint.plumbing.flow.paths import Paths
from ifclint.plumbing.flow.places import Flags, Ints, Places
from ifclint.plumbing.flow.tie_ins import TIE_IN, is_tie_in

LEAVING = frozenset({"sewer-connection", "septic-tank"})
PASSED_THROUGH = frozenset({"manhole", "inspection-chamber", ""})  # "": of no known kind
ENDING = frozenset({"ENTRY", "EXIT"})  # PredefinedType of a fitting where piping meets the outside
NEAR_LOWEST_M = 0.05  # so near the lowest place of its piping such a fitting is where it leaves
PUMPED = frozenset({"sump"})
VACUUM_PUMP = "vacuum-pump"
LEVEL_M = 0.002  # a smaller difference in height is none
GRAVITY_CLIMB_M = 0.30  # a path that climbs more in all is a vent, not a drain


@dataclass(frozen=True, slots=True)
class Outlet:
    """Where drainage ends. `accepted` is False where it merely stops in the model."""

    element: int
    position: Point | None
    kind: str  # "sewer-connection", "manhole", "named in the job file", "pumped", "open end", ...
    basis: str
    accepted: bool
    certain: bool = True  # False where it was taken for want of a better one


def is_sump(element: Element) -> bool:
    return element.role is Role.CHAMBER and element.kind in PUMPED


class GravityPiping:
    """The drainage before it is directed: its members, their places and the paths between them."""

    def __init__(self, network: Network, places: Places, paths: Paths, floors: Floors) -> None:
        self.network, self.places, self.paths, self.floors = network, places, paths, floors
        self.members = places.members
        self.shift = len(places.members)  # nodes are the members, then the places
        self.node_of = {index: node for node, index in enumerate(places.members)}
        self.ends_of_place = np.bincount(places.place_of_end, minlength=len(places.points))

    def height(self, place: int) -> float:
        """How high a place lies; infinite where that is not known."""
        point = self.places.points[place]
        return point[2] if point is not None else float("inf")

    def lowest(self, index: int) -> float:
        """How high the lowest place of an element lies."""
        return min((self.height(p) for p in self.places.ends_at[index]), default=float("inf"))


def _open_ends(piping: GravityPiping, members: Iterable[int]) -> list[tuple[int, int]]:
    """(element, place) of the ends of pipes and fittings that nothing is joined to.

    A fitting that says the flow leaves by it (IfcPipeFitting EXIT) is open at all of its ends.
    """
    elements, places = piping.network.elements, piping.places
    return [
        (index, place)
        for index in members
        if elements[index].role in (Role.PIPE, Role.FITTING) and elements[index].kind != "cap"
        for place in places.ends_at[index]
        if piping.ends_of_place[place] == 1 or elements[index].kind == "exit"
        if places.points[place] is not None
    ]


def named_outlets(
    piping: GravityPiping, job_outlets: Sequence[str], sources: Sequence[int]
) -> list[Outlet]:
    """The outlets the job file or the model names; where there is none, open ends that lead out."""
    elements = piping.network.elements
    label = piping.paths.components()
    named = set(job_outlets)
    found: list[Outlet] = []
    chambers: dict[int, list[int]] = defaultdict(list)  # of each component
    endings: dict[int, list[int]] = defaultdict(list)  # its entry and exit fittings
    for node, index in enumerate(piping.members):
        element = elements[index]
        if element.guid in named:
            found.append(Outlet(index, element.position, "named", "job file", True))
        elif element.role is Role.CHAMBER and element.kind in LEAVING:
            found.append(Outlet(index, element.position, element.kind, "model", True))
        elif is_sump(element):
            found.append(Outlet(index, element.position, "pumped", "model", True))
        elif element.role is Role.CHAMBER and element.kind in PASSED_THROUGH:
            chambers[int(label[node])].append(index)
        elif element.role is Role.FITTING and _is_end_of_model(piping.network, index):
            endings[int(label[node])].append(index)
    served = {int(label[piping.node_of[o.element]]) for o in found if o.kind != "pumped"}
    for component, index in _where_piping_ends(piping, label, endings):
        if component not in served:
            served.add(component)
            kind = TIE_IN if elements[index].kind == TIE_IN else "exit fitting"
            found.append(Outlet(index, elements[index].position, kind, "model", True))
    for component, several in chambers.items():
        if component not in served:
            served.add(component)
            found.append(_lowest_chamber(piping, several))
    if served:
        return found
    into_sumps = _into_sumps(piping, [o.element for o in found])
    return found + _leaving_open_ends(piping, label, sources, into_sumps)


def _is_end_of_model(network: Network, fitting: int) -> bool:
    literal = network.elements[fitting].predefined_type.upper()
    return literal in ENDING or is_tie_in(network, fitting)


def _into_sumps(piping: GravityPiping, sumps: Sequence[int]) -> set[int]:
    """The places from which piping leads to a sump, past no pump, all the way down or, laid the
    wrong way, a little up: what is open there begins, as a foundation drain does."""
    if not sumps:
        return set()
    is_pump = [piping.network.elements[i].role is Role.PUMP for i in piping.members]
    past_pumps = np.ones(piping.paths.size, dtype=bool)
    past_pumps[: piping.shift] = ~np.array(is_pump)
    reached = piping.paths.search([piping.node_of[i] for i in sumps], past_pumps)
    after = reached.before.tolist()
    return {
        place
        for place in range(len(piping.places.points))
        if np.isfinite(reached.far[piping.shift + place]) and _runs_to(piping, place, after)
    }


def _runs_to(piping: GravityPiping, place: int, after: Sequence[int]) -> bool:
    """Whether the path from a place only falls, or only rises and that a little."""
    rise = fall = 0.0
    node, before = piping.shift + place, piping.height(place)
    while node >= 0:
        here = piping.height(node - piping.shift) if node >= piping.shift else inf
        if here < inf:
            rise, fall = rise + max(here - before, 0.0), fall + max(before - here, 0.0)
            before = here
        node = after[node]
    return rise <= LEVEL_M or (rise <= GRAVITY_CLIMB_M and fall <= LEVEL_M)


def _lowest_chamber(piping: GravityPiping, chambers: list[int]) -> Outlet:
    index, floors = min(chambers, key=piping.lowest), piping.floors
    element = piping.network.elements[index]
    basis = "the lowest chamber of its piping"
    certain = not floors.likely or bool(floors.is_below_lowest(piping.lowest(index)))
    return Outlet(index, element.position, element.kind, basis, True, certain)


def _leaving_open_ends(
    piping: GravityPiping, label: Ints, sources: Sequence[int], into_sumps: Collection[int]
) -> list[Outlet]:
    """Where the model names no outlet at all: the lowest open end of each part, if it lies below
    the lowest floor or, less certainly, takes at least half of the fixtures; none that leads into
    a sump."""
    floors = piping.floors
    fixtures = Counter(int(label[piping.node_of[i]]) for i in sources)
    found = []
    for index, place in _lowest_open_ends(piping, label, into_sumps):
        component = int(label[piping.node_of[index]])
        certain = floors.is_below_lowest(piping.height(place)) or False
        if certain:
            basis = "the lowest open end of its piping, below the lowest floor"
        elif 2 * fixtures[component] >= len(sources) > 0:
            basis = "the lowest open end of the piping that takes most fixtures"
        else:
            continue
        found.append(Outlet(index, piping.places.points[place], "open end", basis, True, certain))
    return found


def _lowest_open_ends(
    piping: GravityPiping, label: Ints, into_sumps: Collection[int]
) -> list[tuple[int, int]]:
    """The lowest open end of each component, those apart that lead into a sump."""
    ends: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for index, place in _open_ends(piping, piping.members):
        if place not in into_sumps:
            ends[int(label[piping.node_of[index]])].append((index, place))
    return [_lowest_of(piping, several) for several in ends.values()]


def _lowest_of(piping: GravityPiping, ends: list[tuple[int, int]]) -> tuple[int, int]:
    return min(ends, key=lambda end: piping.height(end[1]))


def _where_piping_ends(
    piping: GravityPiping, label: Ints, endings: Mapping[int, list[int]]
) -> list[tuple[int, int]]:
    """Those entry and exit fittings that are the lowest of their piping: others are a vent's."""
    lowest = {component: min(found, key=piping.lowest) for component, found in endings.items()}
    feet = _feet(piping, label, lowest)
    return [
        (component, index)
        for component, index in lowest.items()
        if piping.lowest(index) <= feet[component] + NEAR_LOWEST_M
    ]


def _feet(piping: GravityPiping, label: Ints, components: Collection[int]) -> dict[int, float]:
    """How high the lowest place of some components lies."""
    feet = dict.fromkeys(components, inf)
    for node, index in enumerate(piping.members):
        if (component := int(label[node])) in feet:
            feet[component] = min(feet[component], piping.lowest(index))
    return feet


def _open_stop(piping: GravityPiping, index: int, at: Point | None) -> Outlet:
    """An open end where water leaves: into a receptor under it, or onto the floor."""
    receptor = receptor_under(piping.network, at)
    if receptor is None:
        return Outlet(index, at, "open end", "nothing is joined to it", False)
    return Outlet(index, at, RECEPTOR, f"it ends over {receptor.label}", True)


def stops(piping: GravityPiping, stranded: Flags) -> list[Outlet]:
    """Where the water of stranded piping ends up: its pump, else its lowest open end, else its
    lowest point.

    An open end over a receptor is where indirect waste may end: of several, as of a sink of three
    compartments, each."""
    label = piping.paths.components(stranded)
    stranded_of: dict[int, list[int]] = defaultdict(list)
    for node, index in enumerate(piping.members):
        if stranded[node]:
            stranded_of[int(label[node])].append(index)
    found = (_stops(piping, members, stranded) for members in stranded_of.values())
    return [outlet for several in found for outlet in several]


def _gives(piping: GravityPiping, index: int, over_receptor: bool) -> bool:
    """Whether a pump is where water comes from: a vacuum pump, or one whose only line ends over a
    receptor."""
    if piping.network.elements[index].kind == VACUUM_PUMP:
        return True
    return over_receptor and len(piping.network.neighbours(index)) == 1


def _stops(piping: GravityPiping, members: list[int], stranded: Flags) -> list[Outlet]:
    """Where the water of one component of stranded piping ends up."""
    elements = piping.network.elements
    ends = [end for end in _open_ends(piping, members) if stranded[piping.shift + end[1]]]
    ends.sort(key=lambda end: piping.height(end[1]))
    found = [_open_stop(piping, i, piping.places.points[place]) for i, place in ends]
    over_receptor = any(o.kind == RECEPTOR for o in found)
    for index in members:
        if elements[index].role is Role.PUMP and not _gives(piping, index, over_receptor):
            return [Outlet(index, elements[index].position, "pumped", "model", True)]
    if found:
        others = (o for o in found[1:] if o.kind == RECEPTOR and o.element != found[0].element)
        return [found[0], *(others if found[0].kind == RECEPTOR else ())]
    index = min(members, key=lambda i: (piping.lowest(i), not _leaves(piping.network, i)))
    known = piping.lowest(index) < inf
    basis = "its lowest element" if known else "of which no height is known"
    return [Outlet(index, elements[index].position, "low point", basis, False, known)]


def _leaves(network: Network, index: int) -> bool:
    """Whether water leaves an element by an end that nothing is joined to."""
    return any(end.flow == "out" for end in network.open_ends(index))
