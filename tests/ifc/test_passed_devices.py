"""A device in line that is not understood lets what flows pass: by its class and two ports."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from tests.ifc.small_models import SmallModel


def drawn(tmp_path, ifc_class, name, *, ports=2, system="DOMESTICCOLDWATER"):
    """A model of a device between two pipes of one system, as far as it has ports for both."""
    m = SmallModel()
    one = m.pipe((0, 0, 0), (1, 0, 0), name="Before")
    other = m.pipe((1.2, 0, 0), (2, 0, 0), name="After")
    device = m.element(ifc_class, name, at=m.placement((1.1, 0, 0)))
    ends = m.ports(device, *((1, 0, 0), (1.2, 0, 0), (1.1, 0.1, 0))[:ports])
    m.connect(m.ports(one, (0, 0, 0), (1, 0, 0))[1], ends[0])
    if ports > 1:
        m.connect(ends[1], m.ports(other, (1.2, 0, 0), (2, 0, 0))[0])
    m.system("Piping", [one, other, device], system)
    return read(m.write(tmp_path))


@pytest.mark.parametrize("ifc_class", ["IfcFlowTreatmentDevice", "IfcFilter"])
@pytest.mark.parametrize("name", ["Ultraviolet disinfection unit", "X-77"])
def test_water_passes_a_device_of_two_ports(tmp_path, ifc_class, name):
    model = drawn(tmp_path, ifc_class, name)
    (device,) = [e for e in model.elements if e.name == name]
    assert (device.role, device.kind) == (Role.FITTING, "in-line-device")
    index = model.elements.index(device)
    assert sum(index in (joint.a, joint.b) for joint in model.joints) == 2
    (note,) = [n for n in model.notes if n.guid == device.guid]
    assert "is not understood" in note.what


@pytest.mark.parametrize(
    ("ifc_class", "name", "ports"),
    [
        ("IfcFlowTreatmentDevice", "X-77", 1),  # it may take what flows
        ("IfcFlowTreatmentDevice", "X-77", 3),  # which way it goes is not known
        ("IfcSensor", "X-77", 2),
    ],
)
def test_what_else_is_not_understood_is_led_to(tmp_path, ifc_class, name, ports):
    model = drawn(tmp_path, ifc_class, name, ports=ports)
    assert [e.name for e in model.elements if e.kind == "in-line-device"] == []
    assert set(model.leads_elsewhere.values()) == {name}


def test_one_that_is_understood_keeps_its_kind(tmp_path):
    model = drawn(tmp_path, "IfcFlowTreatmentDevice", "Water softener")
    assert [e.kind for e in model.elements if e.name == "Water softener"] == ["water-softener"]
