"""Sumps, ejectors and pumps: what is lifted from where gravity leaves it, ground water too."""

from ifclint.engineering.joined import NONE, onward
from ifclint.ifc.elements import Element, Role, System
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.gravity import Discharge, Drainage
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.pressure import stands_in
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.words import GROUND_WATER, says, says_text

ELEVATOR_PIT = (
    "elevator pit", "elevator sump", "elevator shaft", "lift pit", "lift sump", "aufzugsgrube",
    "aufzugschacht", "aufzugsschacht", "fosse d'ascenseur", "foso de ascensor", "liftput",
)  # fmt: skip
PUMPED = "pumped"  # the kind of an outlet that is a sump, an ejector or a pump


def lifts_from_sump(drainage: Drainage, index: int) -> bool:
    """Whether what an element gives comes out of a sump, as through a pump: nothing runs back."""
    outlet = drainage.outlet_of(index)
    is_pump = drainage.elements[index].role is Role.PUMP
    return is_pump and outlet is not None and outlet.kind == PUMPED and outlet.element != index


def discharges_of(piping: Piping, pumped: int) -> list[Discharge]:
    """The discharges from a sump or pump, one of each pump that is drawn."""
    return [d for d in piping.drainage.discharges if pumped in (d.sump, d.pump)]


def discharge(piping: Piping, pumped: int) -> list[int]:
    """What follows a sump or pump up to the drain it discharges into, its pumps with it; vents are
    left out."""
    led = [i for d in discharges_of(piping, pumped) for i in (d.pump, *d.path)]
    if led:
        return [i for i in dict.fromkeys(led) if i != pumped]
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
    drainage, inflows = context.plumbing.drainage, context.plumbing.unknown_inflows
    led = [d for d in drainage.discharges if index in (d.sump, d.pump, *d.pressed)]
    if not led and (pump := drainage.elements[index]).role is Role.PUMP:  # joined to nothing
        sumps = ((d, d.sump) for d in drainage.discharges if d.sump != NONE)
        led = [d for d, sump in sumps if stands_in(pump, drainage.elements[sump])]
    for entry in (d.entry for d in led if d.sump != NONE and d.entry != NONE):
        return next((i for i in onward(entry, drainage.down) if i in inflows), entry)
    return index


def discharge_of(outlet: Outlet, context: Context) -> list[Element]:
    """What follows an ejector up to the drain it discharges into."""
    piping = context.plumbing.venting.piping
    return [piping.elements[i] for i in discharge(piping, outlet.element)]


def pumps_at(sump: Element, context: Context) -> list[Element]:
    """The pumps of a sump: itself, joined to it or its discharge, in its box or near its place."""
    own = [sump, *discharge_of(ejectors(context)[sump.guid], context)]
    others = (e for e in context.plumbing.network.elements if e not in own)
    near = [e for e in others if e.role is Role.PUMP and stands_in(e, sump)]
    return [e for e in own if e.role is Role.PUMP] + near


@derived
def lifted_ground_water(context: Context) -> dict[int, int]:
    """Pumps, and sumps whose pump is not drawn, that lift ground water: each with the first of the
    sanitary drain that takes it. What fixtures drain into lifts sewage."""
    pits = [e for e in context.plumbing.network.elements if _is_storm_pit(e)]
    return {
        d.pump: d.entry
        for d in _of_no_fixture(context)
        if any(is_of_ground(e) or any(stands_in(e, pit) for pit in pits) for e in _of(d, context))
    }


@derived
def lifted_from_elevators(context: Context) -> dict[int, int]:
    """The same of the pumps of elevator pits, where the code wants these drained through the air:
    the IPC does (301.6, from memory), the IRC based on it has no elevators of the public."""
    code = context.code
    if not code.is_edition_of("ipc") or code.is_edition_of("irc"):
        return {}
    return {
        d.pump: d.entry
        for d in _of_no_fixture(context)
        if any(says(e, ELEVATOR_PIT) for e in _of(d, context))
    }


@derived
def ground_water_inflows(context: Context) -> frozenset[int]:
    """Where such water, which is to be led elsewhere, enters the drains that take fixtures."""
    lifted = (*lifted_ground_water(context), *lifted_from_elevators(context))
    return frozenset(inflow_of(index, context) for index in lifted)


def _of_no_fixture(context: Context) -> list[Discharge]:
    """The discharges into a drain of what no fixture drains into."""
    elements, used = context.plumbing.network.elements, ejectors(context)
    discharges = context.plumbing.drainage.discharges
    led = [d for d in discharges if d.sump != NONE and d.entry != NONE]
    return [d for d in led if not {elements[i].guid for i in (d.pump, d.sump)} & used.keys()]


def _of(discharge: Discharge, context: Context) -> list[Element]:
    elements = context.plumbing.network.elements
    return [elements[i] for i in dict.fromkeys((discharge.pump, discharge.sump))]


def is_of_ground(element: Element) -> bool:
    """Whether it is, or is in a system of, a foundation or subsoil drain."""
    return says(element, GROUND_WATER) or says_text(element.system_name, GROUND_WATER)


def _is_storm_pit(element: Element) -> bool:
    is_pit = element.role is Role.CHAMBER and element.kind == "sump"
    return is_pit and (element.system is System.STORM or is_of_ground(element))
