"""Branches that meet on the axis of a pipe which passes are joined to it, as a cross."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel


def _pairs(folder: Path, *beside: tuple[float, float]) -> set[frozenset[str]]:
    """What is joined of a riser and of two branches that end at a place beside its axis."""
    m = SmallModel()
    riser = m.pipe((0, 0, 0), (0, 0, 3), name="riser")
    places = [(x, y, 1.0) for x, y in beside]
    left = m.pipe((-1, 0, 1), places[0], diameter=0.0422, name="left")
    right = m.pipe((1, 0.2, 1), places[1], diameter=0.0422, name="right")
    m.system("Domestic cold water", [riser, left, right], "DOMESTICCOLDWATER")
    model = read([m.write(folder)])
    return {frozenset((model.elements[j.a].name, model.elements[j.b].name)) for j in model.joints}


@pytest.mark.parametrize("offset_m", [0.0, 0.004, 0.009])
def test_two_that_meet_on_the_axis_are_both_joined_to_the_riser(
    tmp_path: Path, offset_m: float
) -> None:
    made = _pairs(tmp_path, (0.0, 0.0), (0.0, offset_m))
    assert {frozenset(("riser", "left")), frozenset(("riser", "right"))} <= made


def test_two_that_meet_beside_a_riser_are_joined_to_each_other(tmp_path: Path) -> None:
    assert _pairs(tmp_path, (-0.2, 0.0), (-0.2, 0.0)) == {frozenset(("left", "right"))}
