"""Plans: what of a model is on each storey, seen from above. For whoever draws them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import inf

from ifclint.findings import Plan, PlanBox, PlanPipe
from ifclint.ifc.elements import Box, Element, Model, Role, Storey, System

SERVICES = {
    System.SANITARY: "drain",
    System.STORM: "drain",
    System.CONDENSATE: "drain",
    System.VENT: "vent",
    System.COLD_WATER: "cold",
    System.WATER: "cold",
    System.HOT_WATER: "hot",
    System.HOT_WATER_RETURN: "hot return",
    System.GAS: "gas",
}
PLACED = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE, Role.TANK})
BELOW_FLOOR_M = 0.6  # a wall that begins no deeper under a storey's level stands on that storey


def plans(model: Model) -> tuple[Plan, ...]:
    """A plan of every storey that holds plumbing, the lowest first."""
    storeys = sorted(model.storeys, key=lambda storey: storey.elevation_m)
    by_name: dict[str, list[Element]] = {}
    for element in model.elements:
        if element.storey and element.role is not Role.OTHER:
            by_name.setdefault(element.storey, []).append(element)
    walls = [
        _walls(model, storey, above)
        for storey, above in zip(storeys, [*storeys[1:], None], strict=False)
    ]
    return tuple(
        _plan(model, storey, _shown(walls, n), by_name[storey.name])
        for n, storey in enumerate(storeys)
        if storey.name in by_name
    )


def _walls(model: Model, storey: Storey, above: Storey | None) -> list[PlanBox]:
    top = above.elevation_m - BELOW_FLOOR_M if above else inf
    return [
        _seen((surface.low, surface.high))
        for surface in model.surfaces
        if surface.kind == "wall" and storey.elevation_m - BELOW_FLOOR_M <= surface.low[2] < top
    ]


def _shown(walls: list[list[PlanBox]], storey: int) -> list[PlanBox]:
    """The walls of a storey; of one without any, those above it, else below: what one stands
    under."""
    return next(filter(None, (*walls[storey:], *reversed(walls[:storey]))), [])


def _plan(model: Model, storey: Storey, walls: list[PlanBox], elements: list[Element]) -> Plan:
    rooms = (
        _seen((space.low, space.high), space.name)
        for space in model.spaces
        if space.storey == storey.name
    )
    fixtures = (_seen(e.box, e.label) for e in elements if e.box and e.role in PLACED)
    return Plan(storey.name, tuple(walls), tuple(rooms), tuple(fixtures), tuple(_pipes(elements)))


def _seen(box: Box, label: str = "") -> PlanBox:
    low, high = box
    return PlanBox((low[0], low[1]), (high[0], high[1]), label)


def _pipes(elements: Iterable[Element]) -> Iterator[PlanPipe]:
    for element in elements:
        ends = [end.position for end in element.ends if end.position is not None]
        if element.role is Role.PIPE and len(ends) >= 2:
            service = SERVICES.get(element.system or System.OTHER, "stub")
            yield PlanPipe(element.guid, ends[0], ends[1], service, element.size_in)
