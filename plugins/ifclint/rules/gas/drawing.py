"""The gas riser drawing: pipe with size, load and spare capacity, and what stands on it."""

from itertools import groupby
from math import dist

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text, trade_size
from ifclint.ifc.elements import Element, Point, System
from ifclint.packs import Context
from ifclint.plumbing import GasSegment
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.gas.inputs import btu_text, inputs
from ifclint.rules.gas.sizing import amount_text, plan


def gas_riser(context: Context) -> Riser:
    """All runs that feed an appliance, and the meter, valves, regulators and appliances."""
    piping = context.plumbing.gas
    levels = tuple((s.name, s.elevation_m) for s in context.plumbing.network.model.storeys)
    segments = piping.segments if piping else []
    lines = (line for segment in segments if (line := _line(segment, context)) is not None)
    return Riser.of("gas", "Gas riser", lines, _marks(context), levels)


def _line(segment: GasSegment, context: Context) -> RiserLine | None:
    """A run from the junction before it to the one behind it."""
    sized, points = plan(context).sized[segment], _path(segment)
    if len(points) < 2:
        return None
    size = trade_size(segment.size_in) if segment.size_in else "size?"
    feet = segment.length_m / M_PER_FT
    load, detail = "", f"{segment.label}, {number_text(feet, 3)} ft"
    if sized.capacity is not None:
        unit, spare = sized.capacity.unit, or_zero(sized.spare)
        load = f" · {amount_text(sized.load, unit)}, {number_text(spare)} spare"
        detail += f", {amount_text(sized.load, unit)} of {amount_text(sized.capacity.value, unit)}"
    ids = tuple(e.guid for e in (*segment.pipes, *segment.fittings))
    return RiserLine(ids, points, "gas", f"{size} · {feet:.0f} ft{load}", detail, segment.size_in)


def _path(segment: GasSegment) -> tuple[Point, ...]:
    """The points of a run's pipes and fittings, each pipe taken by its nearer end first."""
    before = middle_of(segment.up.path[-1]) if segment.up is not None else None
    points: list[Point] = [before] if before is not None else []
    for element in segment.path:
        ends = element.places
        middle = middle_of(element)
        mine = ends if element in segment.pipes else [middle] if middle else []
        if points and len(mine) > 1 and dist(points[-1], mine[0]) > dist(points[-1], mine[-1]):
            mine = mine[::-1]
        points += mine
    return tuple(point for point, _ in groupby(points))


def _marks(context: Context) -> list[RiserMark]:
    piping = context.plumbing.gas
    if piping is None:
        return []
    marks = []
    for appliance in piping.appliances:
        known = inputs(context)[appliance]
        load = f" · {btu_text(known.watts)}" if known else " · input?"
        point = _inlet(appliance.element)
        if point is not None:
            marks.append(
                RiserMark(appliance.element.guid, "appliance", point, f"{appliance.label}{load}")
            )
        shutoff = appliance.shutoff
        if shutoff is not None and (at := middle_of(shutoff)) is not None:
            marks.append(RiserMark(shutoff.guid, "valve", at))
    for element in (*piping.source_elements, *(r.element for r in piping.regulators)):
        if (point := middle_of(element)) is not None:
            marks.append(RiserMark(element.guid, "device", point, element.label))
    return marks


def _inlet(element: Element) -> Point | None:
    """Where gas enters an appliance, else its middle."""
    ends = (end.position for end in element.ends if end.system is System.GAS)
    return next((p for p in ends if p is not None), None) or middle_of(element)
