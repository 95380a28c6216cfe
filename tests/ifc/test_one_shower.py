"""Tray and head of one shower are one fixture, with the drain of the one and the water of the
other."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Element, Model, Role, System
from ifclint.ifc.facts.one_shower import join_showers
from ifclint.review import review
from tests.effort import calls
from tests.ifc.small_models import SmallModel


def bathroom(*, head_at=(0.3, 0.0, 2.0), trays=((0.0, 0.0, 0.0),), head="Shower head"):
    """Trays with a drain each, and a head with a cold water pipe."""
    m = SmallModel()
    for i, (x, y, z) in enumerate(trays):
        tray = m.element(
            "IfcSanitaryTerminal",
            f"Shower tray {i}",
            predefined="SHOWER",
            at=m.placement((x, y, z)),
        )  # fmt: skip
        drain = m.pipe((x, y, z - 0.1), (x, y, z - 1), name="Waste DN 50")
        m.connect(m.ports(tray, (x, y, z - 0.1))[0], m.ports(drain, (x, y, z - 0.1))[0])
        m.system(f"Waste {i}", [drain], "SEWAGE")
    above = m.element("IfcSanitaryTerminal", head, predefined="SHOWER", at=m.placement(head_at))
    x, y, z = head_at
    cold = m.pipe((x, y, z + 0.1), (x, y, z + 1), name="Cold DN 15")
    m.connect(m.ports(above, (x, y, z + 0.1))[0], m.ports(cold, (x, y, z + 0.1))[0])
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    return m


def showers(model):
    return [e for e in model.elements if e.role is Role.FIXTURE]


def test_a_head_over_a_tray_is_part_of_it(tmp_path):
    model = read(bathroom().write(tmp_path))
    (shower,) = showers(model)
    assert shower.name == "Shower tray 0"
    assert len(shower.ends) == 2
    joined = {model.elements[j.b].system for j in model.joints}
    joined |= {model.elements[j.a].system for j in model.joints}
    assert {System.SANITARY, System.COLD_WATER} <= joined
    index = model.elements.index(shower)
    met = [(j.a, j.a_end) for j in model.joints] + [(j.b, j.b_end) for j in model.joints]
    assert {(index, 0), (index, 1)} <= set(met)
    (note,) = [n for n in model.notes if n.topic == "role"]
    assert 'Shower head is part of "Shower tray 0"' in note.what


def test_it_counts_once_in_the_schedule(tmp_path):
    for literal in ("upc-2021", "ipc-2021"):
        done = review([bathroom().write(tmp_path)], code=literal)
        named = [f.subject for f in done.findings if "Shower head" in f.subject]
        assert named == []


def test_a_head_over_no_tray_is_a_shower(tmp_path):
    model = read(bathroom(head_at=(5.0, 0.0, 2.0)).write(tmp_path))
    assert sorted(e.name for e in showers(model)) == ["Shower head", "Shower tray 0"]
    assert {e.kind for e in showers(model)} == {"shower"}


def test_a_head_on_the_storey_below_is_another_shower(tmp_path):
    model = read(bathroom(head_at=(0.0, 0.0, -1.0)).write(tmp_path))
    assert len(showers(model)) == 2


def test_between_two_trays_nothing_is_guessed(tmp_path):
    m = bathroom(trays=((-0.5, 0, 0), (0.5, 0, 0)), head_at=(0.0, 0.0, 2.0))
    assert len(showers(read(m.write(tmp_path)))) == 3


def test_heads_in_other_languages(tmp_path):
    for name in ("Duschkopf", "Pomme de douche", "Douchekop", "Rociador de ducha"):
        assert len(showers(read(bathroom(head=name).write(tmp_path)))) == 1, name


def tray_and_cabin(second=(0.0, 0.0, 0.15), name="Shower cabin"):
    m = SmallModel()
    for label, at, height in (("Shower tray", (0, 0, 0), 0.15), (name, second, 2.0)):
        solid = m.raised(m.polygon((0, 0), (0.9, 0), (0.9, 0.9), (0, 0.9), (0, 0)), height)
        m.element(
            "IfcSanitaryTerminal", label, predefined="SHOWER",
            at=m.placement(at), shape=m.shape(solid),
        )  # fmt: skip
    return m


def test_a_tray_and_a_cabin_on_one_footprint_are_one_shower(tmp_path):
    model = read(tray_and_cabin().write(tmp_path))
    assert [e.name for e in showers(model)] == ["Shower tray"]
    assert any('Shower cabin is part of "Shower tray"' in n.what for n in model.notes)


@pytest.mark.parametrize("second", [(0.9, 0, 0), (0, 0, 2.7), (0, 0, 0.3), (0.1, 0, 0)])
def test_showers_beside_or_above_each_other_are_two(tmp_path, second):
    assert len(showers(read(tray_and_cabin(second).write(tmp_path)))) == 2


def calls_of_row(count: int) -> int:
    """For a row of showers, each a tray with a cabin on it and a head over it."""
    model = Model()
    for n in range(count):
        x = 2.0 * n
        for kind, low, high in (("shower", 0.0, 0.1), ("shower", 0.1, 2.0), ("shower-head", 2, 2)):
            made = Element(f"{kind}{len(model.elements)}", role=Role.FIXTURE, kind=kind)
            made.box = (x, 0.0, low), (x + 0.9, 0.9, high)
            model.elements.append(made)

    def work() -> None:
        join_showers(model)
        assert [e.role for e in model.elements] == [Role.FIXTURE, Role.OTHER, Role.OTHER] * count

    return calls(work)


def test_work_grows_with_the_showers_and_not_faster():
    calls_of_row(10)
    assert calls_of_row(320) < 1.5 * 4 * calls_of_row(80)
