"""The riser drawing of the supply: cold, hot, circulation, the critical path, and pressures."""

from itertools import chain
from math import dist

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.joined import NONE
from ifclint.engineering.wording import number_text, trade_size
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.rules.supply.budget import critical
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.shutoff import first_segments
from ifclint.rules.supply.solved_supply import psi

LONGEST_M = 3.0  # of a stretch of the service, as drawn
MARKED = {
    Role.HEATER: "heater", Role.METER: "meter", Role.TANK: "tank", Role.REGULATOR: "valve",
}  # fmt: skip


def supply_riser(context: Context) -> Riser:
    """All lines with size and flow, a mark for all that stands on them, the worst path set off."""
    supply = context.plumbing.supply
    worst = critical(context)
    end = worst.tap.segment if worst is not None else None
    path = set(end.to_source) if end is not None else set()
    moved = _service_drawn_short(context)
    lines = chain(
        (_segment(segment, context, segment in path, moved) for segment in supply.segments),
        (_return(supply.elements[i]) for i in supply.returns),
    )
    levels = tuple((s.name, s.elevation_m) for s in context.plumbing.network.model.storeys)
    drawn = (line for line in lines if len(line.points) > 1)
    return Riser.of("water", "Water supply riser", drawn, _marks(context, moved), levels)


def _segment(
    segment: WaterSegment, context: Context, is_critical: bool, moved: dict[Point, Point]
) -> RiserLine:
    solved = solution(context)
    gpm, found = solved.gpm(segment), solved.loss[segment.number]
    size = trade_size(segment.size_in) if segment.size_in else "size?"
    flow = f" · {number_text(gpm, 3)} gpm" if gpm else ""
    lost = "" if found.unknown is not None else f", loses {number_text(psi(found.total_pa), 2)} psi"
    service = "critical path" if is_critical else segment.service
    points = tuple(moved.get(p, p) for p in _points(segment))
    return RiserLine(
        tuple(e.guid for e in segment.elements), points, service, f"{size}{flow}",
        f"{segment.label}{flow}{lost}", segment.size_in,
    )  # fmt: skip


def _service_drawn_short(context: Context) -> dict[Point, Point]:
    """Where the points of the service are drawn: its long stretches to the street no longer than
    LONGEST_M, so that the house is not small beside them."""
    moved: dict[Point, Point] = {}
    for service in context.plumbing.supply.services:
        points = [p for segment in first_segments(service) for p in _points(segment)]
        shift = (0.0, 0.0, 0.0)
        for near, far in zip(points[::-1], points[-2::-1], strict=False):
            length = dist(near, far)
            if length > LONGEST_M:
                part = 1.0 - LONGEST_M / length
                x, y, z = (s + (n - f) * part for s, n, f in zip(shift, near, far, strict=True))
                shift = (x, y, z)
            moved.setdefault(far, (far[0] + shift[0], far[1] + shift[1], far[2] + shift[2]))
    return moved


def _points(segment: WaterSegment) -> tuple[Point, ...]:
    """The way through a line, from the junction it leaves."""
    distribution = segment.distribution
    points: list[Point | None] = []
    before = distribution.up[segment.indexes[0]]
    if before != NONE:
        points.append(distribution.elements[before].position)
    for index in segment.indexes:
        entry = distribution.entry[index]
        points.append(distribution.places[entry] if entry != NONE else None)
        if index not in segment.pipes:
            points.append(distribution.elements[index].position)
    last = segment.indexes[-1]
    if segment.connection is not None:
        points.append(distribution.places[segment.connection.place])
    elif last in segment.pipes:
        others = [p for p in distribution.ends_at[last] if p != distribution.entry[last]]
        points += [distribution.places[p] for p in others[:1]]
    known = [p for p in points if p is not None]
    return tuple(p for i, p in enumerate(known) if i == 0 or p != known[i - 1])


def _return(element: Element) -> RiserLine:
    points = tuple(e.position for e in element.ends if e.position is not None)
    size = trade_size(element.size_in) if element.size_in else "size?"
    return RiserLine(
        (element.guid,), points, "hot return", size, f"circulation, {size}", element.size_in
    )


def _marks(context: Context, moved: dict[Point, Point]) -> list[RiserMark]:
    supply, solved = context.plumbing.supply, solution(context)
    marks = []
    for fixture in supply.fixtures:
        if not fixture.joined:
            continue
        tap, pressure = solved.worst(fixture)
        point = tap.point or fixture.element.position
        if point is None:
            continue
        residual = None if pressure.missing else pressure.residual_psi
        flowing = "" if residual is None else f" · {residual:.0f} psi"
        marks.append(RiserMark(fixture.element.guid, "fixture", point, f"{fixture.label}{flowing}"))
    for index in supply.distribution.order:
        element = supply.elements[index]
        kind = MARKED.get(element.role)
        if element.role is Role.VALVE and element.kind == "pressure-reducing":
            kind = "valve"
        if kind is not None and element.position is not None:
            at = moved.get(element.position, element.position)
            marks.append(RiserMark(element.guid, kind, at, element.label))
    return marks
