"""Parts of which one of two openings has a port: the other is at the far tip of the shape."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Joint, Model
from tests.ifc.small_models import SmallModel


def _read(m: SmallModel, folder: Path) -> Model:
    return read([m.write(folder)])


def _names(model: Model, joints: list[Joint]) -> set[frozenset[str]]:
    return {frozenset((model.elements[j.a].name, model.elements[j.b].name)) for j in joints}


@pytest.mark.parametrize(("beside_m", "stands_on"), [(0.0, True), (0.024, True), (0.05, False)])
def test_a_relief_valve_without_a_port_at_its_heater_stands_on_it(
    tmp_path: Path, beside_m: float, stands_on: bool
) -> None:
    m = SmallModel()
    m.block(
        "IfcFlowStorageDevice" if m.old else "IfcElectricAppliance", "Water heater 50 gal",
        (0, 0, 0), (0.5, 0.5, 1.5), PredefinedType="FREESTANDINGWATERHEATER",
    )  # fmt: skip
    heater = m.file.by_type("IfcElectricAppliance")[0]
    m.contain(heater, m.storey)
    m.ports(heater, (0.1, 0.25, 1.5), (0.4, 0.25, 1.5), flows=("SINK", "SOURCE"))
    legs = m.shape(m.extrusion(0.02, 0.1), _turned(m, 0.02, 0.08))
    valve = m.element(
        "IfcValve", "T&P relief valve 3/4 in 150 psi 210 F", predefined="PRESSURERELIEF",
        at=m.placement((0.5 + beside_m, 0.25, 1.3), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)), shape=legs,
    )  # fmt: skip
    m.ports(valve, (0.6 + beside_m, 0.25, 1.22), flows=("SOURCE",))
    model = _read(m, tmp_path)
    pair = frozenset(("Water heater 50 gal", "T&P relief valve 3/4 in 150 psi 210 F"))
    assert (pair in _names(model, model.joints)) is stands_on


def _turned(m: SmallModel, diameter: float, length: float):
    """The outlet of a relief valve: from the far end of its inlet downward."""
    return m.file.create_entity(
        "IfcExtrudedAreaSolid", m.round_profile(diameter), m.axes((0, 0, 0.1), (-1, 0, 0)),
        m.direction((0, 0, 1)), m.length(length),
    )  # fmt: skip


@pytest.mark.parametrize("ifc_class", ["IfcValve", "IfcPipeFitting", "IfcFlowMeter"])
def test_a_part_joined_to_nothing_at_one_side_meets_the_pipe_that_ends_there(
    tmp_path: Path, ifc_class: str
) -> None:
    m = SmallModel()
    one = m.pipe((-1, 0, 1), (0, 0, 1), name="before")
    other = m.pipe((0.2, 0, 1), (1, 0, 1), name="behind")
    predefined = {"IfcValve": "ISOLATING", "IfcPipeFitting": "CONNECTOR", "IfcFlowMeter": None}
    part = m.element(
        ifc_class, "part", predefined=predefined[ifc_class],
        at=m.placement((0, 0, 1), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
        shape=m.shape(m.extrusion(0.0603, 0.2)),
    )  # fmt: skip
    (a, b), (c,) = m.ports(one, (-1, 0, 1), (0, 0, 1)), m.ports(part, (0, 0, 1))
    m.connect(b, c)
    m.ports(other, (0.2, 0, 1), (1, 0, 1))
    m.system("Domestic cold water", [one, other, part], "DOMESTICCOLDWATER")
    model = _read(m, tmp_path)
    assert frozenset(("part", "behind")) in _names(model, model.joints)
    assert a


def test_a_cap_has_one_opening(tmp_path: Path) -> None:
    m = SmallModel()
    one = m.pipe((-1, 0, 1), (0, 0, 1), name="before")
    other = m.pipe((0.05, 0, 1), (1, 0, 1), name="behind")
    cap = m.element(
        "IfcPipeFitting", "Cap 2 in", predefined="CONNECTOR",
        at=m.placement((0, 0, 1), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
        shape=m.shape(m.extrusion(0.0603, 0.05)),
    )  # fmt: skip
    (_, b), (c,) = m.ports(one, (-1, 0, 1), (0, 0, 1)), m.ports(cap, (0, 0, 1))
    m.connect(b, c)
    m.ports(other, (0.05, 0, 1), (1, 0, 1))
    model = _read(m, tmp_path)
    assert frozenset(("Cap 2 in", "behind")) not in _names(model, model.joints)


@pytest.mark.parametrize("on_nipple", [True, False])
def test_a_relief_valve_is_joined_to_its_heater_once(tmp_path: Path, on_nipple: bool) -> None:
    """By its nipple; where both its ends lead elsewhere, to what it stands on."""
    m = SmallModel()
    m.block(
        "IfcElectricAppliance", "Water heater 50 gal", (0, 0, 0), (0.5, 0.5, 1.5),
        PredefinedType="FREESTANDINGWATERHEATER",
    )  # fmt: skip
    heater = m.file.by_type("IfcElectricAppliance")[0]
    m.contain(heater, m.storey)
    (_, _, tapping) = m.ports(
        heater, (0.1, 0.25, 1.5), (0.4, 0.25, 1.5), (0.5, 0.25, 1.3),
        flows=("SINK", "SOURCE", "SOURCE"),
    )  # fmt: skip
    far = (0.5, 0.25, 1.3) if on_nipple else (0.52, 0.25, 1.8)
    nipple = m.pipe(far, (0.52, 0.25, 1.3), name="Nipple")
    line = m.pipe((0.56, 0.25, 1.3), (0.56, 0.25, 0.5), name="Line")
    valve = m.element(
        "IfcValve", "T&P relief valve 150 psi 210 F", predefined="PRESSURERELIEF",
        at=m.placement((0.52, 0.25, 1.3)), shape=m.shape(m.extrusion(0.02, 0.04)),
    )  # fmt: skip
    ends = m.ports(nipple, far, (0.52, 0.25, 1.3))
    inlet, outlet = m.ports(valve, (0.52, 0.25, 1.3), (0.56, 0.25, 1.3), flows=("SINK", "SOURCE"))
    (top, _) = m.ports(line, (0.56, 0.25, 1.3), (0.56, 0.25, 0.5))
    for one, other in ((tapping, ends[0]), (ends[1], inlet), (outlet, top))[not on_nipple :]:
        m.connect(one, other)
    m.system("Relief", [nipple, line, valve], "DRAINAGE")
    model = _read(m, tmp_path)
    pair = frozenset(("Water heater 50 gal", "T&P relief valve 150 psi 210 F"))
    assert (pair in _names(model, model.joints)) is not on_nipple
