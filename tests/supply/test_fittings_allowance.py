"""Drawn fittings count as drawn; an allowance counts only where the job file states one."""

from __future__ import annotations

import pytest

from ifclint.job import Job
from ifclint.rules.supply.budget import budget
from ifclint.rules.supply.pressure_model import solution
from ifclint.testing.questions import context_of

STRAIGHT = """
system=cold_water material={material}
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 81 0 0
lavatory L  cold 81 0 0
"""
BENT = """
system=cold_water material={material}
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 41 0 0
bend 0.75 E  41 0 0 > 41.2 0.2 0
pipe 0.75 P2  41.2 0.2 0 > 41.2 40.2 0
lavatory L  cold 41.2 40.2 0
"""


def _made(network: str, material: str, **water: object) -> tuple[float, str]:
    job = Job.model_validate({"water": {"residual_pressure": "60 psi", **water}})
    solved = solution(context_of(network.replace("{material}", material), "upc-2021", job))
    tap = solved.supply.fixtures[0].taps[0]
    feet = max(loss.equivalent_m for loss in solved.loss) / 0.3048
    return feet, " ".join(step.text for step in budget(tap, solved.at(tap), None, solved.context))


@pytest.mark.parametrize("material", ["pex", "steel", "copper", "cpvc"])
@pytest.mark.parametrize(("share", "feet"), [(None, 80.0), (0.0, 80.0), (0.5, 120.0)])
def test_straight_pipe(material: str, share: float | None, feet: float) -> None:
    water = {} if share is None else {"fittings_allowance": share}
    found, steps = _made(STRAIGHT, material, **water)
    assert found == pytest.approx(feet)
    assert ("allowance" in steps) is (share == 0.5)


@pytest.mark.parametrize("share", [None, 0.5])
def test_a_drawn_elbow_counts_and_the_allowance_does_not(share: float | None) -> None:
    """30 inside diameters of 3/4 in steel, 0.824 in: 2.06 ft (Crane TP-410)."""
    water = {} if share is None else {"fittings_allowance": share}
    found, steps = _made(BENT, "steel", **water)
    assert found == pytest.approx(80 + 30 * 0.824 / 12, abs=0.01)
    assert "allowance" not in steps


def test_a_well_tank_is_told_once_in_the_budget() -> None:
    """The line from the pump to the tank loses nothing of what the tank gives."""
    context = context_of("""
system=cold_water material=copper
pump PU  out 0 0 0
pipe 1 P1  0 0 0 > 10 0 0
tee 1 T  10 0 0 > 10.2 0 0 > 10.1 0 0.2
pressure-tank PT cut_in_pa=275790 cut_out_pa=413685  10.1 0 0.2
pipe 1 P2  10.2 0 0 > 30 0 0
lavatory L  cold 30 0 0
""")
    solved = solution(context)
    tap = solved.supply.fixtures[0].taps[0]
    steps = [step.text for step in budget(tap, solved.at(tap), None, context)]
    assert sum("gives while water runs" in text for text in steps) == 1
    assert not any("P1" in text for text in steps)
