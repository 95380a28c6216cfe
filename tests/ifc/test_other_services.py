"""Vents in more languages or by what they lead between; conduits, which are no pipe."""

from __future__ import annotations

import itertools

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from tests.ifc.small_models import SmallModel

VENTS = [
    "Avloppsluftning", "Ventilazione scarichi", "Ventilação de esgoto", "Wentylacja kanalizacji",
    "通気", "Lufting av avløp", "Faldstammeudluftning", "Viemärin tuuletus", "Entlüftung",
]  # fmt: skip


@pytest.mark.parametrize("name", VENTS)
def test_a_system_of_vents(tmp_path, name):
    m = SmallModel()
    group = m.root("IfcSystem", name)
    pipe = m.pipe((0, 0, 0), (0, 0, 3), name="Pipe")
    m.root("IfcRelAssignsToGroup", RelatedObjects=[pipe], RelatingGroup=group)
    (element,) = read(m.write(tmp_path)).elements
    assert element.system is System.VENT


def riser(tmp_path, below="SEWAGE", top="Vent terminal"):
    """Pipes of a system that is not understood, between a pipe below and what ends them above."""
    m = SmallModel()
    drain = m.pipe((0, 0, 0), (0, 0, 1), name="Pipe")
    vents = [m.pipe((0, 0, z), (0, 0, z + 1), name="Pipe") for z in (1, 2)]
    cap = m.element("IfcStackTerminal" if top == "Vent terminal" else "IfcPipeFitting", top)
    ports = [
        m.ports(e, *((0, 0, z) for z in at))
        for e, at in ((drain, (0, 1)), (vents[0], (1, 2)), (vents[1], (2, 3)), (cap, (3,)))
    ]
    for one, other in itertools.pairwise(ports):
        m.connect(one[-1], other[0])
    m.system("Below", [drain], below)
    group = m.root("IfcSystem", "Xyz")
    m.root("IfcRelAssignsToGroup", RelatedObjects=vents, RelatingGroup=group)
    return read(m.write(tmp_path))


def test_what_leads_from_a_drain_to_a_vent_terminal_is_a_vent_and_told(tmp_path):
    model = riser(tmp_path)
    pipes = [e for e in model.elements if e.system_name == "Xyz"]
    assert [e.system for e in pipes] == [System.VENT] * 2
    assert any(
        '"Xyz" is of is not understood; read as vents, by its joints: 2 elements' in n.what
        for n in model.notes
    )


@pytest.mark.parametrize(
    ("below", "top"), [("GAS", "Vent terminal"), ("SEWAGE", "Cap"), ("DOMESTICCOLDWATER", "Cap")]
)
def test_what_leads_elsewhere_is_none(tmp_path, below, top):
    model = riser(tmp_path, below, top)
    assert [e.system for e in model.elements if e.system_name == "Xyz"] == [None] * 2
    (note,) = [n.what for n in model.notes if "Xyz" in n.what]
    assert "of 2 pieces of pipework is asked what depends on where they lead" in note


@pytest.mark.parametrize(
    ("name", "predefined"),
    [("Electrical conduit", None), ("Electrical conduit", "ELECTRICAL"), ("System 4", "DATA"),
     ("Leerrohr", None)],
)  # fmt: skip
def test_a_conduit_is_of_other_services(tmp_path, name, predefined):
    m = SmallModel()
    m.system(name, [m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")], predefined)
    (element,) = read(m.write(tmp_path)).elements
    assert (element.role, element.system) == (Role.PIPE, System.OTHER)


def test_a_pipe_named_in_french_as_what_leads_is_no_conduit(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="Conduit")
    (element,) = read(m.write(tmp_path)).elements
    assert element.system is None


def test_lamps_in_an_electrical_system_are_no_pipework(tmp_path):
    m = SmallModel()
    m.system("Lighting", [m.root("IfcFlowTerminal", "Lamp")], "LIGHTING")
    model = read(m.write(tmp_path))
    assert not model.elements
    assert not model.set_aside
