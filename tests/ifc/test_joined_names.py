"""Systems that are named for several services at once."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import System
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.ifc.test_classifications import by_classification, by_layer
from tests.ifc.test_pipework import PROXY, loose


def system_of(tmp_path, schema: str, name: str, literal: str | None = None) -> System | None:
    m = SmallModel(schema)
    m.system(name, [m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe")], literal)
    (pipe,) = read(m.write(tmp_path)).elements
    return pipe.system


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("Hot and cold water", System.WATER), ("Domestic hot and cold water", System.WATER),
        ("CW/HW", System.WATER), ("HW & CW", System.WATER), ("Cold/hot/return", System.WATER),
        ("Sanitary and vent", System.SANITARY), ("Waste & vent piping", System.SANITARY),
        ("Sanitary waste and vent", System.SANITARY), ("Waste and vent", System.SANITARY),
        ("Water and waste", None), ("Gas and water", None), ("Storm and sanitary", None),
        ("Water & Sewer", None), ("Hot water, gas", None), ("Eau et gaz", None),
        # of one service, or of others than piping of plumbing
        ("Hot water and return", System.HOT_WATER), ("Gas, level 2", System.GAS),
        ("Cold water, house A and B", System.COLD_WATER), ("Gas vent/flue", System.FLUE),
        ("Vent and revent", System.VENT),
    ],
)  # fmt: skip
def test_a_name_of_several_services_is_of_what_they_have_in_common(tmp_path, schema, name, system):
    assert system_of(tmp_path, schema, name) is system


@pytest.mark.parametrize(
    ("name", "literal", "system"),
    [
        ("Gas and water", "GAS", System.GAS),
        ("Hot and cold water", "DOMESTICHOTWATER", System.HOT_WATER),
        ("Sanitary and vent", "VENT", System.VENT),
    ],
)
def test_what_the_class_of_the_system_says_goes_before(tmp_path, name, literal, system):
    assert system_of(tmp_path, "IFC4", name, literal) is system


@pytest.mark.parametrize("name", ["Water and waste", "Sanitary and vent"])
def test_proxies_of_several_services_are_pipework(tmp_path, name):
    m = SmallModel()
    m.system(name, [loose(m, PROXY, "Ball valve")])
    assert [e.kind for e in read(m.write(tmp_path)).elements] == ["isolating"]


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("Hot and cold water", System.WATER), ("Sanitary/Vent", System.SANITARY),
        ("Water and waste", None), ("Natural gas", System.GAS),
    ],
)  # fmt: skip
@pytest.mark.parametrize("place", ["layer", "classification", "property"])
def test_so_do_layers_classifications_and_properties(tmp_path, place, name, system):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe")
    if place == "property":
        m.properties(pipe, "Mechanical", **{"System Type": ("IfcLabel", name)})
    else:
        (by_layer if place == "layer" else by_classification)(m, name, pipe)
    (element,) = read(m.write(tmp_path)).elements
    assert element.system is system
