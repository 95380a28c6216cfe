"""Water and gas piping to be tested under pressure, by storey and stage."""

from collections.abc import Iterable
from math import inf

from ifclint.fieldsheet.filling import Filled, filled, materials, underground_to_m, volume_m3
from ifclint.fieldsheet.sheet import PipingSection, Stage
from ifclint.fieldsheet.stages import Levels
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System

WATER, GAS = "water supply piping", "fuel gas piping"
CLOSED = {
    WATER: ("every outlet; isolate heaters, tanks and devices not made for the pressure",),
    GAS: ("every outlet; disconnect appliances, regulators and meters",),
}


def pressure_sections(elements: Iterable[Element], at: Levels) -> list[PipingSection]:
    """The piping of each service below the lowest floor and above it."""
    by_service: dict[str, list[Filled]] = {WATER: [], GAS: []}
    for element in elements:
        service = _service(element)
        pipe = filled(element) if service else None
        if pipe is not None:
            by_service[service].append(pipe)
    made = []
    for service, pipes in by_service.items():
        floor_m = underground_to_m(pipes, at.underground_m)
        made += [
            _section(service, pipes, at, Stage.UNDERGROUND, -inf, floor_m),
            _section(service, pipes, at, Stage.ROUGH_IN, floor_m, inf),
        ]
    return [section for section in made if section is not None]


def _service(element: Element) -> str:
    if element.role is not Role.PIPE:
        return ""
    if element.system in WATER_SUPPLY:
        return WATER
    return GAS if element.system is System.GAS else ""


def _section(
    service: str, all_pipes: list[Filled], at: Levels, stage: Stage, from_m: float, to_m: float
) -> PipingSection | None:
    pipes = [p for p in all_pipes if p.within(from_m, to_m) > 0]
    if not pipes:
        return None
    low_m, high_m = min(p.low_m for p in pipes), max(p.high_m for p in pipes)
    held_m3 = volume_m3(pipes, from_m, to_m)
    storeys = dict.fromkeys(at.storey_at((p.low_m + p.high_m) / 2) for p in pipes)
    order = [name for name, _ in at.storeys if name in storeys]
    return PipingSection(
        stage=stage,
        storeys=(at.floor,) if stage is Stage.UNDERGROUND else tuple(order) or ("",),
        name=service,
        low_m=max(low_m, from_m),
        high_m=min(high_m, to_m),
        plugs=(),
        caps=CLOSED[service],
        fill_from="the test gauge and pump" if service == WATER else "the test gauge, by air",
        fill_to_m=None,
        available_m=None,
        contents_m3=held_m3,
        to_fill_m3=held_m3,
        pipes=len(pipes),
        materials=materials(pipes),
        by_trade_size=sum(not p.is_listed for p in pipes),
        without_size=sum(p.contents_m3 is None for p in pipes),
    )
