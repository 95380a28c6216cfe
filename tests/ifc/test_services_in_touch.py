"""No joint made by nearness carries one service into another without a note."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import block


def valve_between(one: str, other: str, own: str = "", kind: str = "ISOLATING"):
    """A valve without ports, and two pipes that run into it."""
    m = SmallModel()
    a, b = m.pipe((-1, 0, 0), (-0.02, 0, 0), name="A"), m.pipe((0.02, 0, 0), (1, 0, 0), name="B")
    valve = m.element("IfcValve", "Part", predefined=kind, at=m.placement((0, 0, 0)),
                      shape=block(m, (-0.06, -0.04, -0.04), (0.06, 0.04, 0.1)))  # fmt: skip
    m.system("One", [a], one)
    m.system("Other", [b], other)
    if own:
        m.system("Own", [valve], own)
    return m


def touches(model):
    return [n for n in model.notes if "whose service nothing tells" in n.what]


@pytest.mark.parametrize(
    ("one", "other", "noted"),
    [
        ("DOMESTICCOLDWATER", "DOMESTICCOLDWATER", 0),
        ("DOMESTICCOLDWATER", "GAS", 1),
        ("DOMESTICCOLDWATER", "DOMESTICHOTWATER", 1),
        ("SEWAGE", "GAS", 1),
        ("SEWAGE", "VENT", 0),
    ],
)
def test_a_valve_of_no_known_service_between_two_services(tmp_path, one, other, noted):
    model = read(valve_between(one, other).write(tmp_path))
    assert len(model.joints) == 2
    assert len(touches(model)) == noted
    assert [n.topic for n in touches(model)] == ["joint"] * noted


def test_a_mixing_valve_may_join_hot_and_cold(tmp_path):
    m = valve_between("DOMESTICCOLDWATER", "DOMESTICHOTWATER", kind="MIXING")
    model = read(m.write(tmp_path))
    assert len(model.joints) == 2
    assert touches(model) == []


def test_a_valve_that_tells_its_service_is_joined_to_this_alone(tmp_path):
    m = valve_between("DOMESTICCOLDWATER", "GAS", own="GAS")
    model = read(m.write(tmp_path))
    assert [{model.elements[i].name for i in j[:4:2]} for j in model.joints] == [{"B", "Part"}]
    assert touches(model) == []
