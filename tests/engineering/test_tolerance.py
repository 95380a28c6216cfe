"""The one tolerance: how far past a limit a value may lie, in each unit."""

from __future__ import annotations

import pytest

from ifclint.engineering.tolerance import at_least, at_most, lies_above, lies_below, slack


@pytest.mark.parametrize(
    ("limit", "unit", "allowed"),
    [
        (100.0, "", 0.1),  # a thousandth
        (-100.0, "", 0.1),
        (100.0, "gpm", 0.1),
        (0.0, "gpm", 0.0),
        (0.0, "m", 0.001),  # a millimetre more
        (10.0, "m", 0.011),
        (0.0, "mm", 1.0),
        (0.0, "in", 1 / 25.4),
        (0.0, "ft", 1 / 304.8),
        (0.0, "deg", 0.5),
        (45.0, "deg", 0.545),
    ],
)
def test_how_far_past_a_limit_a_value_may_lie(limit: float, unit: str, allowed: float) -> None:
    assert slack(limit, unit) == pytest.approx(allowed, rel=1e-5, abs=2e-9)
    beyond = allowed * 1.02 + 1e-8
    within = allowed * 0.98
    assert at_least(limit - within, limit, unit)
    assert not at_least(limit - beyond, limit, unit)
    assert at_most(limit + within, limit, unit)
    assert not at_most(limit + beyond, limit, unit)
    assert at_least(limit, limit, unit)
    assert at_most(limit, limit, unit)


def test_what_has_no_bound_is_compared_too() -> None:
    inf = float("inf")
    assert at_least(inf, inf, "m")
    assert at_most(inf, inf, "m")
    assert not at_least(1.0, inf, "m")
    assert at_most(1.0, inf, "m")


@pytest.mark.parametrize("level_m", [0.0, -3.0, 1600.0])
def test_heights_are_compared_alike_wherever_they_are_counted_from(level_m: float) -> None:
    assert lies_below(level_m - 0.0011, level_m)
    assert not lies_below(level_m - 0.0009, level_m)
    assert not lies_below(level_m, level_m)
    assert lies_above(level_m + 0.0011, level_m)
    assert not lies_above(level_m + 0.0009, level_m)


def test_what_just_meets_the_tolerance_is_within_it() -> None:
    assert at_least(-1e-9, 0.0)
    assert at_most(1e-9, 0.0)
