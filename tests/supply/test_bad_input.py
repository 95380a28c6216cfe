"""What cannot be known is said with the key to add; what can be computed still is."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from ifclint.errors import InputError
from ifclint.job import Job
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.schedules import budget_schedule, segment_schedule
from tests.supply.trees import Branch, context_of, tree

HOUSE = [Branch(-1, 30, 1.0), Branch(0, 10, 0.5), Branch(0, 20, 0.75)]
FIXTURES = [(1, "lavatory"), (2, "bathtub")]


@pytest.mark.parametrize("key", ["static_pressure", "residual_pressure", "regulator_setting"])
@pytest.mark.parametrize("value", ["-5 psi", "0 psi"])
def test_no_pressure_of_nothing_or_less(key: str, value: str) -> None:
    with pytest.raises(ValidationError) as caught:
        Job.model_validate({"water": {key: value}})
    assert key in str(caught.value)


@pytest.mark.parametrize(
    ("key", "value"),
    [("meter_loss", "-1 psi"), ("friction", "manning"), ("demand_method", "guess"),
     ("copper_type", "X"), ("static_pressure", "65 ft"), ("statik_pressure", "65 psi")],
)  # fmt: skip
def test_wrong_keys_and_values(key: str, value: str) -> None:
    with pytest.raises(ValidationError):
        Job.model_validate({"water": {key: value}})


def test_a_source_that_is_not_there() -> None:
    with pytest.raises(InputError, match=r"water\.source"):
        _ = context_of(tree(HOUSE, FIXTURES), source="nobody").plumbing.supply


def test_flows_and_losses_without_any_pressure() -> None:
    context = context_of(tree(HOUSE, FIXTURES))
    solved = solution(context)
    assert [head.flowing_pa for head in solved.heads] == [None] * 3
    assert all(solved.demand.gpm(line) for line in solved.supply.segments)
    assert all(solved.loss[line.number].friction_pa > 0 for line in solved.supply.segments)
    rows = segment_schedule(context).rows
    assert all(row["velocity_ft_per_s"] for row in rows)
    assert "No pressure" in budget_schedule(context).note


def test_no_source_still_counts_fixture_units() -> None:
    model = tree(HOUSE, FIXTURES)
    model.elements = model.elements[1:]  # no meter
    model.joints = [
        type(j)(j.a - 1, j.a_end, j.b - 1, j.b_end) for j in model.joints if j.a and j.b
    ]
    made = demand(context_of(model))
    assert made.supply.services[0].source_known is None
    assert made.wsfu[0] == pytest.approx(5)


def test_a_model_without_water() -> None:
    from ifclint.ifc.elements import Model
    from ifclint.rules.supply import ifclint_drawings, ifclint_schedules

    context = context_of(Model())
    assert list(ifclint_schedules(context)) == []
    assert list(ifclint_drawings(context)) == []
    assert context.plumbing.supply.services == []


def test_a_fixture_that_no_source_reaches_is_in_the_schedule() -> None:
    from ifclint.rules.supply.schedules import fixture_schedule
    from ifclint.testing import context_of

    context = context_of(
        """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P  1 0 0 > 10 0 0
pipe 0.5 X  50 0 0 > 55 0 0
lavatory L  cold 55 0 0
"""
    )
    (row,) = fixture_schedule(context).rows
    assert (row["wsfu"], row["cold_wsfu"], row["residual_psi"]) == (1.0, None, None)
