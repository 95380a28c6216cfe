"""Where drainage ends: the outlets a model or a job file names, and where stranded drains stop."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ifclint.ifc.elements import Point, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.receptors import RECEPTOR, receptor_under
from ifclint.plumbing.floors import Floors
from ifclint.plumbing.flow.paths import Paths
from ifclint.plumbing.flow.places import Flags, Ints, Places

LEAVING = frozenset({"sewer-connection", "septic-tank"})
PASSED_THROUGH = frozenset({"manhole", "inspection-chamber", ""})  # "": of no known kind
ENDING = frozenset({"ENTRY", "EXIT"})  # PredefinedType of a fitting where piping meets the outside
NEAR_LOWEST_M = 0.05  # so near the lowest place of its piping such a fitting is where it leaves
PUMPED = frozenset({"sump"})


@dataclass(frozen=True, slots=True)
class Outlet:
    """Where drainage ends. `accepted` is False where it merely stops in the model."""

    element: int
    position: Point | None
    kind: str  # "sewer-connection", "manhole", "named in the job file", "pumped", "open end", ...
    basis: str
    accepted: bool
    certain: bool = True  # False where an outlet was taken for want of a better one


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


def _open_ends(piping: GravityPiping) -> Iterable[tuple[int, int]]:
    """(element, place) of the ends of pipes and fittings that nothing is joined to.

    A fitting that says the flow leaves by it (IfcPipeFitting EXIT) is open at all of its ends.
    """
    for index in piping.members:
        element = piping.network.elements[index]
        if element.role in (Role.PIPE, Role.FITTING) and element.kind != "cap":
            for place in piping.places.ends_at[index]:
                is_open = piping.ends_of_place[place] == 1 or element.kind == "exit"
                if is_open and piping.places.points[place] is not None:
                    yield index, place


def named_outlets(
    piping: GravityPiping, job_outlets: Sequence[str], sources: Sequence[int]
) -> list[Outlet]:
    """The outlets the job file or the model names; where there is none, open ends that lead out."""
    elements = piping.network.elements
    label = piping.paths.components()
    named = set(job_outlets)
    found: list[Outlet] = []
    floors = piping.floors
    chambers: dict[int, int] = {}  # component -> its lowest chamber
    endings: dict[int, int] = {}  # component -> its lowest entry or exit fitting
    for node, index in enumerate(piping.members):
        element = elements[index]
        if element.guid in named:
            found.append(Outlet(index, element.position, "named", "job file", True))
        elif element.role is Role.CHAMBER and element.kind in LEAVING:
            found.append(Outlet(index, element.position, element.kind, "model", True))
        elif element.role is Role.CHAMBER and element.kind in PUMPED:
            found.append(Outlet(index, element.position, "pumped", "model", True))
        elif element.role is Role.CHAMBER and element.kind in PASSED_THROUGH:
            lowest = chambers.get(label[node])
            if lowest is None or piping.lowest(index) < piping.lowest(lowest):
                chambers[label[node]] = index
        elif element.role is Role.FITTING and element.predefined_type.upper() in ENDING:
            lowest = endings.get(label[node])
            if lowest is None or piping.lowest(index) < piping.lowest(lowest):
                endings[label[node]] = index
    served = {int(label[piping.node_of[o.element]]) for o in found if o.kind != "pumped"}
    for component, index in _where_piping_ends(piping, label, endings):
        if component not in served:
            served.add(component)
            found.append(Outlet(index, elements[index].position, "exit fitting", "model", True))
    for component, index in chambers.items():
        if component not in served:
            served.add(int(component))
            element = elements[index]
            basis = "the lowest chamber of its piping"
            certain = not floors.likely or bool(floors.is_below_lowest(piping.lowest(index)))
            found.append(Outlet(index, element.position, element.kind, basis, True, certain))
    return found if served else found + _leaving_open_ends(piping, label, sources)


def _leaving_open_ends(piping: GravityPiping, label: Ints, sources: Sequence[int]) -> list[Outlet]:
    """Where the model names no outlet at all: the lowest open end of each part, if it lies below
    the lowest floor or, less certainly, takes at least half of the fixtures."""
    floors = piping.floors
    fixtures = Counter(int(label[piping.node_of[i]]) for i in sources)
    found = []
    for index, place in _lowest_open_ends(piping, label):
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


def _lowest_open_ends(piping: GravityPiping, label: Ints) -> list[tuple[int, int]]:
    """The lowest open end of each component."""
    lowest: dict[int, tuple[int, int]] = {}
    for index, place in _open_ends(piping):
        component = int(label[piping.node_of[index]])
        best = lowest.get(component)
        if best is None or piping.height(place) < piping.height(best[1]):
            lowest[component] = (index, place)
    return list(lowest.values())


def _where_piping_ends(
    piping: GravityPiping, label: Ints, endings: Mapping[int, int]
) -> list[tuple[int, int]]:
    """Those entry and exit fittings that are the lowest of their piping: others are a vent's."""
    if not endings:
        return []
    lowest: dict[int, float] = {}
    for node, index in enumerate(piping.members):
        component = int(label[node])
        lowest[component] = min(lowest.get(component, float("inf")), piping.lowest(index))
    return [
        (int(component), index)
        for component, index in endings.items()
        if piping.lowest(index) <= lowest[int(component)] + NEAR_LOWEST_M
    ]


def _open_stop(piping: GravityPiping, index: int, at: Point | None) -> Outlet:
    """An open end where water leaves: into a receptor under it, or onto the floor."""
    receptor = receptor_under(piping.network, at)
    if receptor is None:
        return Outlet(index, at, "open end", "nothing is joined to it", False)
    return Outlet(index, at, RECEPTOR, f"it ends over {receptor.label}", True)


def stops(piping: GravityPiping, stranded: Flags) -> list[Outlet]:
    """Where the water of stranded piping ends up: its lowest open end, else its lowest point.

    An open end over a receptor is where indirect waste may end."""
    label = piping.paths.components(stranded)
    stops: dict[int, Outlet] = {}
    for index in piping.members:
        node = piping.node_of[index]
        element = piping.network.elements[index]
        if stranded[node] and element.role is Role.PUMP:
            component = int(label[node])
            stops[component] = Outlet(index, element.position, "pumped", "model", True)
    open_ends: dict[int, tuple[int, int]] = {}
    for index, place in _open_ends(piping):
        if not stranded[piping.node_of[index]] or not stranded[piping.shift + place]:
            continue
        component = int(label[piping.node_of[index]])
        best = open_ends.get(component)
        if best is None or piping.height(place) < piping.height(best[1]):
            open_ends[component] = (index, place)
    for component, (index, place) in open_ends.items():
        stops.setdefault(component, _open_stop(piping, index, piping.places.points[place]))
    lowest: dict[int, int] = {}
    for index in piping.members:
        component = int(label[piping.node_of[index]])
        if stranded[piping.node_of[index]] and component not in stops:
            best_index = lowest.get(component)
            if best_index is None or piping.lowest(index) < piping.lowest(best_index):
                lowest[component] = index
    for component, index in lowest.items():
        position = piping.network.elements[index].position
        stops[component] = Outlet(index, position, "low point", "its lowest element", False)
    return list(stops.values())
