"""Sumps, ejectors and pumps: what is lifted from where gravity leaves it."""

from __future__ import annotations

from ifclint.ifc.elements import Element
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.segments import Service

PUMPED = "pumped"  # the kind of an outlet that is a sump, an ejector or a pump


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


def discharge_of(outlet: Outlet, context: Context) -> list[Element]:
    """What follows an ejector up to the drain it discharges into."""
    piping = context.plumbing.venting.piping
    return [piping.elements[i] for i in discharge(piping, outlet.element)]
