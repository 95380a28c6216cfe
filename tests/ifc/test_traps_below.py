"""A trap that stands open straight below a fixture is its own: the tailpiece is not drawn."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Point
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import basin
from tests.ifc.test_systems_and_joints import names

TRAPPED = ("Lavatory", "P-trap 1-1/4")


def trap(m: SmallModel, inlet: Point, name: str = "P-trap 1-1/4") -> None:
    """A trap whose inlet is open, and the arm it drains into."""
    x, y, z = inlet
    outlet = (x, y + 0.13, z - 0.04)
    made = m.element("IfcWasteTerminal", name, predefined="WASTETRAP", at=m.placement(inlet))
    arm = m.pipe(outlet, (x, y + 1.0, z - 0.06), name="Arm", diameter=0.042)
    ends = m.ports(made, inlet, outlet, flows=("SINK", "SOURCE"))
    m.connect(ends[1], m.ports(arm, outlet, (x, y + 1.0, z - 0.06), flows=("SINK", "SOURCE"))[0])
    m.system("Waste", [made, arm], "SEWAGE")


@pytest.mark.parametrize(
    ("inlet", "joined"),
    [
        ((0.0, 0.0, 0.45), True),
        ((0.04, 0.0, 0.45), True),
        ((0.06, 0.0, 0.45), False),  # out of plumb by more than 5 cm
        ((0.0, 0.0, -0.39), True),
        ((0.0, 0.0, -0.41), False),  # lower than any standpipe is long
        ((0.0, 0.0, 0.8), False),  # above the outlet
    ],
)
def test_how_far_below_an_outlet_its_trap_stands(
    tmp_path: Path, inlet: Point, joined: bool
) -> None:
    m = SmallModel()
    m.ports(basin(m), (0.0, 0.0, 0.7), flows=("SOURCE",))
    trap(m, inlet)
    model = read(m.write(tmp_path))
    assert (TRAPPED in names(model)) is joined
    if joined:
        assert max(j.gap_m for j in model.joints) == pytest.approx(0.7 - inlet[2])


@pytest.mark.parametrize(
    ("inlet", "joined"),
    [
        ((0.2, 0.2, 0.4), True),  # anywhere under its body
        ((0.3, 0.0, 0.4), False),  # beside it
    ],
)
def test_a_fixture_without_ports_has_its_trap_under_its_body(
    tmp_path: Path, inlet: Point, joined: bool
) -> None:
    m = SmallModel()
    basin(m)
    trap(m, inlet)
    assert (TRAPPED in names(read(m.write(tmp_path)))) is joined


def test_of_two_traps_below_neither_is_taken(tmp_path: Path) -> None:
    m = SmallModel()
    m.ports(basin(m), (0.0, 0.0, 0.7), flows=("SOURCE",))
    trap(m, (0.0, 0.0, 0.45))
    trap(m, (0.03, 0.0, 0.2))
    assert TRAPPED not in names(read(m.write(tmp_path)))


def test_a_supply_port_is_no_outlet(tmp_path: Path) -> None:
    m = SmallModel()
    m.ports(basin(m), (0.0, 0.0, 0.7), flows=("SINK",))
    trap(m, (0.0, 0.0, 0.45))
    assert all(joint.gap_m == 0.0 for joint in read(m.write(tmp_path)).joints)


def test_the_building_trap_is_no_fixtures(tmp_path: Path) -> None:
    m = SmallModel()
    m.ports(basin(m), (0.0, 0.0, 0.7), flows=("SOURCE",))
    trap(m, (0.0, 0.0, 0.45), name="Running trap 4")
    assert all(joint.gap_m == 0.0 for joint in read(m.write(tmp_path)).joints)
