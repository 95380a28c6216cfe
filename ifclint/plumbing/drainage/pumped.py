"""Sumps, ejectors and pumps: what is lifted from where gravity leaves it."""

from __future__ import annotations

from ifclint.engineering.joined import NONE, onward
from ifclint.ifc.elements import Element, Role
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.segments import Service

PUMPED = "pumped"  # the kind of an outlet that is a sump, an ejector or a pump


def lifts_from_sump(drainage: Drainage, index: int) -> bool:
    """Whether what an element gives comes out of a sump, as through a pump: nothing runs back."""
    outlet = drainage.outlet_of(index)
    is_pump = drainage.elements[index].role is Role.PUMP
    return is_pump and outlet is not None and outlet.kind == PUMPED and outlet.element != index


def discharge(piping: Piping, pumped: int) -> list[int]:
    """What follows a sump or pump up to the drain it discharges into; vents are left out."""
    fed = set(piping.wet_above[pumped])
    frontier, found = [pumped], [pumped]
    while frontier:
        for index in piping.network.neighbours(frontier.pop()):
            is_own = index not in fed and not piping.is_wet(index)
            if is_own and index not in found and piping.service[index] is not Service.VENT:
                found.append(index)
                frontier.append(index)
    return found[1:]


@derived
def ejectors(context: Context) -> dict[str, Outlet]:
    """The sumps and pumps that fixtures drain into, by their GlobalId."""
    elements = context.plumbing.network.elements
    used = (f.outlet for f in context.plumbing.fixtures if f.outlet is not None)
    return {elements[o.element].guid: o for o in used if o.kind == PUMPED}


def inflow_of(index: int, context: Context) -> int:
    """Where what an element gives enters the drains: of a sump, its pump or their discharge, where
    that joins a drain; of anything else, itself."""
    sump, flow = _sump_of(index, context), _takes_fixtures(context)
    if sump == NONE or (index != sump and flow[index]):
        return index
    frontier, seen = [index], {index, sump}
    while frontier:
        for other in context.plumbing.network.neighbours(frontier.pop()):
            if (entry := _entry(other, context)) != NONE:
                return entry
            if other not in seen and not flow[other] and _sump_of(other, context) == sump:
                seen.add(other)
                frontier.append(other)
    return index


@derived
def _takes_fixtures(context: Context) -> list[bool]:
    """Whether fixtures drain through each element."""
    return context.plumbing.drainage.passed_by(f.index for f in context.plumbing.fixtures)


def _sump_of(index: int, context: Context) -> int:
    """The sump or pump that an element leads to, -1 where it drains by gravity."""
    drainage = context.plumbing.drainage
    number = drainage.outlet[index]
    is_pumped = number != NONE and drainage.outlets[number].kind == PUMPED
    return drainage.outlets[number].element if is_pumped else NONE


def _entry(index: int, context: Context) -> int:
    """The place down a drain where a load enters that the model does not show, else -1."""
    down, inflows = context.plumbing.drainage.down, context.plumbing.unknown_inflows
    entry = next((i for i in onward(index, down) if i in inflows), NONE)
    return entry if entry != NONE and _sump_of(entry, context) == NONE else NONE


def discharge_of(outlet: Outlet, context: Context) -> list[Element]:
    """What follows an ejector up to the drain it discharges into."""
    piping = context.plumbing.venting.piping
    return [piping.elements[i] for i in discharge(piping, outlet.element)]
