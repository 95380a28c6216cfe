"""Probable demand against a computation by brute force."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint.engineering.demand import (
    FixtureGroup,
    exhaustive_flow_m3_per_s,
    interpolated_flow,
    next_row_flow,
)
from ifclint.engineering.units import M3_PER_S_PER_GPM

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
    (groups(combination=1, closet=1, lavatory=1), 7.0),
    (groups(combination=2, closet=3, lavatory=4, kitchen=1, dishwasher=1, washer=1), 11.0),
    (groups(combination=1, shower=1, closet=2, lavatory=2, kitchen=1, dishwasher=1, washer=1), 9.0),
    (groups(combination=20, closet=20, lavatory=20, kitchen=10, dishwasher=10, washer=10), 27.7),
    (groups(combination=100, closet=100, lavatory=100, kitchen=50, dishwasher=50, washer=50), 85.0),
]


@pytest.mark.parametrize(("fixtures", "gpm"), HOUSES)
def test_low_demand_method(fixtures: list[FixtureGroup], gpm: float) -> None:
    """Regression against values worked out separately from the formulas."""
    flow = exhaustive_flow_m3_per_s(fixtures) / M3_PER_S_PER_GPM
    assert flow == pytest.approx(gpm, abs=0.051)


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


def test_where_nothing_runs_nothing_flows() -> None:
    assert exhaustive_flow_m3_per_s([FixtureGroup(0, 0.05, 2.0)]) == 0


def test_a_curve_below_at_between_and_beyond_its_rows() -> None:
    curve = [(10.0, 8.0), (20.0, 14.0)]
    assert [interpolated_flow(u, curve) for u in (0, 5, 10, 15, 20)] == [0, 4, 8, 11, 14]
    assert [next_row_flow(u, curve) for u in (0, 10, 11, 20)] == [8, 8, 14, 14]
    assert interpolated_flow(20.1, curve) is None
    assert next_row_flow(20.1, curve) is None
