"""Coincident and dense geometry: the search for what meets grows with neither."""

from __future__ import annotations

import math

import pytest

from ifclint.ifc.elements import Element, End, Model, Role, System
from ifclint.ifc.joints.joining import join_free_ends
from tests.effort import effort

COUNT = 20_000
LIMIT_S = 4.0  # of processor time: 2 s on a free machine, and room for a busy one


def pipe(name: str, a, b, system: System | None = System.COLD_WATER) -> Element:
    made = Element(name, name, role=Role.PIPE, system=system, size_in=1.0, position=a)
    made.ends, made.length_m = [End(a), End(b)], math.dist(a, b)
    return made


def joined(*elements: Element) -> Model:
    model = Model(elements=list(elements), joining_tolerance_m=0.01)
    join_free_ends(model, {})
    return model


def around(k: int, radius: float = 3.0):
    """The k-th of many places spread over a sphere."""
    turn, z = k * 2.399963, 1 - 2 * (k + 0.5) / COUNT
    flat = math.sqrt(1 - z * z)
    return radius * flat * math.cos(turn), radius * flat * math.sin(turn), radius * z


def in_one_place(k: int) -> Element:
    return pipe(f"P{k}", (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))


def in_a_star(k: int) -> Element:
    return pipe(f"P{k}", (0.0, 0.0, 0.0), around(k))


def ports_in_one_place(k: int) -> Element:
    made = Element(f"V{k}", f"V{k}", role=Role.VALVE, position=(0.0, 0.0, 0.0))
    made.ends = [End((0.0, 0.0, 0.0)), End((0.0, 0.0, 0.0))]
    return made


@pytest.mark.parametrize("made", [in_one_place, in_a_star, ports_in_one_place])
def test_20000_coincident_ends_take_two_seconds(made):
    elements = [made(k) for k in range(COUNT)]
    with effort() as spent:
        model = joined(*elements)
    assert spent.seconds < LIMIT_S
    assert model.joints == []


def test_a_pipe_drawn_twice_is_joined_once():
    a, b, c = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, 0.0, 0.0)
    model = joined(pipe("A", a, b), pipe("Again", b, a), pipe("B", b, c))
    assert [(j.a, j.b) for j in model.joints] == [(0, 2)]


def test_two_services_in_one_place_are_no_duplicates():
    a, b, c = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, 0.0, 0.0)
    gas = [pipe(name, *ends, System.GAS) for name, ends in (("G", (a, b)), ("H", (b, c)))]
    model = joined(pipe("A", a, b), *gas)
    assert [(j.a, j.b) for j in model.joints] == [(1, 2)]


def test_a_valve_drawn_twice_is_noted():
    valves = [Element(n, n, role=Role.VALVE, position=(0.0, 0.0, 0.0)) for n in "VW"]
    for valve in valves:
        valve.ends = [End((0.0, 0.0, 0.0)), End((0.1, 0.0, 0.0))]
    (note,) = joined(*valves).notes
    assert (note.topic, note.guid) == ("duplicate", "W")


def test_a_crowd_of_more_than_a_few_is_one_note():
    spokes = [pipe(f"P{k}", (0.0, 0.0, 0.0), around(k * 400)) for k in range(40)]
    model = joined(*spokes)
    assert model.joints == []
    first = model.notes[0]
    assert first.what.startswith("40 ends of cold water lie in one place, at P0")


def test_a_model_of_fixtures_drawn_once_or_twice_has_no_ends_to_join():
    box = ((0.0, 0.0, 0.0), (0.5, 0.5, 0.8))
    basins = [Element(n, n, role=Role.FIXTURE, kind="lavatory") for n in "AB"]
    model = Model(elements=basins, joining_tolerance_m=0.01)
    basins[0].ends = [End(box[0], name="drawn")]
    basins[0].box = box
    join_free_ends(model, {1: box})
    assert model.joints == []
    assert [n.topic for n in model.notes] == ["duplicate"]
