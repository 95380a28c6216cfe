"""Probable demand of many fixtures: a code's curve, Hunter's criterion, the low-demand method.

Hunter (National Bureau of Standards BMS65, 1940): of n fixtures, each running with the chance p,
more than m run at once less than 1 % of the time; the design flow is m times the flow of one.

The low-demand method for dwellings (UPC appendix M) asks for the flow that 99 % of the moments in
which any water runs do not exceed. It is computed exactly; the normal approximations
of it are for comparison.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ifclint.engineering.units import M3_PER_S_PER_GPM

Z99 = 2.326  # standard normal deviate of 99 %
QUANTILE = 0.99
STEP_M3_PER_S = 0.1 * M3_PER_S_PER_GPM  # flows of fixtures are told to a tenth of a gpm

Curve = Sequence[tuple[float, float]]  # (fixture units, flow), ascending


@dataclass(frozen=True)
class FixtureGroup:
    """Like fixtures: how many, the chance that one runs, and its flow, m3/s."""

    count: int
    probability: float
    flow_m3_per_s: float


def interpolated_flow(units: float, curve: Curve) -> float | None:
    """The flow between two rows of a curve; None beyond its last row.

    Below the first row the flow falls in proportion to the units.

    >>> interpolated_flow(55.0, [(50.0, 29.1), (60.0, 32.0)])
    30.55
    """
    if units > curve[-1][0]:
        return None
    below = (0.0, 0.0)
    for above in curve:
        if units <= above[0]:
            share = (units - below[0]) / (above[0] - below[0])
            return below[1] + share * (above[1] - below[1])
        below = above
    return None


def next_row_flow(units: float, curve: Curve) -> float | None:
    """The flow of the next row of a curve, as in the worked example of IPC appendix E.

    >>> next_row_flow(264.0, [(250.0, 101.0), (275.0, 104.5)])
    104.5
    """
    return next((flow for row_units, flow in curve if row_units >= units), None)


def fixtures_running(count: int, probability: float, exceeded: float = 0.01) -> int:
    """Hunter's m: more than m of the fixtures run at once with a chance of at most `exceeded`.

    >>> fixtures_running(100, 0.03)
    8
    """
    chance = (1.0 - probability) ** count
    so_far, running = chance, 0
    while 1.0 - so_far > exceeded and running < count:
        running += 1
        chance *= (count - running + 1) / running * probability / (1.0 - probability)
        so_far += chance
    return running


def crowding(groups: Iterable[FixtureGroup]) -> float:
    """Hunter's number H, the sum of n p: how many fixtures run on average."""
    return math.fsum(g.count * g.probability for g in groups)


def chance_of_no_flow(groups: Iterable[FixtureGroup]) -> float:
    """The chance that nothing runs: the product of (1 - p)^n."""
    return math.prod((1.0 - g.probability) ** g.count for g in groups)


def exhaustive_flow_m3_per_s(groups: Sequence[FixtureGroup]) -> float:
    """The 99th percentile of the flow while any water runs, by summing up all combinations.

    Flows are counted in steps of a tenth of a gallon per minute.

    >>> gpm = M3_PER_S_PER_GPM
    >>> tub, closet = FixtureGroup(1, 0.055, 5.5 * gpm), FixtureGroup(1, 0.01, 3.0 * gpm)
    >>> bath = [tub, closet, FixtureGroup(1, 0.02, 1.5 * gpm)]
    >>> round(exhaustive_flow_m3_per_s(bath) / gpm, 2)
    7.0
    """
    chances = _chances(groups)
    running = 1.0 - chances[0]
    if running <= 0.0:
        return 0.0
    so_far = 0.0
    for step, chance in enumerate(chances[1:], start=1):
        so_far += chance
        if so_far >= QUANTILE * running:
            return step * STEP_M3_PER_S
    return (len(chances) - 1) * STEP_M3_PER_S


def normal_flow_m3_per_s(groups: Sequence[FixtureGroup]) -> float:
    """Wistort's normal approximation, Q = sum(n p q) + z sqrt(sum(n p (1 - p) q^2)).

    Good where fixtures run most of the time (H above about 5); far too low for a few fixtures.
    """
    mean, variance = _moments(groups)
    return mean + Z99 * math.sqrt(variance)


def zero_truncated_flow_m3_per_s(groups: Sequence[FixtureGroup]) -> float:
    """The normal approximation with the mean and variance of the flow while any water runs.

    Q = (m + z sqrt((1 - P0) v - P0 m^2)) / (1 - P0), m and v the mean and variance of the flow at
    all times, P0 the chance that nothing runs.
    """
    mean, variance = _moments(groups)
    idle = chance_of_no_flow(groups)
    if idle >= 1.0:
        return 0.0
    spread = max((1.0 - idle) * variance - idle * mean**2, 0.0)
    return (mean + Z99 * math.sqrt(spread)) / (1.0 - idle)


def _moments(groups: Sequence[FixtureGroup]) -> tuple[float, float]:
    mean = math.fsum(g.count * g.probability * g.flow_m3_per_s for g in groups)
    variance = math.fsum(
        g.count * g.probability * (1.0 - g.probability) * g.flow_m3_per_s**2 for g in groups
    )
    return mean, variance


def _chances(groups: Sequence[FixtureGroup]) -> list[float]:
    """The chance of each flow, in steps: binomial for each group, multiplied as Fourier series."""
    steps = [round(group.flow_m3_per_s / STEP_M3_PER_S) for group in groups]
    most = sum(group.count * step for group, step in zip(groups, steps, strict=True))
    angle = -2j * np.pi / (most + 1) * np.arange(most + 1)
    series = np.ones(most + 1, dtype=complex)
    for group, step in zip(groups, steps, strict=True):
        p = group.probability
        series *= (1.0 - p + p * np.exp(angle * step)) ** group.count
    return list(np.fft.ifft(series).real.tolist())
