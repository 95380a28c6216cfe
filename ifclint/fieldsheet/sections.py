"""Sections of drain and vent to plug, and how high each can be filled.

Piping that is joined is one system. It is cut at the underside of the lowest floor, at storeys
where the column of water would stand too high for a test plug, and at the rim of its highest
fixture, above which there are vents alone.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

from ifclint.engineering.joined import pieces
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.wording import trade_size
from ifclint.fieldsheet.filling import (
    Filled,
    crossing,
    filled,
    materials,
    sizes_text,
    underground_to_m,
    volume_m3,
)
from ifclint.fieldsheet.sheet import PipingSection, Stage
from ifclint.fieldsheet.stages import Levels, heights, highest_rim_m, top_m, vents
from ifclint.ifc.elements import DRAINAGE, Element, Role
from ifclint.plumbing import Fixture, Outlet, Plumbing, Service
from ifclint.plumbing.drainage.outlets import LEAVING, PASSED_THROUGH, PUMPED

AT_OUTLET_M = 0.05  # pipe that begins no higher above an outlet reaches it; of our own
TALLEST_COLUMN_M = 40 * 0.3048  # what common test plugs stand, about 17 psi; from memory, no code
NO_PIPING = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK, Role.PUMP})
ASSEMBLED = "Cap every fixture outlet, floor drain and cleanout below the water; let the air out."


@dataclass(frozen=True)
class Joined:
    """Drain and vent piping that is joined: what can be filled from one place."""

    name: str
    members: tuple[Element, ...]
    pipes: tuple[Filled, ...]
    fixtures: tuple[Fixture, ...]
    outlets: tuple[Element, ...]
    rim_m: float
    is_building_drain: bool  # it leaves by a sewer connection, tank or manhole, not in the open

    @property
    def top_m(self) -> float:
        return max(p.high_m for p in self.pipes)


@dataclass(frozen=True)
class HeightBand:
    """Heights between which a section lies."""

    stage: Stage
    from_m: float
    to_m: float


def sections(systems: Iterable[Joined], at: Levels, head_m: float) -> list[PipingSection]:
    """The sections of systems that are `joined`, in order of work.

    `head_m` is how high above its highest pipe the adopted code wants the water to stand.
    """
    made = [
        section
        for system in systems
        for band in bands(system, at, head_m)
        if (section := _section(system, band, at, head_m)) is not None
    ]
    return sorted(made, key=lambda s: (list(Stage).index(s.stage), s.low_m, s.name))


def joined(plumbing: Plumbing) -> list[Joined]:
    """The systems of drain and vent, each with its outlets; indirect waste is open and left out."""
    elements = plumbing.network.elements
    indirect = {i for s in plumbing.segments if s.service is Service.INDIRECT for i in s.indexes}
    kept = [
        i
        for i in plumbing.drainage.members
        if elements[i].role not in NO_PIPING
        and i not in indirect
        and (elements[i].system is None or elements[i].system in DRAINAGE)
    ]
    ends = {o.element: o for o in plumbing.drainage.outlets if o.accepted}
    dry = vents(plumbing)
    systems = [
        system
        for group in components(plumbing, kept)
        if (system := _joined(plumbing, group, dry, ends)) is not None
    ]
    return [s for s in systems if s.fixtures or s.is_building_drain]


def components(plumbing: Plumbing, kept: Sequence[int]) -> list[list[int]]:
    """The connected components of some elements, each in order."""
    return [sorted(piece) for piece in pieces(sorted(kept), plumbing.network.neighbours)]


def _joined(
    plumbing: Plumbing, group: list[int], dry: frozenset[int], ends: dict[int, Outlet]
) -> Joined | None:
    """What is joined, with the fixtures that drain into it; None where it leaves nowhere."""
    elements, inside = plumbing.network.elements, set(group)
    beside = inside.union(*(plumbing.network.neighbours(i) for i in group))
    leaving = sorted(beside & set(ends))
    found = (filled(elements[i], i in dry) for i in group if elements[i].role is Role.PIPE)
    pipes = tuple(pipe for pipe in found if pipe is not None)
    if not leaving or not pipes:
        return None
    fixtures = tuple(
        f for f in plumbing.fixtures if f.index in beside or not inside.isdisjoint(f.path)
    )
    return Joined(
        name=f"drains and vents to {elements[leaving[0]].label}",
        members=tuple(elements[i] for i in group),
        pipes=pipes,
        fixtures=fixtures,
        outlets=tuple(elements[i] for i in leaving),
        rim_m=highest_rim_m([f.element for f in fixtures]),
        is_building_drain=any(ends[i].kind in LEAVING | PASSED_THROUGH | PUMPED for i in leaving),
    )


def bands(system: Joined, at: Levels, head_m: float) -> list[HeightBand]:
    """Where a system is cut, from the lowest up; together they hold all of it."""
    floor_m = underground_to_m(system.pipes, at.underground_m)
    wet = [p.high_m for p in system.pipes if not p.is_vent]
    rim_m = max([system.rim_m, floor_m, *wet])
    base_m = max(floor_m, min(p.low_m for p in system.pipes))
    cuts = [floor_m]
    for _, storey_m in at.storeys:
        if base_m < storey_m < min(rim_m, system.top_m):
            column_m = min(_next_m(at, storey_m) + head_m, system.top_m) - base_m
            if column_m > TALLEST_COLUMN_M:
                cuts.append(storey_m)
                base_m = storey_m
    made = [HeightBand(Stage.UNDERGROUND, -inf, floor_m)] if floor_m > -inf else []
    made += [HeightBand(Stage.ROUGH_IN, a, b) for a, b in pairwise([*cuts, rim_m])]
    if rim_m < inf:
        made.append(HeightBand(Stage.TOP_OUT, rim_m, inf))
    return made


def _next_m(at: Levels, storey_m: float) -> float:
    return min((e for _, e in at.storeys if e > storey_m), default=storey_m)


def _section(system: Joined, band: HeightBand, at: Levels, head_m: float) -> PipingSection | None:
    """A section of a system; None where no pipe of it lies there."""
    pipes = [p for p in system.pipes if p.within(band.from_m, band.to_m) > 0]
    if not pipes:
        return None
    low_m = max(min(p.low_m for p in pipes), band.from_m)
    high_m = min(max(p.high_m for p in pipes), band.to_m)
    available_m = system.top_m - high_m
    fill_to_m = _fill_to_m(system, band, high_m, head_m)
    is_built_above = band.stage is not Stage.UNDERGROUND and fill_to_m > band.to_m
    above_m3 = volume_m3(system.pipes, band.to_m, fill_to_m) if is_built_above else 0.0
    own_m3 = volume_m3(pipes, band.from_m, band.to_m)
    return PipingSection(
        stage=band.stage,
        storeys=_storeys(at, band, low_m, high_m),
        name=system.name,
        low_m=low_m,
        high_m=high_m,
        plugs=_plugs(system, band),
        caps=_caps(system, band),
        fill_from=_fill_from(system, band, available_m, head_m),
        fill_to_m=fill_to_m,
        available_m=available_m,
        contents_m3=own_m3,
        to_fill_m3=own_m3 + above_m3,
        pipes=len(pipes),
        materials=materials(pipes),
        by_trade_size=sum(not p.is_listed for p in pipes),
        without_size=sum(p.contents_m3 is None for p in pipes),
        cautions=_cautions(fill_to_m - low_m),
    )


def _fill_to_m(system: Joined, band: HeightBand, high_m: float, head_m: float) -> float:
    """How high water stands: by the code above the section, or to the top of what is built."""
    if band.stage is Stage.UNDERGROUND:  # nothing stands above it yet but a test riser
        return high_m + head_m
    return min(high_m + head_m, system.top_m)


def _fill_from(system: Joined, band: HeightBand, available_m: float, head_m: float) -> str:
    if band.stage is Stage.UNDERGROUND:
        return "a test riser stood in the stub of the stack"
    if band.stage is Stage.ROUGH_IN and available_m >= head_m:
        return "the stack above, through a test tee"
    if any(p.is_vent for p in system.pipes):
        return "the highest vent through the roof, to overflowing"
    return "its highest opening, to overflowing"


def _storeys(at: Levels, band: HeightBand, low_m: float, high_m: float) -> tuple[str, ...]:
    if band.stage is Stage.UNDERGROUND:
        return (at.floor,)
    names = [name for name, _ in at.storeys]
    if not names:
        return ("",)
    first, last = names.index(at.storey_at(low_m)), names.index(at.storey_at(high_m))
    return tuple(names[first : last + 1])


def _plugs(system: Joined, band: HeightBand) -> tuple[str, ...]:
    """Where the section is closed below: at the outlets, or at the foot of what rises into it."""
    if band.from_m == -inf:
        return tuple(_at_outlet(o, system) for o in system.outlets)
    through = crossing(system.members, band.from_m)
    if not through:
        return tuple(_at_outlet(o, system) for o in system.outlets)
    return tuple(f"{text} at the foot" for text in sizes_text(through))


def _at_outlet(outlet: Element, system: Joined) -> str:
    """The outlet, in the size of the largest pipe that reaches it."""
    size = outlet.size_in
    if size is None:
        top_m = placed[1] if (placed := heights(outlet)) else -inf
        near = [p for p in system.pipes if at_most(p.low_m - top_m, AT_OUTLET_M, "m")]
        size = max((p.element.size_in for p in near if p.element.size_in), default=None)
    return f"{trade_size(size)} at {outlet.label}"


def _caps(system: Joined, band: HeightBand) -> tuple[str, ...]:
    """What is open within the section or above it, and is closed before it is filled."""
    caps = []
    if band.stage is Stage.UNDERGROUND:
        caps += [f"{text} coming up" for text in sizes_text(crossing(system.members, band.to_m))]
    count = sum(_is_within(f, band) for f in system.fixtures)
    if count and band.stage is not Stage.TOP_OUT:
        caps.append(f"{count} fixture outlet{'s' if count > 1 else ''}")
    return tuple(caps)


def _is_within(fixture: Fixture, band: HeightBand) -> bool:
    top = top_m(fixture.element)
    return top is not None and band.from_m <= top < (inf if band.to_m == inf else band.to_m + 1e-9)


def _cautions(column_m: float) -> tuple[str, ...]:
    told = [ASSEMBLED]
    if column_m > TALLEST_COLUMN_M:
        told.append("The column stands higher than common test plugs are made for: read the plug.")
    return tuple(told)


def left_out(plumbing: Plumbing, in_sections: Iterable[Joined]) -> list[Element]:
    """Pipe of drains and vents that no section holds: of no building drain, or without a place."""
    held = {p.element.key for system in in_sections for p in system.pipes}
    return [
        e
        for e in plumbing.network.elements
        if e.role is Role.PIPE and e.system in DRAINAGE and e.key not in held
    ]
