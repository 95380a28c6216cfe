"""Layers that are named for a service, where neither systems nor ports tell it."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import System
from tests.ifc.small_models import SCHEMAS, SmallModel


def on_layer(m: SmallModel, name: str, of: str, *pipes):
    """Put pipes on a layer: their representations, or the items of these."""
    shapes = [representation for p in pipes for representation in p.Representation.Representations]
    held = shapes if of == "representation" else [item for s in shapes for item in s.Items]
    m.file.create_entity("IfcPresentationLayerAssignment", Name=name, AssignedItems=held)


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("of", ["representation", "item"])
@pytest.mark.parametrize(
    ("layer", "system"),
    [
        ("P-SAN-PIPE", System.SANITARY), ("P-SANR-PIPE", System.SANITARY),
        ("P-SANR-VENT", System.VENT), ("P-VENT", System.VENT), ("P-CW", System.COLD_WATER),
        ("P-DOMW-CPIP", System.COLD_WATER), ("P-DOMW-HPIP", System.HOT_WATER),
        ("P-DOMW-RPIP", System.HOT_WATER_RETURN), ("P-HW", System.HOT_WATER),
        ("P-STRM-PIPE", System.STORM), ("P-NGAS", System.GAS), ("P-GAS", System.GAS),
        ("P-RELIEF", System.RELIEF), ("P-T&P", System.RELIEF), ("P-RELF", System.RELIEF),
        ("P-DV", System.OTHER), ("P-DVAC", System.OTHER), ("P-DRIV", None),
        ("P-PIPE", None), ("Level 1", None), ("P-V", System.VENT), ("V-NODE", None),
        ("P-SD", System.STORM), ("P-G", System.GAS),
        ("P-DOMW-CWTR", System.COLD_WATER), ("P-DOMW-HWTR", System.HOT_WATER),
        ("P-DOMW-HWRT", System.HOT_WATER_RETURN), ("P-CWTR", System.COLD_WATER),
        ("M-CWTR", System.HEATING), ("M-HWTR", System.HEATING),
        ("Gas vent", System.FLUE), ("M-FLUE-VENT", System.FLUE), ("Type B vent", System.FLUE),
        ("P-VENT-EXHAUST", System.VENT),
    ],
)  # fmt: skip
def test_a_layer_tells_the_service(tmp_path, schema, of, layer, system):
    m = SmallModel(schema)
    on_layer(m, layer, of, m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe"))
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.system is system
    assert (str(pipe.basis.get("system", "")) == f'layer "{layer}"') == (system is not None)


def test_what_systems_and_ports_say_goes_before(tmp_path):
    m = SmallModel()
    in_system, with_ports, named = (
        m.pipe((0, y, 0), (1, y, 0), name=name)
        for y, name in enumerate(["2 in pipe", "2 in pipe", "2 in vent"])
    )
    m.system("Domestic cold water", [in_system])
    for port in m.ports(with_ports, (0, 1, 0), (1, 1, 0)):
        port.SystemType = "DOMESTICHOTWATER"
    on_layer(m, "P-SAN-PIPE", "representation", in_system, with_ports, named)
    found = read(m.write(tmp_path)).elements
    assert [e.system for e in found] == [System.COLD_WATER, System.HOT_WATER, System.VENT]


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("P-DOMW-CPIP-1", System.COLD_WATER), ("P-DOMW-HPIP-1", System.HOT_WATER),
        ("P-DOMW-RPIP-2", System.HOT_WATER_RETURN), ("P-SANR-1", System.SANITARY),
        ("P-SANR-VENT-1", System.VENT), ("P-VENT-1", System.VENT), ("P-STRM-1", System.STORM),
        ("P-NGAS-1", System.GAS), ("P-RELF-1", System.RELIEF), ("T&P", System.RELIEF),
        ("TPR 1", System.RELIEF), ("P-DVAC-1", System.OTHER), ("Dental Vacuum", System.OTHER),
        ("Relief", System.RELIEF), ("P-DOMW-1", None), ("Mains 3", None), ("TP-1", None),
        ("Relief and pan", None),
    ],
)  # fmt: skip
def test_a_system_named_as_layers_are_tells_the_service(tmp_path, schema, name, system):
    m = SmallModel(schema)
    m.system(name, [m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe")])
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.system is system


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("says", "system"),
    [("V", System.VENT), ("SAN", System.SANITARY), ("P-V-1", System.VENT), ("V 2", System.VENT),
     ("SD", System.STORM), ("G", System.GAS), ("EU", System.SANITARY), ("EP", System.STORM),
     ("W", None), ("V 2 stack", None), ("G 1/2", None), ("ST 40", None), ("Type G", None)],
)  # fmt: skip
def test_a_mark_of_the_legend_tells_the_service_where_nothing_else_is_said(
    tmp_path, schema, says, system
):
    m = SmallModel(schema)
    named, grouped, stated = (
        m.pipe((0, y, 0), (1, y, 0), name=name) for y, name in enumerate([says, "Run", "Run"])
    )
    m.system(says, [grouped])
    m.properties(stated, "Mechanical", **{"System Type": ("IfcLabel", says)})
    found = read(m.write(tmp_path)).elements
    assert [e.system for e in found if e.name == "Run"] == [system, system]
    assert [e.system for e in found if e.name != "Run"] == [system]
    assert named is not None


def test_a_mark_in_a_fittings_name_is_its_pattern(tmp_path):
    m = SmallModel()
    m.element("IfcPipeFitting", "ST", predefined="JUNCTION", at=m.placement((0, 0, 0)))
    assert [e.system for e in read(m.write(tmp_path)).elements] == [None]
