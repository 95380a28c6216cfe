"""A drain that begins short below a fixture without ports is its own, with or without water."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import basin, supplies
from tests.ifc.test_systems_and_joints import names

DRAINED = ("Drain", "Lavatory")


def drain(m: SmallModel, top: tuple[float, ...], foot: tuple[float, ...], of: str = "SEWAGE"):
    pipe = m.pipe(top, foot, name="Drain", diameter=0.04)
    m.system("Waste", [pipe], of)


@pytest.mark.parametrize("with_water", [False, True])
@pytest.mark.parametrize(
    ("top", "joined"),
    [
        ((0.0, 0.0, 0.675), True),
        ((0.15, 0.1, 0.675), True),
        ((0.0, 0.0, 0.56), True),
        ((0.0, 0.0, 0.54), False),  # more than 0.15 m below
        ((0.0, 0.27, 0.6), False),  # beside it
    ],
)
def test_how_far_below_a_fixture_its_drain_begins(
    tmp_path: Path, top: tuple[float, ...], joined: bool, with_water: bool
) -> None:
    m = SmallModel()
    basin(m)
    if with_water:
        supplies(m)
    drain(m, top, (*top[:2], 0.1))
    model = read(m.write(tmp_path))
    assert (DRAINED in names(model)) is joined
    assert len(model.joints) == 2 * with_water + joined
    assert not joined or round(0.7 - top[2], 3) in [round(j.gap_m, 3) for j in model.joints]


def test_a_drain_that_turns_level_under_its_fixture_is_joined(tmp_path: Path) -> None:
    m = SmallModel()
    basin(m)
    supplies(m)
    drain(m, (0.0, 0.0, 0.65), (0.0, 1.0, 0.63))
    assert DRAINED in names(read(m.write(tmp_path)))


@pytest.mark.parametrize(
    ("top", "foot", "of"),
    [
        ((0.0, 0.0, 0.65), (0.0, 0.0, 1.6), "SEWAGE"),  # comes down to it
        ((0.0, 0.0, 0.65), (0.0, 0.0, 0.1), "VENT"),
        ((0.0, 0.0, 0.65), (0.0, 0.0, 0.1), "RAINWATER"),
    ],
)
def test_what_begins_no_waste_drain_is_left_open(
    tmp_path: Path, top: tuple[float, ...], foot: tuple[float, ...], of: str
) -> None:
    m = SmallModel()
    basin(m)
    supplies(m)
    drain(m, top, foot, of)
    assert DRAINED not in names(read(m.write(tmp_path)))


def test_of_two_drains_below_neither_is_taken(tmp_path: Path) -> None:
    m = SmallModel()
    basin(m)
    supplies(m)
    drain(m, (-0.1, 0.0, 0.65), (-0.1, 0.0, 0.1))
    drain(m, (0.1, 0.0, 0.65), (0.1, 0.0, 0.1))
    assert DRAINED not in names(read(m.write(tmp_path)))


def test_what_is_drained_takes_no_second_drain(tmp_path: Path) -> None:
    m = SmallModel()
    basin(m)
    supplies(m)
    drain(m, (-0.1, 0.0, 0.75), (-0.1, 0.0, 0.1))
    drain(m, (0.1, 0.0, 0.65), (0.1, 0.0, 0.1))
    assert names(read(m.write(tmp_path))).count(DRAINED) == 1
