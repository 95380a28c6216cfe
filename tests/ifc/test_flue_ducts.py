"""Ducts are read as flues where words or joints say so, and as nothing else."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from tests.ifc.small_models import SmallModel


def duct(m: SmallModel, start, end, name="Round duct", diameter=0.1016):
    if m.old:
        made = m.pipe(start, end, name=name, diameter=diameter)
        kind = m.root("IfcDuctSegmentType", "Round")
        kind.PredefinedType = "RIGIDSEGMENT"
        m.file.create_entity("IfcRelDefinesByType", m.guid(), m.owner, None, None, [made], kind)
        return made
    made = m.pipe(start, end, name=name, diameter=diameter)
    placed, shape = made.ObjectPlacement, made.Representation
    m.file.remove(made)
    return m.root("IfcDuctSegment", name, ObjectPlacement=placed, Representation=shape)


def flues(tmp_path, m):
    return [e for e in read(m.write(tmp_path)).elements if e.system is System.FLUE]


@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4"])
@pytest.mark.parametrize(
    ("name", "is_flue"),
    [
        ("Type B vent 4 in", True), ("Flue pipe", True), ("Furnace vent connector", True),
        ("Abgasrohr DN100", True), ("Round duct", False), ("Bath exhaust duct", False),
        ("Range hood vent", False), ("Dryer vent connector", False), ("Combustion air", False),
    ],
)  # fmt: skip
def test_by_its_name(tmp_path, schema, name, is_flue):
    m = SmallModel(schema)
    duct(m, (0, 0, 0), (0, 0, 2), name)
    assert len(flues(tmp_path, m)) == is_flue


@pytest.mark.parametrize(
    ("system", "literal", "is_flue"),
    [
        ("Gas vent", "EXHAUST", True), ("Chimney", None, True), ("Bath exhaust", "EXHAUST", False),
        ("Exhaust 1", "EXHAUST", False), ("Flue", "VENTILATION", True),
        ("Supply air", "AIRCONDITIONING", False),
    ],
)  # fmt: skip
def test_by_its_system(tmp_path, system, literal, is_flue):
    m = SmallModel()
    made = duct(m, (0, 0, 0), (0, 0, 2))
    m.system(system, [made], literal)
    assert len(flues(tmp_path, m)) == is_flue


@pytest.mark.parametrize(
    ("ifc_class", "heater", "port_name", "system", "found"),
    [
        ("IfcBoiler", "Gas water heater", "", "", 2),
        ("IfcBoiler", "Gas water heater", "Draft hood", "Exhaust 1", 2),
        ("IfcBoiler", "Gas water heater", "Combustion air intake", "", 0),
        ("IfcBoiler", "Gas water heater", "", "Bath exhaust", 0),
        ("IfcBoiler", "Heat pump water heater", "", "", 0),
        ("IfcUnitaryEquipment", "Gas furnace", "Supply", "", 0),
        ("IfcUnitaryEquipment", "Gas furnace", "Flue collar", "", 2),
    ],
)
def test_by_the_collar_it_is_joined_to(tmp_path, ifc_class, heater, port_name, system, found):
    m = SmallModel()
    first, second = duct(m, (0, 0, 2), (0, 0, 3)), duct(m, (0, 0, 3), (0, 0, 5))
    other = duct(m, (9, 0, 2), (9, 0, 3))
    appliance = m.element(ifc_class, heater)
    (collar,) = m.ports(appliance, (0, 0, 2))
    collar.Name = port_name or None
    low, high = m.ports(first, (0, 0, 2), (0, 0, 3))
    (foot,) = m.ports(second, (0, 0, 3))
    for port in (collar, low, high, foot):
        port.PredefinedType = "DUCT"
    m.connect(collar, low)
    m.connect(high, foot)
    if system:
        m.system(system, [first, second, other], "EXHAUST")
    read_as = flues(tmp_path, m)
    assert len([e for e in read_as if e.ifc_class == "IfcDuctSegment"]) == found


@pytest.mark.parametrize(
    ("name", "beside", "found"),
    [
        ("Damper", "pipe", 1), ("Balancing damper, supply air", "pipe", 0),
        ("Damper", "duct", 0), ("Vent damper", "nothing", 1), ("Fire damper", "nothing", 0),
    ],
)  # fmt: skip
def test_a_damper_is_of_a_flue_by_its_name_or_the_pipe_it_is_joined_to(
    tmp_path, name, beside, found
):
    m = SmallModel()
    damper = m.element("IfcDamper", name, predefined="CONTROLDAMPER", at=m.placement((0, 0, 2)))
    low, _ = m.ports(damper, (0, 0, 2), (0, 0, 2.1))
    if beside != "nothing":
        make = m.pipe if beside == "pipe" else lambda a, b, **more: duct(m, a, b)
        (end,) = m.ports(make((0, 0, 0), (0, 0, 2), name="Riser"), (0, 0, 2))
        m.connect(end, low)
    read_as = flues(tmp_path, m)
    assert len([e for e in read_as if e.kind == "damper"]) == found


@pytest.mark.parametrize(
    ("name", "beside", "found"),
    [
        ("Vent cap", "Flue pipe", 1), ("Round cap", "Flue pipe", 1), ("Vent cap", "Riser", 0),
        ("Diffuser", "Supply air", 0), ("Round cap", "nothing", 0),
    ],
)  # fmt: skip
@pytest.mark.parametrize("as_duct", [True, False])
def test_an_air_terminal_is_the_end_of_the_flue_it_is_joined_to(
    tmp_path, name, beside, found, as_duct
):
    m = SmallModel()
    cap = m.element("IfcAirTerminal", name, at=m.placement((0, 0, 2)))
    (low,) = m.ports(cap, (0, 0, 2))
    if beside != "nothing":
        make = duct if as_duct else lambda m, a, b, name: m.pipe(a, b, name=name)
        (end,) = m.ports(make(m, (0, 0, 0), (0, 0, 2), beside), (0, 0, 2))
        m.connect(end, low)
    model = read(m.write(tmp_path))
    assert [e.role for e in model.elements if e.name == name] == [Role.VENT_TERMINAL] * found
    assert len([s for s in model.surfaces if s.kind == "duct"]) == (as_duct and beside != "nothing")
