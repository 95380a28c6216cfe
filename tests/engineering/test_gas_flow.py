"""The gas equations: how they answer to size, length and drop; what they refuse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.engineering.gas_flow import (
    high_pressure_flow_m3_per_s,
    low_pressure_drop_pa,
    low_pressure_flow_m3_per_s,
)
from ifclint.engineering.units import PA_PER_IN_WC, PA_PER_PSI

NATURAL, Y = 0.6094, 0.9992
diameters = st.floats(0.008, 0.3)
lengths = st.floats(1, 600)
drops = st.floats(10, 2000)
J_PER_BTU = 1055.05585262
W_PER_BTU_PER_H = J_PER_BTU / 3600


@given(diameters, drops, lengths)
def test_flow_grows_with_size_and_drop_and_falls_with_length(
    diameter: float, drop: float, length: float
) -> None:
    flow = low_pressure_flow_m3_per_s(diameter, drop, length, NATURAL)
    assert low_pressure_flow_m3_per_s(diameter * 1.1, drop, length, NATURAL) > flow
    assert low_pressure_flow_m3_per_s(diameter, drop * 1.1, length, NATURAL) > flow
    assert low_pressure_flow_m3_per_s(diameter, drop, length * 1.1, NATURAL) < flow
    assert low_pressure_drop_pa(diameter, flow, length, NATURAL) == pytest.approx(drop)


def test_double_length_and_double_drop_cancel() -> None:
    """The 30 ft row of a table equals the 60 ft row of the table of twice the drop."""
    short = low_pressure_flow_m3_per_s(0.05, 100, 10, NATURAL)
    assert low_pressure_flow_m3_per_s(0.05, 200, 20, NATURAL) == pytest.approx(short)


def test_the_two_equations_nearly_meet_at_low_pressure() -> None:
    """At 1.5 psi with a small drop the two differ by less than 5 percent."""
    drop = 0.5 * PA_PER_IN_WC
    low = low_pressure_flow_m3_per_s(0.05, drop, 30, NATURAL)
    high = high_pressure_flow_m3_per_s(0.05, 0.0, drop, 30, NATURAL, Y)
    assert high == pytest.approx(low, rel=0.05)


def test_no_drop_no_flow() -> None:
    assert low_pressure_flow_m3_per_s(0.05, 0.0, 10, NATURAL) == 0
    assert high_pressure_flow_m3_per_s(0.05, 2 * PA_PER_PSI, -1.0, 10, NATURAL, Y) == 0


@pytest.mark.parametrize(("diameter", "length"), [(0.0, 10.0), (-0.1, 10.0), (0.05, 0.0)])
def test_what_cannot_be_is_refused(diameter: float, length: float) -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        low_pressure_flow_m3_per_s(diameter, 100, length, NATURAL)
