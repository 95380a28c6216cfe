"""Warm water: its density against published values, what it needs in a closed system."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.engineering.thermal import (
    celsius_of_fahrenheit,
    expansion_tank_m3,
    expansion_volume_m3,
    water_density_kg_per_m3,
)
from ifclint.engineering.units import M3_PER_FT3, PA_PER_PSI

KG_PER_LB = 0.45359237
LB_PER_FT3 = KG_PER_LB / M3_PER_FT3


# Handbook densities, lb/ft3: 62.41 at 50 F, 61.38 at 140 F
@pytest.mark.parametrize(("fahrenheit", "lb_per_ft3"), [(50, 62.41), (140, 61.38)])
def test_density_of_water(fahrenheit: float, lb_per_ft3: float) -> None:
    density = water_density_kg_per_m3(celsius_of_fahrenheit(fahrenheit))
    assert density / LB_PER_FT3 == pytest.approx(lb_per_ft3, abs=0.01)


def test_water_is_densest_at_four_degrees() -> None:
    densest = max(range(0, 1001), key=lambda tenth: water_density_kg_per_m3(tenth / 10)) / 10
    assert densest == pytest.approx(4.0, abs=0.1)
    assert water_density_kg_per_m3(4.0) == pytest.approx(999.97, abs=0.01)


# Thermal expansion (IPC 607.3, UPC 608.3): 50 gal heated from 50 F to 140 F
def test_a_heater_of_fifty_gallons() -> None:
    cold, hot = celsius_of_fahrenheit(50), celsius_of_fahrenheit(140)
    assert expansion_volume_m3(50, cold, hot) == pytest.approx(0.84, abs=0.01)


@given(st.floats(0.01, 10), st.floats(5, 50), st.floats(1, 45))
def test_expansion_grows_with_volume_and_heat(volume: float, cold: float, rise: float) -> None:
    grown = expansion_volume_m3(volume, cold, cold + rise)
    assert grown > 0
    assert expansion_volume_m3(2 * volume, cold, cold + rise) == pytest.approx(2 * grown)
    assert expansion_volume_m3(volume, cold, cold + rise + 1) > grown


def test_a_tank_shrinks_as_the_pressure_may_rise() -> None:
    at_80 = expansion_tank_m3(0.003, 60 * PA_PER_PSI, 80 * PA_PER_PSI)
    at_150 = expansion_tank_m3(0.003, 60 * PA_PER_PSI, 150 * PA_PER_PSI)
    assert at_80 == pytest.approx(0.003 * 94.7 / 20)
    assert at_150 < at_80


# R. W. Griffith, "How to size thermal expansion tanks for hot water systems" (rogergriffith.com and
# allwayfluid.com/article/1774): 2 gal at a line pressure of 80 psi, 135 psi allowed: 5.44 gal
def test_a_tank_of_an_engineers_article() -> None:
    tank = expansion_tank_m3(2.0, 80 * PA_PER_PSI, 135 * PA_PER_PSI)
    assert tank == pytest.approx(5.44, abs=0.01)


@pytest.mark.parametrize("celsius", [-0.1, 100.1, float("nan")])
def test_ice_and_steam_are_refused(celsius: float) -> None:
    with pytest.raises(ValueError, match="from 0 to 100"):
        water_density_kg_per_m3(celsius)


def test_a_tank_needs_room_to_rise() -> None:
    with pytest.raises(ValueError, match="above supply"):
        expansion_tank_m3(0.003, 80 * PA_PER_PSI, 80 * PA_PER_PSI)


@pytest.mark.parametrize(
    ("celsius", "density"),
    [(0, 999.84), (20, 998.21), (40, 992.22), (60, 983.20), (80, 971.79), (100, 958.36)],
)
def test_the_density_of_water_is_that_of_the_steam_tables(celsius: float, density: float) -> None:
    """IAPWS-95 at one atmosphere, to hundredths as commonly tabulated."""
    assert water_density_kg_per_m3(celsius) == pytest.approx(density, abs=0.03)


@pytest.mark.parametrize("celsius", [-0.01, 100.01])
def test_no_density_of_ice_and_steam(celsius: float) -> None:
    with pytest.raises(ValueError, match="from 0 to 100"):
        water_density_kg_per_m3(celsius)


def test_a_tank_may_be_charged_to_nothing_and_not_to_all() -> None:
    assert expansion_tank_m3(1.0, 0.0, 14.7 * 6894.757) == pytest.approx(2.0, rel=1e-4)
    for supply in (-1.0, 5.0, 6.0):
        with pytest.raises(ValueError, match="greatest"):
            expansion_tank_m3(1.0, supply, 5.0)
