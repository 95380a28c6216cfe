"""Manning's formula against hand arithmetic and an independent library."""

from __future__ import annotations

import doctest
import math

import fluids.open_flow
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.engineering import open_channel
from ifclint.engineering.open_channel import (
    discharge_m3_per_s,
    roughness,
    velocity_m_per_s,
    wetted_section,
)
from ifclint.engineering.units import (
    M3_PER_S_PER_GPM,
    M3_PER_US_GAL,
    M_PER_FT,
    M_PER_IN,
    in_per_ft_from_slope,
    slope_from_in_per_ft,
)

diameters = st.floats(0.03, 0.6)
slopes = st.floats(0.001, 0.1)
roughnesses = st.floats(0.008, 0.03)
depths = st.floats(0.01, 1.0)


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(open_channel).failed == 0
    assert doctest.testmod(open_channel).attempted > 0


def test_four_inch_drain_at_a_quarter_inch_by_hand() -> None:
    # In US units: V = 1.486/n R^(2/3) S^(1/2), D = 1/3 ft, R = 1/12 ft, S = 1/48, n = 0.012:
    # 123.83 x 0.190785 x 0.144338 = 3.410 ft/s; A = 0.087266 ft2, Q = 0.29758 ft3/s = 133.6 gpm
    slope = slope_from_in_per_ft(0.25)
    velocity = velocity_m_per_s(4 * M_PER_IN, slope, 0.012)
    flow = discharge_m3_per_s(4 * M_PER_IN, slope, 0.012)
    assert velocity / M_PER_FT == pytest.approx(3.410, rel=5e-4)
    assert flow / M3_PER_S_PER_GPM == pytest.approx(133.6, rel=1e-3)


# Purcell OK code of ordinances 12-488: least slopes (ft per 100 ft) at which sewers that run full
# flow at 2 ft/s by Manning's formula, n = 0.013. (Of its 10 in row, 0.20, other lists have 0.28.)
@pytest.mark.parametrize(
    ("size_in", "percent"),
    [
        (8, 0.40), (10, 0.28), (12, 0.22), (14, 0.17), (15, 0.15), (16, 0.14), (18, 0.12),
        (21, 0.10), (24, 0.08),
    ],
)  # fmt: skip
def test_self_cleansing_slopes_of_sewers(size_in: float, percent: float) -> None:
    velocity = velocity_m_per_s(size_in * M_PER_IN, percent / 100, 0.013) / M_PER_FT
    assert velocity == pytest.approx(2.0, rel=0.1)
    assert velocity >= 2.0


def test_half_full_flows_as_fast_as_full_and_carries_half() -> None:
    full, half = (discharge_m3_per_s(0.1, 0.02, 0.01, ratio) for ratio in (1.0, 0.5))
    assert half == pytest.approx(full / 2)
    assert velocity_m_per_s(0.1, 0.02, 0.01, 0.5) == pytest.approx(
        velocity_m_per_s(0.1, 0.02, 0.01)
    )


def test_greatest_discharge_is_just_below_full() -> None:
    # Known of the circular section: Q is greatest near y/D = 0.938, 7.6 % above full; V near 0.81
    ratios = [i / 1000 for i in range(500, 1001)]
    flows = {r: discharge_m3_per_s(0.1, 0.02, 0.01, r) for r in ratios}
    speeds = {r: velocity_m_per_s(0.1, 0.02, 0.01, r) for r in ratios}
    assert max(flows, key=flows.__getitem__) == pytest.approx(0.938, abs=0.002)
    assert max(flows.values()) / flows[1.0] == pytest.approx(1.076, abs=0.001)
    assert max(speeds, key=speeds.__getitem__) == pytest.approx(0.813, abs=0.003)


@given(diameters, slopes, roughnesses, depths)
def test_same_velocity_as_fluids(d: float, slope: float, n: float, ratio: float) -> None:
    radius = wetted_section(d, ratio).hydraulic_radius_m
    theirs = fluids.open_flow.V_Manning(Rh=radius, S=slope, n=n)
    assert velocity_m_per_s(d, slope, n, ratio) == pytest.approx(theirs, rel=1e-9)


@given(diameters, depths)
def test_section_against_numerical_integration(d: float, ratio: float) -> None:
    steps, depth = 2000, d * ratio
    heights = [depth * (i + 0.5) / steps for i in range(steps)]
    area = sum(2 * math.sqrt(y * (d - y)) for y in heights) * depth / steps
    assert wetted_section(d, ratio).area_m2 == pytest.approx(area, rel=2e-3)
    chord = 2 * math.sqrt(max(depth * (d - depth), 0.0))
    assert wetted_section(d, ratio).perimeter_m >= chord


@given(diameters, slopes, roughnesses, depths)
def test_steeper_and_larger_flow_faster(d: float, slope: float, n: float, ratio: float) -> None:
    velocity = velocity_m_per_s(d, slope, n, ratio)
    assert velocity_m_per_s(d, slope * 1.1, n, ratio) > velocity
    assert velocity_m_per_s(d * 1.1, slope, n, ratio) > velocity
    assert velocity_m_per_s(d, slope, n * 1.1, ratio) < velocity


def test_a_drain_that_does_not_fall_does_not_flow() -> None:
    assert velocity_m_per_s(0.1, -0.01, 0.01) == 0.0
    assert velocity_m_per_s(0.1, 0.0, 0.01) == 0.0


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_nonsense_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="inside_diameter_m"):
        wetted_section(bad)
    with pytest.raises(ValueError, match="manning_n"):
        velocity_m_per_s(0.1, 0.02, bad)


@pytest.mark.parametrize("ratio", [0.0, -0.1, 1.01, math.nan])
def test_depth_outside_the_pipe_is_refused(ratio: float) -> None:
    with pytest.raises(ValueError, match="depth_ratio"):
        wetted_section(0.1, ratio)


@pytest.mark.parametrize(
    ("material", "group", "kind"),
    [
        ("cast iron", "Cast Iron", "Coated "),
        ("copper", "Brass", "Smooth"),
        ("steel", "Steel", "Lockbar and welded"),
        ("galvanized steel", "Wrought Iron", "Galvanized"),
        ("vitrified clay", "Clay", "Vitrified sewer"),
        (
            "in service",
            "Other",
            "Sanitary sewers coated with sewage slime with bends and connections",
        ),
    ],
)
def test_roughness_is_chows_normal_value(material: str, group: str, kind: str) -> None:
    found = roughness(material)
    assert found is not None
    assert found.manning_n == fluids.open_flow.n_closed_conduit[group][kind][1]
    assert "Chow" in found.source


def test_roughness_of_an_unknown_material_is_not_guessed() -> None:
    assert roughness("bamboo") is None
    pvc = roughness(" PVC ")
    assert pvc is not None
    assert pvc.manning_n == 0.010


def test_units() -> None:
    assert slope_from_in_per_ft(0.25) == pytest.approx(1 / 48)
    assert in_per_ft_from_slope(1 / 96) == pytest.approx(0.125)
    litres_per_gallon = M3_PER_US_GAL * 1000
    assert litres_per_gallon == pytest.approx(3.785411784, rel=1e-12)
