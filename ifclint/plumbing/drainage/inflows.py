"""What flows into the drains beside what fixtures give: pumps, continuous flows, rain."""

import re
from collections import defaultdict
from itertools import takewhile

from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.ifc.elements import Element, Role, System
from ifclint.plumbing.bathrooms import CLOSET as CLOSET
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.clear_water import tied_drains
from ifclint.plumbing.drainage.outlets import is_sump
from ifclint.plumbing.drainage.pumped import PUMPED, ground_water_inflows, inflow_of
from ifclint.plumbing.drainage.segments import DrainSegment

_GPM = re.compile(r"(\d+(?:\.\d+)?)\s*-?\s*(?:us ?)?gpm\b", re.IGNORECASE)


@derived
def unknown_inflows(context: Context) -> list[int]:
    """Where a load enters that neither the model nor the job file tells. What rain brings into
    the sanitary drains is none: it is led elsewhere, or goes to a combined sewer; nor is clear
    water, which is to end in the open."""
    plumbing, stated = context.plumbing, _continuous(context)
    named = {flow.element for flow in context.job.drainage.continuous_flow}
    return [
        index
        for index in plumbing.unknown_inflows
        if index not in stated
        and plumbing.network.elements[index].guid not in named
        and index not in tied_drains(context)
        and not takes_rain(index, context)
    ]


def takes_rain(index: int, context: Context) -> bool:
    """Whether storm drainage joins an element, or ground water is pumped into it, and the sewer is
    not stated to take both."""
    network = context.plumbing.network
    beside = (network.elements[i] for i in (index, *network.neighbours(index)))
    may = context.job.of_pack("storm", "combined_sewer") is True
    joins = any(e.system is System.STORM or e.kind == "roof-drain" for e in beside)
    return not may and (joins or index in ground_water_inflows(context))


@derived
def upper_ends(context: Context) -> dict[int, int]:
    """Of where one discharge meets the water of fixtures, the first of the drain that it enters
    above: what is pumped passes that too."""
    drainage, entries = context.plumbing.drainage, defaultdict[int, set[int]](set)
    for led in drainage.discharges:
        if NONE not in (led.sump, led.entry):
            entries[inflow_of(led.pump, context)].add(led.entry)
    return {at: found.pop() for at, found in entries.items() if len(found) == 1}


@derived
def pumped_alone(context: Context) -> frozenset[int]:
    """What of the drains only what is pumped passes, down to where it meets other water."""
    down, found = context.plumbing.drainage.down, set[int]()
    for at, first in upper_ends(context).items():
        found.update(takewhile(at.__ne__, onward(first, down)))
    return frozenset(found)


@derived
def rained(context: Context) -> set[DrainSegment]:
    """The drains into which storm drainage leads its water, though they take sewage alone."""
    plumbing = context.plumbing
    taken = (i for i in plumbing.unknown_inflows if takes_rain(i, context))
    upper = upper_ends(context)
    into = (upper.get(i, i) for i in taken)
    wet = {below for index in into for below in onward(index, plumbing.drainage.down)}
    return {s for s in plumbing.drains if s.indexes[-1] in wet}


@derived
def _continuous(context: Context) -> dict[int, float]:
    """The continuous discharges of the job file (m³/s), else of pumps by their names, by the
    element where they enter a drain."""
    elements, members = context.plumbing.network.elements, context.plumbing.drainage.members
    index_of = {elements[i].guid: i for i in members}
    flows: dict[int, float] = defaultdict(float)
    for stated in context.job.drainage.continuous_flow:
        flows[inflow_of(index_of[stated.element], context)] += stated.flow
    return _of_pumps(context) | flows


def _of_pumps(context: Context) -> dict[int, float]:
    """What pumps and packaged sumps discharge by their names (m³/s), by the element where it enters
    a drain; of several that enter in one place the largest, for they take turns."""
    elements, flows = context.plumbing.network.elements, dict[int, float]()
    for index in context.plumbing.drainage.members:
        if elements[index].role is not Role.PUMP and not is_sump(elements[index]):
            continue
        if (flow := flow_by_name(elements[index])) is not None:
            at = inflow_of(index, context)
            if at != index and at in context.plumbing.unknown_inflows:
                flows[at] = max(flow, flows.get(at, 0.0))
    return flows


def flow_by_name(pump: Element) -> float | None:
    """What a pump lifts by its name (m³/s); None where that does not tell."""
    said = _GPM.search(pump.called)
    return float(said[1]) * M3_PER_S_PER_GPM if said else None


def unstated_pumps(context: Context) -> list[tuple[int, int]]:
    """The sumps and pumps whose discharge nothing tells, each after where that enters a drain."""
    outlets = (o.element for o in context.plumbing.drainage.outlets if o.kind == PUMPED)
    unknown = set(unknown_inflows(context))
    return [(at, o) for o in outlets if (at := inflow_of(o, context)) in unknown]


@derived
def continuous_dfu(context: Context) -> dict[int, float]:
    """The fixture units of the continuous discharges, by the element where they enter a drain."""
    flows = _continuous(context)
    if not flows:
        return {}
    each = context.code.limit("continuous_flow_dfu_per_gpm").value
    return {index: flow / M3_PER_S_PER_GPM * each for index, flow in flows.items()}
