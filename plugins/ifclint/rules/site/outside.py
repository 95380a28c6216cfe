"""Pipe in the ground outside the building: the building sewer, the water service."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain

from ifclint.engineering.contents import body_m
from ifclint.engineering.extents import level_m
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most, lies_below
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing import BuildingDrain, WaterService
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.plumbing.footprint import Footprint
from ifclint.plumbing.words import says_text

SHORT_M = 0.3  # what of a pipe lies outside by less is its end in the wall. Ours, no source
IN_BUILDINGS = (  # sewer pipe of these may lie inside a building too (UPC 701.2, IPC 702.2)
    "abs", "cast iron", "ductile iron", "copper", "galvanized", "stainless", "polypropylene",
    "no hub", "dwv", "schedule 40", "sch 40", "sch40",
)  # fmt: skip
IRRIGATION = (
    "irrigat*", "lawn sprinkler", "drip line", "bewasser*", "bewässer*", "arrosage", "riego",
    "beregening*",
)  # fmt: skip
SEWER_ONLY = (
    "clay", "concrete", "sdr", "sdr26", "sdr35", "d3034", "psm", "corrugated", "asbestos",
    "orangeburg", "steinzeug", "beton", "gres",
)  # fmt: skip


@dataclass(frozen=True)
class Buried:
    """The part of a pipe that lies outside, from point to point of its axis (m)."""

    pipe: Element
    a: Point
    b: Point
    drains: bool

    @property
    def radius_m(self) -> float | None:
        """Of its outside; None where its size is not known."""
        size = self.pipe.size_in
        return None if size is None else body_m(self.pipe.material, size, self.drains) / 2

    @property
    def is_level(self) -> bool:
        return at_most(abs(self.b[2] - self.a[2]), level_m(self.a, self.b), "m")

    @property
    def highest_m(self) -> float:
        return max(self.a[2], self.b[2])


def approved_inside(pipe: Element) -> bool | None:
    """Whether pipe is of a material that may lie in a building too; None where that is not stated.

    Plain "pvc" may be either: drain pipe of schedule 40, or the thinner pipe of sewers. There what
    its material, the pipe and its type are called tells.
    """
    for said in (pipe.material, pipe.properties.text("material_words"), pipe.called):
        inside, only_outside = says_text(said, IN_BUILDINGS), says_text(said, SEWER_ONLY)
        if inside != only_outside:
            return inside
    return None


@derived
def buried_sewer(context: Context, drain: BuildingDrain) -> tuple[Buried, ...] | None:
    """What of a building drain's main line lies outside; None where the building is not drawn."""
    piping = context.plumbing.venting.piping
    pipes = (i for i in drain.path if piping.is_pipe(i))
    return _outside(context, (piping.elements[i] for i in pipes), drains=True)


@derived
def buried_sewers(context: Context) -> tuple[Buried, ...] | None:
    """What lies outside of all building sewers by gravity, also of those that nothing drawn drains
    to, as on a drawing of the site alone; None where the building is not drawn."""
    drains = [d for d in context.plumbing.building_drains if d.outlet.kind != PUMPED]
    found = [buried_sewer(context, drain) for drain in drains]
    found.append(_outside(context, bare_sewers(context), drains=True))
    known = [buried for buried in found if buried is not None]
    return tuple(chain.from_iterable(known)) if len(known) == len(found) else None


@derived
def bare_sewers(context: Context) -> tuple[Element, ...]:
    """The pipe of sewers that lead by gravity to an outlet to which no fixture drawn drains."""
    piping = context.plumbing.venting.piping
    drainage, used = piping.drainage, {d.outlet.element for d in context.plumbing.building_drains}
    bare = {
        number
        for number, outlet in enumerate(drainage.outlets)
        if outlet.accepted and outlet.kind != PUMPED and outlet.element not in used
    }
    return tuple(
        e
        for i, e in enumerate(piping.elements)
        if piping.is_pipe(i)
        and piping.is_wet(i)
        and e.system is System.SANITARY
        and drainage.outlet[i] in bare
    )


@derived
def buried_service(context: Context, service: WaterService) -> tuple[Buried, ...] | None:
    """What of a water service lies outside, from its source on; likewise. Irrigation is none."""
    elements, waters = context.plumbing.supply.elements, _waters_only(context)
    fed = _fed_from(context).get(service.head, ())
    pipes = (elements[i] for i in fed if i not in waters and not _irrigates(elements[i]))
    return _outside(context, pipes, drains=False)


def _irrigates(element: Element) -> bool:
    return says_text(f"{element.system_name} {element.called}", IRRIGATION)


@derived
def _waters_only(context: Context) -> set[int]:
    """Piping that feeds irrigation and nothing else, or what is not understood: it may be that."""
    supply = context.plumbing.supply
    found = [f for f in supply.fixtures if f.kind == "irrigation"]
    others = {t.connection.up for f in supply.fixtures if f not in found for t in f.taps}
    taps = {t.connection.up for fixture in found for t in fixture.taps} - others
    watered = supply.distribution.how_many(taps)
    strange = {i for line in supply.segments if line.leads_elsewhere for i in line.indexes}
    strange |= _to_named_ends(context)
    return strange | {i for i, n in enumerate(watered) if n and supply.serves[i] <= n}


def _to_named_ends(context: Context) -> set[int]:
    """Piping whose ends are all called after irrigation, as the manifold of its zones, and at which
    no fixture takes water."""
    supply = context.plumbing.supply
    made, elements = supply.distribution, supply.elements
    ends = set(made.order).difference(made.toward[i] for i in made.order)
    named = {i for i in ends if _irrigates(elements[i])}
    to_named, to_others = made.how_many(named), made.how_many(ends - named)
    return {i for i, n in enumerate(to_named) if n and not to_others[i] and not supply.serves[i]}


@derived
def _fed_from(context: Context) -> dict[int, list[int]]:
    """Where a water service begins -> its pipes."""
    made, elements = context.plumbing.supply.distribution, context.plumbing.supply.elements
    root, found = dict[int, int](), dict[int, list[int]]()
    for index in made.order:  # the root first
        root[index] = root[made.toward[index]] if made.toward[index] != NONE else index
        if elements[index].role is Role.PIPE:
            found.setdefault(root[index], []).append(index)
    return found


def _outside(context: Context, pipes: Iterable[Element], drains: bool) -> tuple[Buried, ...] | None:
    footprint = context.plumbing.surroundings.footprint
    ground = context.ground
    if footprint is None:
        return None
    top = ground.high_m if ground is not None else float("inf")
    return tuple(
        Buried(pipe, a, b, drains)
        for pipe in pipes
        if (runs := pipe.runs) and lies_below(min(p[2] for run in runs for p in run), top)
        for a, b in _parts_outside(runs, footprint)
        if lies_below(min(a[2], b[2]), top)
    )


def _parts_outside(
    runs: list[tuple[Point, Point]], footprint: Footprint
) -> list[tuple[Point, Point]]:
    """The straight parts of a pipe that lie outside, but for its end in the wall: of one that is
    bent all of them, however short, where they are longer together."""
    parts = [part for a, b in runs for part in footprint.outside_parts(a, b)]
    if len(runs) > 1:
        is_short = at_most(sum(level_m(a, b) for a, b in parts), SHORT_M, "m")
        return [] if is_short else [(a, b) for a, b in parts if level_m(a, b) > 0]
    return [(a, b) for a, b in parts if not at_most(level_m(a, b), SHORT_M, "m")]
