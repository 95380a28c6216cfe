"""Roofs and what they drain to: which area each inlet takes, as far as anything tells."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, takewhile
from math import atan2, dist, inf

from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.extents import plan_m2
from ifclint.engineering.tolerance import LENGTH_M, at_most
from ifclint.ifc.elements import Element, Surface, System
from ifclint.packs import Context, derived
from ifclint.plumbing import Inlet, Storm
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import says
from ifclint.rules.storm.eaves import eaves
from ifclint.rules.storm.section import RoofArea, StormSection

ON_ROOF_M = 1.0  # a roof drain so near the top of a roof or slab stands on it. Ours, no source
LEVEL_M = 0.5  # roof drains of one height stand on one roof where none is drawn. Ours, no source
PAIR_M = 3.0  # a secondary drain so near its primary takes what that does. Ours, no source
SEVERAL = 2  # secondary drains show that each primary one was meant to have its own. Ours
UNBOUNDED = float("inf")
RECTANGLE = 4  # corners
SCUPPERS = ("scupper", "roof overflow", "wasserspeier", "spuwer", "gargola", "gargouille")


@dataclass(eq=False)
class Roof(OfElement):
    """What roof drains stand on together. `element` is the first of them."""

    element: Element
    surface: Surface | None
    inlets: list[Inlet] = field(default_factory=list)
    service = System.STORM

    @property
    def key(self) -> str:
        return f"roof of {self.element.key}"

    @property
    def label(self) -> str:
        return f'roof "{self.surface.name}"' if self.surface else f"roof at {self.element.label}"

    @property
    def primary(self) -> list[Inlet]:
        return [inlet for inlet in self.inlets if not inlet.is_secondary]

    @property
    def secondary(self) -> list[Inlet]:
        return [inlet for inlet in self.inlets if inlet.is_secondary]

    @property
    def is_one(self) -> bool:
        """Whether it is sure to be one roof, and not several of one height."""
        return self.surface is not None or len(self.primary) == 1

    @property
    def box_m2(self) -> float:
        """The plan of its box, which is no smaller than the roof; unbounded where none is drawn."""
        if self.surface is None:
            return UNBOUNDED
        return plan_m2(self.surface.low, self.surface.high)

    @property
    def plan_m2(self) -> float:
        """Its plan where all corners of its body lie over four places; 0 where it may be less than
        what its corners enclose, or they are not known."""
        surface = self.surface
        seen = {(round(x, 3), round(y, 3)) for x, y, _ in surface.corners} if surface else set()
        return _enclosed_m2(seen) if len(seen) == RECTANGLE else 0.0


def _enclosed_m2(corners: set[tuple[float, float]]) -> float:
    """The area of a convex figure by its corners."""
    x, y = (sum(c[k] for c in corners) / len(corners) for k in (0, 1))
    around = sorted(corners, key=lambda c: atan2(c[1] - y, c[0] - x))
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*around, around[0]]))) / 2


@dataclass(frozen=True)
class Area:
    """Between which areas what drains to some inlets lies (m2, walls counted by their share)."""

    low_m2: float
    high_m2: float

    def __add__(self, other: Area) -> Area:
        return Area(self.low_m2 + other.low_m2, self.high_m2 + other.high_m2)


NOTHING = Area(0.0, 0.0)


@derived
def roofs(context: Context) -> list[Roof]:
    """Every roof that has roof drains, in their order."""
    storm = context.plumbing.storm
    found: dict[object, Roof] = {}
    for inlet in storm.inlets if storm else ():
        if inlet.is_roof_drain:
            surface = _under(inlet.element, context)
            key = surface.guid if surface else _level(inlet.element)
            found.setdefault(key, Roof(inlet.element, surface)).inlets.append(inlet)
    return list(found.values())


def _under(element: Element, context: Context) -> Surface | None:
    """The roof or slab that a roof drain stands on: of those under it the nearest, then largest."""
    at = element.position
    if at is None:
        return None
    under = context.plumbing.surroundings.of_kind_around
    found = [s for kind in ("roof", "slab") for s in under(kind, at, (LENGTH_M, LENGTH_M, inf))]
    near = [s for s in found if at_most(abs(s.high[2] - at[2]), ON_ROOF_M, "m")]
    by_plan = sorted(near, key=lambda s: plan_m2(s.low, s.high), reverse=True)
    return min(by_plan, key=lambda s: round(abs(s.high[2] - at[2]), 2), default=None)


def _level(element: Element) -> object:
    return round(element.position[2] / LEVEL_M) if element.position else element.key


@derived
def told_m2(context: Context) -> dict[str, float]:
    """GlobalId -> the area it takes, by the job file, else as the model states it."""
    storm, given = context.plumbing.storm, context.job.section(StormSection).areas
    drains = [inlet.element for inlet in storm.inlets] if storm else []
    drains += [e for e in context.plumbing.network.elements if e.kind == "gutter"]
    stated = ((element, element.properties.number("drained_area_m2")) for element in drains)
    found = {element.guid: area for element, area in stated if area is not None}
    found |= {each.element: _counted(each, context) for each in given}
    for inlet, guids in ((i, _its_own(i, storm)) for i in storm.inlets) if storm else ():
        below = next((guid for guid in guids if guid in found), None)
        if below is not None:
            found.setdefault(inlet.element.guid, found[below])
    for each in eaves(context):
        if len(each.gutters) == len(each.inlets) == 1 and each.inlets[0].element.guid in found:
            found.setdefault(each.gutters[0], found[each.inlets[0].element.guid])
    return found


def _its_own(inlet: Inlet, storm: Storm) -> list[str]:
    """What the water of one inlet alone passes, as the leader below the outlet of a gutter."""
    alone = takewhile(lambda i: storm.above[i] == [inlet], storm.route(inlet))
    return [storm.network.elements[i].guid for i in alone]


def _counted(given: RoofArea, context: Context) -> float:
    """The roof, and the share of its walls that the code counts: the IRC, which sizes no storm
    drains, none."""
    shares = map(context.code.limit_or_none, ("storm_wall_share", "storm_adjacent_wall_share"))
    walls, adjacent = (0.0 if share is None else share.value for share in shares)
    return given.area + walls * given.walls + adjacent * given.adjacent_walls


def area_of(inlets: Iterable[Inlet], context: Context) -> Area:
    """What drains to some inlets together.

    Told for each by the job file or the model; else no more than the box of their roof, less what
    is told of its other drains. The one primary drain of a roof with parapets takes all of it.
    Secondary drains together take what the primary ones do, and where each stands beside one, the
    part of that. What runs in the gutters of an eave runs in the pipes below them together.
    """
    asked = set(inlets)
    told, total = {**_beside(context), **told_m2(context)}, NOTHING
    for roof in roofs(context):
        least = _least_m2(roof, context)
        primary = [i for i in roof.primary if i in asked]
        total += _of(primary, roof.primary, told, roof.box_m2, least)
        all_of_it = _of(roof.primary, roof.primary, told, roof.box_m2, least)
        own = [i for i in roof.secondary if i in asked]
        if not roof.is_one:  # some of what is drained may be another roof
            all_of_it = Area(0.0, all_of_it.high_m2)
        total += _shared(own, roof.secondary, told, all_of_it)
        asked.difference_update(roof.inlets)
    for each in eaves(context):
        own = [i for i in each.inlets if i in asked]
        most_m2 = each.most_m2(told)
        whole = Area(0.0 if most_m2 == UNBOUNDED else most_m2, most_m2)
        total += _shared(own, each.inlets, told, whole)
        asked.difference_update(own)
    for inlet in asked:  # no gutter is drawn, and no roof is known to be theirs
        area = told.get(inlet.element.guid)
        total += Area(0.0, UNBOUNDED) if area is None else Area(area, area)
    return total


@derived
def _beside(context: Context) -> dict[str, float]:
    """GlobalId -> the area that secondary drains take with the primary one beside them."""
    told = told_m2(context)
    pairs = [(s, p) for roof in roofs(context) for s, p in paired(roof).items()]
    return {s.element.guid: told[p.element.guid] for s, p in pairs if p.element.guid in told}


def paired(roof: Roof) -> dict[Inlet, Inlet]:
    """The secondary drains of a roof, each with the primary one that it stands beside; none where
    not every one of both has its own."""
    near = _near(roof)
    return near if len(near) == len(roof.primary) else {}


def without_own(roof: Roof) -> Inlet | None:
    """The first primary drain of a roof that no secondary one stands beside, where each of several
    stands beside another; None where there is none."""
    near = _near(roof)
    if len(near) < SEVERAL:
        return None
    left = (p for p in roof.primary if p not in near.values() and not p.is_dual)
    return next(left, None)


def _near(roof: Roof) -> dict[Inlet, Inlet]:
    """The secondary drains of a roof with the primary one beside each; none where one stands beside
    none, or two beside one."""
    if not roof.primary:
        return {}
    nearest = {s: min(roof.primary, key=lambda p: apart_m(s, p)) for s in roof.secondary}
    near = {s: p for s, p in nearest.items() if at_most(apart_m(s, p), PAIR_M, "m")}
    return near if len(near) == len(roof.secondary) == len(set(near.values())) else {}


def apart_m(inlet: Inlet, other: Inlet) -> float:
    """How far two drains stand apart, level; infinite where that is not known."""
    here, there = inlet.element.position, other.element.position
    return dist(here[:2], there[:2]) if here and there else inf


def _least_m2(roof: Roof, context: Context) -> float:
    """What drains to the one primary drain of a roof for certain: all, where parapets hold it."""
    parapets = context.job.section(StormSection).parapets
    alone = len(roof.primary) == 1 and not scuppers_at(roof, context)
    return roof.plan_m2 if parapets and alone else 0.0


def _of(
    own: list[Inlet], every: list[Inlet], told: dict[str, float], most_m2: float, least_m2: float
) -> Area:
    known = sum(told.get(i.element.guid, 0.0) for i in own)
    if all(i.element.guid in told for i in own):
        return Area(known, known)
    others = sum(told.get(i.element.guid, 0.0) for i in every)
    return Area(known + least_m2, known + not_below_zero(most_m2 - others))


def _shared(
    own: Sequence[Inlet], every: Sequence[Inlet], told: dict[str, float], whole: Area
) -> Area:
    """What some inlets take of what every one of them takes together."""
    known = sum(told.get(i.element.guid, 0.0) for i in own)
    unstated = [i for i in own if i.element.guid not in told]
    if not unstated:
        return Area(known, known)
    others = sum(told.get(i.element.guid, 0.0) for i in every)
    rest = Area(not_below_zero(whole.low_m2 - others), not_below_zero(whole.high_m2 - others))
    takes_all = all(i in own or i.element.guid in told for i in every)
    return Area(known + (rest.low_m2 if takes_all else 0.0), known + rest.high_m2)


@derived
def scuppers(context: Context) -> list[Element]:
    found = context.plumbing.network.elements
    return [e for e in found if e.kind == "scupper" or says(e, SCUPPERS)]


def scuppers_at(roof: Roof, context: Context) -> list[Element]:
    """The scuppers at the height of a roof."""
    here = roof.element.position
    if here is None:
        return []
    level = ((e, e.position) for e in scuppers(context))
    return [e for e, at in level if at and at_most(abs(at[2] - here[2]), ON_ROOF_M, "m")]
