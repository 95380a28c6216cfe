"""No joint made by nearness carries one service into another without a note."""

from __future__ import annotations

import pytest

from ifclint.findings import Outcome
from ifclint.ifc import read
from ifclint.review import review
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


def main_and_sprinklers(start, *, valve: bool = False):
    """A cold main from a meter, and a pipe of fire sprinklers that begins at a place; no ports."""
    m = SmallModel()
    meter = m.element("IfcFlowMeter", "Water meter", predefined="WATERMETER",
                      at=m.placement((-0.1, 0, 0)),
                      shape=block(m, (-0.1, -0.05, -0.05), (0.11, 0.05, 0.05)))  # fmt: skip
    main = m.pipe((0, 0, 0), (4, 0, 0), name="Main")
    cold = [meter, main]
    if valve:
        at = m.placement((4, 0, 0), z=(1, 0, 0), x=(0, 0, 1))
        shape = m.shape(m.extrusion(0.05, 0.1))
        cold.append(m.element("IfcValve", "Check valve", predefined="CHECK", at=at, shape=shape))
    x, y, z = start
    fire = m.pipe(start, (x + 3, y, z) if valve else (x, y + 3, z), name="Fire line")
    m.system("Domestic cold water", cold, "DOMESTICCOLDWATER")
    m.system("Fire sprinkler", [fire], "FIREPROTECTION")
    return m


def asked(model_file, tmp_path):
    job = tmp_path / "job.toml"
    job.write_text('adopted_code = "upc-2021"\n[building]\noccupancy = "public"\n')
    found = review([model_file], job).findings
    return [f.outcome for f in found if f.rule == "hazard-isolated"]


@pytest.mark.parametrize(
    ("start", "valve", "many"),
    [
        ((4, 0, 0), False, 1),  # end to end
        ((2, 0, 0), False, 1),  # on the side of the main
        ((2, 0.15, 0), False, 0),  # beside it
        ((4.1, 0, 0), True, 1),  # at the far end of a valve that only its shape tells
        ((4.2, 0, 0), True, 0),
    ],
)
def test_sprinklers_that_meet_the_drinking_water_are_asked_about(tmp_path, start, valve, many):
    file = main_and_sprinklers(start, valve=valve).write(tmp_path)
    assert asked(file, tmp_path) == [Outcome.UNVERIFIED] * many
