"""Probable demand of many fixtures: a code's curve and the low-demand method.

The low-demand method for dwellings (UPC appendix M) asks for the flow that 99 % of the moments in
which any water runs do not exceed. It is computed exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ifclint.engineering.units import M3_PER_S_PER_GPM

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
