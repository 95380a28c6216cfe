"""What is on a storey, seen from above: what stands on it, rises through it, opens in it."""

from __future__ import annotations

import pytest

from ifclint.drawings import Plan
from ifclint.ifc.elements import (
    Element,
    End,
    GridAxis,
    Model,
    Role,
    Storey,
    Surface,
    System,
)
from ifclint.plans import plans

LEVELS = [Storey("Level 1", 0.0), Storey("Level 2", 3.0)]


def wall(name: str, low: tuple[float, ...], high: tuple[float, ...], kind: str = "wall") -> Surface:
    (x1, y1, z1), (x2, y2, z2) = low, high
    return Surface(name, kind, name, (x1, y1, z1), (x2, y2, z2))


def storeys_of(*surfaces: Surface) -> dict[str, Plan]:
    elements = [Element(s.name, role=Role.FIXTURE, storey=s.name) for s in LEVELS]
    grid = [GridAxis("A", (0.0, 0.0), (9.0, 0.0))]
    model = Model(elements=elements, storeys=LEVELS, surfaces=list(surfaces), grid=grid, north=0.5)
    return {plan.storey: plan for plan in plans(model)}


def test_a_wall_is_on_the_storey_it_stands_on_and_on_those_it_rises_through() -> None:
    found = storeys_of(
        wall("Parapet:123", (0, 0, -0.3), (9, 0.2, 6)),
        wall("Low", (0, 3, 0), (9, 3.1, 2.9)),
        wall("Sill", (0, 3, 0), (9, 3.1, 4.1)),
        wall("High", (0, 5, 3), (9, 5.1, 4)),
    )
    assert [w.label for w in found["Level 1"].walls] == ["Parapet", "Low", "Sill"]
    assert [w.label for w in found["Level 2"].walls] == ["Parapet", "High"]


def test_a_storey_without_walls_shows_those_above_it() -> None:
    found = storeys_of(wall("High", (0, 5, 3), (9, 5.1, 4)))
    assert [w.label for w in found["Level 1"].walls] == ["High"]


def test_an_opening_goes_across_the_wall_it_is_in() -> None:
    found = storeys_of(
        wall("South", (0, 0, 0), (9, 0.3, 3)),
        wall("West", (0, 0, 0), (0.2, 9, 3)),
        wall("Door", (2, 0.1, 0), (3, 0.15, 2), "door"),
        wall("Window", (-0.1, 5, 1), (0.1, 6, 2), "window"),
        wall("Gate", (20, 20, 0), (21, 20.1, 2), "door"),
    )
    by_low = {o.low: o for o in found["Level 1"].openings}
    assert by_low[(2, 0)].high == (3, 0.3)
    assert by_low[(0, 5)].high == (0.2, 6)
    assert by_low[(20, 20)].high == (21, 20.1)
    assert [o.label for o in found["Level 1"].openings] == ["door", "window", "door"]


def test_fittings_fill_the_gaps_between_pipes() -> None:
    def fitting(guid: str, *ends: tuple[float, float, float], role: Role = Role.FITTING) -> Element:
        return Element(
            guid, role=role, storey="Level 1", system=System.VENT, size_in=2.0,
            ends=[End(position) for position in ends],
        )  # fmt: skip

    elements = [
        fitting("bend", (0, 0, 0), (0.1, 0.1, 0)),
        fitting("tee", (0, 1, 0), (0.4, 1, 0), (0.2, 1.1, 0)),
        fitting("cap", (5, 5, 0)),
        fitting("run", (0, 0, 0), (9, 0, 0)),  # longer than a fitting is
        fitting("pipe", (0, 0, 0), (0.1, 0, 0), role=Role.PIPE),
    ]
    (plan,) = plans(Model(elements=elements, storeys=LEVELS[:1]))
    assert [pipe.guid for pipe in plan.pipes] == ["pipe"]
    found = [(way.guid, way.a, way.b) for way in plan.fittings]
    assert found[:2] == [
        ("bend", (0, 0, 0), (0.1, 0.1, 0)),
        ("tee", (0, 1, 0), (0.4, 1, 0)),
    ]
    (guid, end, foot), *rest = found[2:]
    assert (guid, end, rest) == ("tee", (0.2, 1.1, 0), [])
    assert foot == pytest.approx((0.2, 1.0, 0.0))
    assert {(way.service, way.size_in) for way in plan.fittings} == {("vent", 2.0)}


def test_grid_north_and_height_come_with_every_plan() -> None:
    found = storeys_of(wall("Low", (0, 3, 0), (9, 3.1, 2.9)))
    assert found["Level 2"].grid[0].tag == "A"
    assert (found["Level 2"].north, found["Level 2"].elevation_m) == (0.5, 3.0)
