"""Probable demand against scipy's binomial distribution and a computation by brute force."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint.engineering.demand import (
    FixtureGroup,
    chance_of_no_flow,
    crowding,
    exhaustive_flow_m3_per_s,
    fixtures_running,
    interpolated_flow,
    next_row_flow,
    normal_flow_m3_per_s,
    zero_truncated_flow_m3_per_s,
)
from ifclint.engineering.units import M3_PER_S_PER_GPM

VALVE, TANK, BATHTUB = 9 / 300, 60 / 300, 60 / 900  # Hunter 1940: t/T


@given(st.integers(1, 400), st.sampled_from([VALVE, TANK, BATHTUB, 0.005, 0.5]))
def test_hunters_count_is_the_binomial_quantile(count: int, chance: float) -> None:
    from scipy.stats import binom  # takes half a second: not of every worker that collects

    assert fixtures_running(count, chance) == binom.ppf(0.99, count, chance)


# Hunter 1940 (NBS BMS65), the one-percent rule with his flows of 27, 4 and 8 gpm
@pytest.mark.parametrize(
    ("count", "chance", "gpm_each", "running", "gpm"),
    [(100, VALVE, 27, 8, 216), (200, TANK, 4, 54, 216), (100, BATHTUB, 8, 13, 104)],
)
def test_hunters_rule(count: int, chance: float, gpm_each: float, running: int, gpm: float) -> None:
    assert fixtures_running(count, chance) == running
    assert running * gpm_each == gpm


def test_hunters_weights_follow_from_his_rule() -> None:
    """So many fixtures of one kind make 150 gpm probable: 10, 5 and 4 are their inverse."""

    def first(chance: float, gpm_each: float) -> int:
        return next(n for n in range(1, 400) if fixtures_running(n, chance) * gpm_each >= 150)

    counts = first(VALVE, 27), first(TANK, 4), first(BATHTUB, 8)
    assert counts == (62, 133, 160)
    assert [round(10 * counts[0] / n) for n in counts] == [10, 5, 4]


# fixture: (chance, gpm) of UPC appendix M, recalled
CHANCES = {
    "combination": (0.055, 5.5), "shower": (0.045, 2.0), "closet": (0.01, 3.0),
    "lavatory": (0.02, 1.5), "kitchen": (0.02, 2.2), "dishwasher": (0.005, 1.3),
    "washer": (0.055, 3.5),
}  # fmt: skip


def groups(**counts: int) -> list[FixtureGroup]:
    return [
        FixtureGroup(n, CHANCES[kind][0], CHANCES[kind][1] * M3_PER_S_PER_GPM)
        for kind, n in counts.items()
    ]


HOUSES = [
    (groups(combination=1, closet=1, lavatory=1), 0.085, 7.0, 3.4, 8.45),
    (
        groups(combination=2, closet=3, lavatory=4, kitchen=1, dishwasher=1, washer=1),
        0.3, 11.0, 5.9, 8.98,
    ),
    (
        groups(combination=1, shower=1, closet=2, lavatory=2, kitchen=1, dishwasher=1, washer=1),
        0.24, 9.0, 4.61, 7.63,
    ),
    (
        groups(combination=20, closet=20, lavatory=20, kitchen=10, dishwasher=10, washer=10),
        2.5, 27.7, 24.67, 24.54,
    ),
    (
        groups(combination=100, closet=100, lavatory=100, kitchen=50, dishwasher=50, washer=50),
        12.5, 85.0, 81.91, 81.91,
    ),
]  # fmt: skip


@pytest.mark.parametrize(("fixtures", "number", "exact", "normal", "truncated"), HOUSES)
def test_low_demand_method(
    fixtures: list[FixtureGroup], number: float, exact: float, normal: float, truncated: float
) -> None:
    """Regression against values worked out separately from the formulas."""
    gpm = M3_PER_S_PER_GPM
    assert crowding(fixtures) == pytest.approx(number)
    assert exhaustive_flow_m3_per_s(fixtures) / gpm == pytest.approx(exact, abs=0.051)
    assert normal_flow_m3_per_s(fixtures) / gpm == pytest.approx(normal, abs=0.01)
    assert zero_truncated_flow_m3_per_s(fixtures) / gpm == pytest.approx(truncated, abs=0.01)


@settings(max_examples=25)
@given(
    st.lists(
        st.tuples(st.integers(1, 3), st.floats(0.01, 0.6), st.sampled_from([0.5, 1.3, 2.2, 4.0])),
        min_size=1,
        max_size=3,
    )
)
def test_exhaustive_flow_by_brute_force(given_: list[tuple[int, float, float]]) -> None:
    """Every combination of running fixtures, its chance and flow; the 99 % of those that flow."""
    single = [(p, round(q * 10)) for n, p, q in given_ for _ in range(n)]
    chances: dict[int, float] = {}
    for runs in product((False, True), repeat=len(single)):
        chance, flow = 1.0, 0
        for on, (p, q) in zip(runs, single, strict=True):
            chance, flow = chance * (p if on else 1 - p), flow + on * q
        chances[flow] = chances.get(flow, 0) + chance
    running, so_far, expected = 1 - chances[0], 0.0, 0
    for flow in sorted(chances)[1:]:
        so_far, expected = so_far + chances[flow], flow
        if so_far >= 0.99 * running - 1e-12:
            break
    found = exhaustive_flow_m3_per_s(
        [FixtureGroup(n, p, q * M3_PER_S_PER_GPM) for n, p, q in given_]
    )
    assert found / M3_PER_S_PER_GPM * 10 == pytest.approx(expected)


def test_the_truncated_moments_are_those_of_the_flow_that_runs() -> None:
    """Mean and spread of one fixture while it runs: its own flow, and none."""
    one = [FixtureGroup(1, 0.05, 2.0)]
    assert zero_truncated_flow_m3_per_s(one) == pytest.approx(2.0)
    assert chance_of_no_flow(one) == pytest.approx(0.95)
    assert exhaustive_flow_m3_per_s([FixtureGroup(0, 0.05, 2.0)]) == 0
    assert zero_truncated_flow_m3_per_s([]) == 0


def test_a_curve_below_at_between_and_beyond_its_rows() -> None:
    curve = [(10.0, 8.0), (20.0, 14.0)]
    assert [interpolated_flow(u, curve) for u in (0, 5, 10, 15, 20)] == [0, 4, 8, 11, 14]
    assert [next_row_flow(u, curve) for u in (0, 10, 11, 20)] == [8, 8, 14, 14]
    assert interpolated_flow(20.1, curve) is None
    assert next_row_flow(20.1, curve) is None
