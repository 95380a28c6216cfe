"""What ends a vent in the open air, by its class or by its words in several languages."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from tests.ifc.small_models import SmallModel


def top_of_vent(tmp_path, name, predefined, system="VENT"):
    """The fitting at the upper end of a pipe, in one system with it."""
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (0, 0, 3), name="2 in pipe")
    top = m.element("IfcPipeFitting", name, predefined=predefined, at=m.placement((0, 0, 3)))
    m.connect(m.ports(pipe, (0, 0, 0), (0, 0, 3))[1], m.ports(top, (0, 0, 3))[0])
    m.system(system.title(), [pipe, top], system)
    return next(e for e in read(m.write(tmp_path)).elements if e.role is not Role.PIPE)


@pytest.mark.parametrize(
    "name",
    ["Dachhaube Entlüftung", "Chapeau de ventilation", "Haube", "Sombrerete", "Kappe", "Vent 3",
     "Cap"],
)  # fmt: skip
def test_an_exit_of_a_vent_ends_it_whatever_it_is_called(tmp_path, name):
    assert top_of_vent(tmp_path, name, "EXIT").role is Role.VENT_TERMINAL


@pytest.mark.parametrize(
    ("name", "predefined", "system"),
    [
        ("Test plug", "EXIT", "VENT"),
        ("End cap", "EXIT", "VENT"),
        ("Cap", "OBSTRUCTION", "VENT"),
        ("Kappe", None, "VENT"),
        ("Exit", "EXIT", "SEWAGE"),
    ],
)
def test_a_closed_end_and_an_exit_of_a_drain_are_none(tmp_path, name, predefined, system):
    assert top_of_vent(tmp_path, name, predefined, system).role is Role.FITTING


@pytest.mark.parametrize(
    "name",
    ["Dachhaube", "Entlüftungshaube", "Dachhaube Entlüftung", "Chapeau de ventilation",
     "Terminal de ventilación", "Ontluchtingskap", "Sombrerete de ventilación", "Vent cowl"],
)  # fmt: skip
def test_words_alone_tell_a_vent_terminal(tmp_path, name):
    assert top_of_vent(tmp_path, name, None).role is Role.VENT_TERMINAL
