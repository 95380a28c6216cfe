"""Plans: what of a model is on each storey, seen from above. For whoever draws them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import combinations
from math import dist, inf
from typing import NamedTuple

import numpy as np

from ifclint.drawings import Plan, PlanBox, PlanPipe
from ifclint.engineering.directions import foot
from ifclint.ifc.elements import Box, Element, Model, Role, Storey, Surface, System, without_number

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
BETWEEN = frozenset({Role.FITTING, Role.VALVE, Role.TRAP})
LONGEST_FITTING_M = 2.0  # what is longer is drawn otherwise than a fitting
PLACED = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE, Role.TANK})
BELOW_FLOOR_M = 0.6  # a wall that begins no deeper under a storey's level stands on that storey
CUT_M = 1.2  # above the floor, where a plan cuts what rises through; drafting practice, no source


def plans(model: Model) -> tuple[Plan, ...]:
    """A plan of every storey that holds plumbing, the lowest first."""
    storeys = sorted(model.storeys, key=lambda storey: storey.elevation_m)
    by_name: dict[str, list[Element]] = {}
    for element in model.elements:
        if element.storey and element.role is not Role.OTHER:
            by_name.setdefault(element.storey, []).append(element)
    built = [
        _built(model, storey, above)
        for storey, above in zip(storeys, [*storeys[1:], None], strict=False)
    ]
    return tuple(
        _plan(model, storey, _shown(built, n), by_name[storey.name])
        for n, storey in enumerate(storeys)
        if storey.name in by_name
    )


class _Built(NamedTuple):
    """What stands on a storey, or rises through it."""

    walls: list[PlanBox]
    openings: list[PlanBox]


def _built(model: Model, storey: Storey, above: Storey | None) -> _Built:
    bottom, cut = storey.elevation_m - BELOW_FLOOR_M, storey.elevation_m + CUT_M
    top = above.elevation_m - BELOW_FLOOR_M if above else inf
    there = [s for s in model.surfaces if bottom <= s.low[2] < top or s.low[2] <= cut < s.high[2]]
    walls = [_upright(s, without_number(s.name)) for s in there if s.kind == "wall"]
    openings = [_upright(s, s.kind) for s in there if s.kind in ("door", "window")]
    return _Built(walls, _as_thick_as_walls(openings, walls))


def _shown(built: list[_Built], storey: int) -> _Built:
    """What stands on a storey; on one without any wall, what stands above it, else below: what one
    stands under."""
    around = (*built[storey:], *reversed(built[:storey]))
    return next((one for one in around if one.walls), built[storey])


def _as_thick_as_walls(openings: list[PlanBox], walls: list[PlanBox]) -> list[PlanBox]:
    """The openings, each across the whole wall it is in; frames are seldom as thick."""
    straight = [w for w in walls if not w.outline]
    low = np.array([w.low for w in straight]).reshape(-1, 2)
    high = np.array([w.high for w in straight]).reshape(-1, 2)
    made = []
    for opening in openings:
        meets = (low < opening.high).all(axis=1) & (high > opening.low).all(axis=1)
        if meets.any() and not opening.outline:
            opening = _across(opening, straight[int(np.flatnonzero(meets)[0])])
        made.append(opening)
    return made


def _across(opening: PlanBox, wall: PlanBox) -> PlanBox:
    (x1, y1), (x2, y2) = wall.low, wall.high
    if x2 - x1 > y2 - y1:
        return replace(opening, low=(opening.low[0], y1), high=(opening.high[0], y2))
    return replace(opening, low=(x1, opening.low[1]), high=(x2, opening.high[1]))


def _plan(model: Model, storey: Storey, built: _Built, elements: list[Element]) -> Plan:
    rooms = (
        _seen((space.low, space.high), space.name)
        for space in model.spaces
        if space.storey == storey.name
    )
    placed = (e for e in elements if e.role in PLACED)
    fixtures = (_seen(e.box, without_number(e.label)) for e in placed if e.box)
    return Plan(
        storey.name,
        tuple(built.walls),
        tuple(rooms),
        tuple(fixtures),
        tuple(_pipes(elements)),
        tuple(built.openings),
        tuple(model.grid),
        storey.elevation_m,
        model.north,
        tuple(_fittings(elements)),
    )


def _seen(box: Box, label: str = "") -> PlanBox:
    low, high = box
    return PlanBox((low[0], low[1]), (high[0], high[1]), label)


def _upright(surface: Surface, label: str) -> PlanBox:
    return replace(
        _seen((surface.low, surface.high), label), outline=surface.outline, leaves=surface.leaves
    )


def _pipes(elements: Iterable[Element]) -> Iterator[PlanPipe]:
    for element in elements:
        ends = element.places if element.role is Role.PIPE else []
        if len(ends) >= 2:
            service = SERVICES.get(element.system or System.OTHER, "stub")
            yield PlanPipe(element.guid, ends[0], ends[1], service, element.size_in)


def _fittings(elements: Iterable[Element]) -> Iterator[PlanPipe]:
    """The ways through fittings, so that pipe is drawn without gaps: along the run, and from each
    branch to it."""
    for element in elements:
        ends = element.places if element.role in BETWEEN else []
        if len(ends) < 2:
            continue
        run = max(combinations(ends, 2), key=lambda pair: dist(*pair)) if ends[2:] else tuple(ends)
        if dist(*run) > LONGEST_FITTING_M:
            continue
        service = SERVICES.get(element.system or System.OTHER, "stub")
        ways = [run, *((end, foot(end, *run)[0]) for end in ends if end not in run)]
        for a, b in ways:
            yield PlanPipe(element.guid, a, b, service, element.size_in)
