"""Pumps that lift ground water, or the water of an elevator's pit, into a sanitary drain."""

from __future__ import annotations

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import Element, Role, System
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.gravity import Discharge
from ifclint.plumbing.drainage.pressure import stands_in
from ifclint.plumbing.drainage.pumped import ejectors, inflow_of
from ifclint.plumbing.words import GROUND_WATER, says, says_text

ELEVATOR_PIT = (
    "elevator pit", "elevator sump", "elevator shaft", "lift pit", "lift sump", "aufzugsgrube",
    "aufzugschacht", "aufzugsschacht", "fosse d'ascenseur", "foso de ascensor", "liftput",
)  # fmt: skip


@derived
def lifted_ground_water(context: Context) -> dict[int, int]:
    """Pumps, and sumps whose pump is not drawn, that lift ground water: each with the first of the
    sanitary drain that takes it. What fixtures drain into lifts sewage."""
    pits = [e for e in context.plumbing.network.elements if _is_storm_pit(e)]
    return {
        d.pump: d.entry
        for d in _of_no_fixture(context)
        if any(_is_of_ground(e) or any(stands_in(e, pit) for pit in pits) for e in _of(d, context))
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


def _is_of_ground(element: Element) -> bool:
    return says(element, GROUND_WATER) or says_text(element.system_name, GROUND_WATER)


def _is_storm_pit(element: Element) -> bool:
    is_pit = element.role is Role.CHAMBER and element.kind == "sump"
    return is_pit and (element.system is System.STORM or _is_of_ground(element))
