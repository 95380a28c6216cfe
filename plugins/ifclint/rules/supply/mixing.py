"""The rule about which water comes to which inlet of a mixing valve."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import PASS, violation
from ifclint.engineering.joined import NONE
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import COLD, HOT
from ifclint.plumbing.supply.water_fixtures import side_named
from ifclint.plumbing.supply.water_supply import Supply, WaterService

OTHER = {COLD: HOT, HOT: COLD}
SYSTEMS = {System.COLD_WATER: COLD, System.HOT_WATER: HOT}
PIPING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.HEATER})


@rule(
    title="Mixing valve not turned about",
    subject=WaterService,
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.HIGH,
    applies=lambda service: bool(service.supply.mixing_valves),
)
def mixing_valve_inlets(service: WaterService, context: Context) -> Iterator[Answer]:
    """A mixing valve with hot water on its cold inlet cannot shut the hot off when the cold fails.

    What comes to each inlet that the model names cold or hot, by whether a water heater lies on
    its way, else by the system it is in. An inlet that gets what its name says is no finding, and
    neither is a valve whose inlets bear no names.
    """
    yield PASS
    supply = service.supply
    for index in supply.mixing_valves:
        if not service.holds(index):
            continue
        valve = supply.elements[index]
        inlets = _inlets(supply, index)
        wrong = [(name, near) for name, near in inlets if side_of(supply, near) == OTHER[name]]
        if not wrong:
            continue
        yield _crossed(supply, valve, wrong)


def _crossed(supply: Supply, valve: Element, wrong: list[tuple[str, int]]) -> Answer:
    named, near = wrong[0]
    both = ", and the other way round" if len({name for name, _ in wrong}) > 1 else ""
    return violation(
        message=f"The {named} inlet of {valve.label} gets {OTHER[named]} water{both}.",
        remedy="Bring the hot water to the inlet marked hot, and the cold to the one marked cold.",
        elements=(valve.guid, *(supply.elements[near].guid for _, near in wrong)),
        steps=(Step(f"Joined to {supply.elements[near].label}"),),
        about=valve.guid,
    )


def _inlets(supply: Supply, index: int) -> Iterator[tuple[str, int]]:
    """What each inlet of a valve is named, cold or hot, and the piping joined to it."""
    network = supply.network
    for other, number in network.joined[index]:
        joint = network.joints[number]
        end = supply.elements[index].ends[joint.a_end if joint.a == index else joint.b_end]
        named, is_fed = side_named(end), supply.distribution.up[other] == index
        if named and end.flow != "out" and not is_fed and supply.elements[other].role in PIPING:
            yield named, other


def side_of(supply: Supply, index: int) -> str:
    """What piping carries, cold or hot: by the heater that feeds it, else by its system."""
    segment, system = supply.segment_of.get(index), supply.elements[index].system
    stated = SYSTEMS.get(system) if system is not None else None
    if segment is not None and (segment.heater != NONE or stated is None):
        return segment.service
    return stated or ""
