"""Conversions, beside the factors printed in NIST Special Publication 811, appendix B.8."""

from __future__ import annotations

import pytest

from ifclint.engineering import units
from ifclint.engineering.data import TRADE_SIZES


@pytest.mark.parametrize(
    ("factor", "printed"),
    [
        (units.M_PER_IN, 2.54e-2), (units.M_PER_FT, 3.048e-1), (units.IN_PER_FT, 12),
        (units.M3_PER_US_GAL, 3.785412e-3), (units.SECONDS_PER_MINUTE, 60),
        (units.M3_PER_S_PER_GPM, 6.309020e-5), (units.PA_PER_PSI, 6.894757e3),
        (units.PA_PER_IN_WC, 2.490889e2), (units.M3_PER_FT3, 2.831685e-2),
        (units.SECONDS_PER_HOUR, 3600), (units.J_PER_BTU, 1.055056e3),
        (units.W_PER_BTU_PER_H, 2.930711e-1), (units.J_PER_M3_PER_BTU_PER_FT3, 3.725895e4),
        (units.STANDARD_GRAVITY_M_PER_S2, 9.80665),
    ],
)  # fmt: skip
def test_factors(factor: float, printed: float) -> None:
    assert factor == pytest.approx(printed, rel=2e-7)


def test_a_cubic_foot_an_hour() -> None:
    assert pytest.approx(2.831685e-2, rel=2e-7) == units.M3_PER_S_PER_CFH * 3600


def test_slopes() -> None:
    assert units.slope_from_in_per_ft(0.25) == pytest.approx(1 / 48)
    assert units.in_per_ft_from_slope(1 / 48) == pytest.approx(0.25)


def test_the_trade_sizes_of_drainage_pipe() -> None:
    in_eighths = [size * 8 for size in TRADE_SIZES]
    assert in_eighths == [10, 12, 16, 20, 24, 28, 32, 36, 40, 48, 64, 80, 96, 120]
