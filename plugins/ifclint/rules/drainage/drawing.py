"""The riser drawing of the drainage: drains, vents, cleanouts, fixtures, traps and outlets."""

from collections.abc import Iterator
from itertools import groupby

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.wording import number_text, trade_size
from ifclint.ifc.elements import Point, Role
from ifclint.packs import Context
from ifclint.plumbing import DrainSegment, Service
from ifclint.plumbing.drainage.loads import loads

MARKED = {
    Role.TRAP: "trap",
    Role.CLEANOUT: "cleanout",
    Role.VENT_TERMINAL: "vent terminal",
    Role.INTERCEPTOR: "interceptor",
}


def drainage_riser(context: Context) -> Riser:
    """All segments with their sizes and loads, and a mark for all that stands on them."""
    plumbing = context.plumbing
    lines = (_line(segment, context) for segment in plumbing.segments if _points(segment, context))
    levels = tuple((s.name, s.elevation_m) for s in plumbing.network.model.storeys)
    return Riser.of("drainage", "Drainage riser", lines, _marks(context), levels)


def _line(segment: DrainSegment, context: Context) -> RiserLine:
    made = loads(context)
    is_drain = segment.service is Service.DRAIN
    load = f" · {number_text(made.carried[segment])} DFU" if is_drain else ""
    size = trade_size(segment.size_in) if segment.size_in else "size?"
    return RiserLine(
        _element_ids(segment, context),
        _points(segment, context),
        segment.service.value,
        f"{size}{load}",
        f"{segment.label}{load}",
        segment.size_in,
    )


def _element_ids(segment: DrainSegment, context: Context) -> tuple[str, ...]:
    elements = context.plumbing.network.elements
    fittings = [elements[i].guid for i in (*segment.between, *segment.tail)]
    return (*segment.element_ids, *fittings)


def _points(segment: DrainSegment, context: Context) -> tuple[Point, ...]:
    """The path of a segment, with that through fittings to the segment it joins."""
    piping = context.plumbing.venting.piping
    path = [point for pipe in segment.pipes for point in (pipe.up, pipe.down)]
    for index in segment.tail:
        path += [piping.elements[index].position, piping.exit(index)]
    points = [point for point in path if point is not None]
    return tuple(point for point, _ in groupby(points))


def _marks(context: Context) -> Iterator[RiserMark]:
    plumbing, made = context.plumbing, loads(context)
    for fixture in plumbing.fixtures:
        if fixture.element.position is not None:
            label = f"{fixture.label} · {number_text(made.gives[fixture])} DFU"
            yield _mark(fixture.element.guid, "fixture", fixture.element.position, label)
    for index in plumbing.drainage.members:
        element = plumbing.network.elements[index]
        if element.role in MARKED and element.position is not None:
            kind = MARKED[element.role]
            label = "" if element.role is Role.TRAP else element.label  # the symbol says enough
            yield _mark(element.guid, kind, element.position, label)
    for outlet in dict.fromkeys(f.outlet for f in plumbing.fixtures if f.outlet is not None):
        element = plumbing.network.elements[outlet.element]
        point = outlet.position or element.position
        if point is not None:
            kind = "outlet" if outlet.accepted else "stop"
            yield _mark(element.guid, kind, point, element.label)


def _mark(guid: str, kind: str, point: Point, label: str) -> RiserMark:
    return RiserMark(guid, kind, point, label)
