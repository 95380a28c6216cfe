"""Pipes that are drawn past the openings of the parts they enter."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel
from tests.ifc.test_bodies_of_several import joined_to


def trap_and_pipe(*tip, diameter=0.05, system="SEWAGE", top=1.0, second=False):
    """A trap that opens at 0, 0, 0 and in its arm, and a pipe that comes down to a tip."""
    m = SmallModel()
    pipe = m.pipe((tip[0], tip[1], top), tip, name="Tailpiece", diameter=diameter)
    traps = [m.element("IfcFlowFitting", "P-trap", at=m.placement((0.15, 0, -0.1)))]
    m.ports(traps[0], (0, 0, 0), (0.3, 0, -0.05))
    if second:
        traps.append(m.element("IfcFlowFitting", "P-trap 2", at=m.placement((0, 0.15, -0.1))))
        m.ports(traps[1], (0, 0, 0.015), (0, 0.3, -0.05))
    m.system("Soil", traps, "SEWAGE")
    m.system("Service of the pipe", [pipe], system)
    return m


@pytest.mark.parametrize(
    ("tip", "diameter", "joined"),
    [
        ((0, 0, -0.015), 0.05, ["P-trap"]),
        ((0, 0, -0.0499), 0.05, ["P-trap"]),
        ((0.0099, 0, -0.02), 0.05, ["P-trap"]),
        ((0.0101, 0, -0.02), 0.05, []),  # beside the axis
        ((0, 0, 0.02), 0.05, []),  # short of it
    ],
)
def test_a_pipe_drawn_into_a_socket_is_joined_to_it(tmp_path, tip, diameter, joined):
    model = read(trap_and_pipe(*tip, diameter=diameter).write(tmp_path))
    assert joined_to(model, "Tailpiece") == joined


@pytest.mark.parametrize(("top", "joined"), [(0.03, ["P-trap"]), (-0.012, [])])
def test_a_short_pipe_has_passed_no_opening_behind_its_other_end(tmp_path, top, joined):
    model = read(trap_and_pipe(0, 0, -0.04, top=top).write(tmp_path))
    assert joined_to(model, "Tailpiece") == joined


def test_no_pipe_of_another_service_is_joined(tmp_path):
    model = read(trap_and_pipe(0, 0, -0.015, system="GAS").write(tmp_path))
    assert joined_to(model, "Tailpiece") == []


def test_of_two_parts_that_a_pipe_has_passed_neither_is_taken(tmp_path):
    model = read(trap_and_pipe(0, 0, -0.02, second=True).write(tmp_path))
    assert joined_to(model, "Tailpiece") == []
