"""Pressure lost by water in full pipe: friction, elevation, and the speed it goes with."""

import math

from ifclint.engineering.units import STANDARD_GRAVITY_M_PER_S2

WATER_DENSITY_KG_PER_M3 = 999.1  # at 15 degrees C
WATER_VISCOSITY_PA_S = 1.138e-3  # at 15 degrees C
LAMINAR_BELOW = 2300.0  # Reynolds number


def velocity_m_per_s(flow_m3_per_s: float, inside_diameter_m: float) -> float:
    """Mean velocity V = 4 Q / (pi D^2); 0.4085 gpm/in2 in US units.

    >>> round(velocity_m_per_s(0.008, 0.04), 3)
    6.366
    """
    return 4.0 * flow_m3_per_s / (math.pi * inside_diameter_m**2)


def hazen_williams_head_m(
    flow_m3_per_s: float, inside_diameter_m: float, length_m: float, coefficient_c: float
) -> float:
    """Head lost by friction, h = 10.667 L Q^1.852 / (C^1.852 D^4.871), m of water.

    The SI form of h = 4.727 L Q^1.852 / (C^1.852 d^4.871) in ft and ft3/s, as documented for
    EPANET 2.2. C is 150 for smooth plastic, 140 for copper, 100 for old iron.

    >>> round(hazen_williams_head_m(0.028316846592, 0.3048, 304.8, 100.0) / 0.3048, 3)
    0.935
    """
    flow_term = math.pow(flow_m3_per_s / coefficient_c, 1.852)
    return 10.667 * length_m * flow_term / math.pow(inside_diameter_m, 4.871)


def pressure_of_head_pa(head_m: float, density_kg_per_m3: float = WATER_DENSITY_KG_PER_M3) -> float:
    """Pressure of a column of water, rho g h: 20 ft is 8.66 psi (IPC E103.2.2: 0.433 psi/ft).

    >>> round(pressure_of_head_pa(20 * 0.3048) / 6894.757, 2)
    8.66
    """
    return density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * head_m


def reynolds_number(
    flow_m3_per_s: float,
    inside_diameter_m: float,
    density_kg_per_m3: float = WATER_DENSITY_KG_PER_M3,
    viscosity_pa_s: float = WATER_VISCOSITY_PA_S,
) -> float:
    """Re = rho V D / mu."""
    velocity = velocity_m_per_s(flow_m3_per_s, inside_diameter_m)
    return density_kg_per_m3 * velocity * inside_diameter_m / viscosity_pa_s


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor: 64/Re below 2,300, else Colebrook (1939), solved by iteration.

    1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f)))

    >>> round(friction_factor(223600.0, 0.002 / 40.0), 4)
    0.0157
    """
    if reynolds < LAMINAR_BELOW:
        return 64.0 / reynolds
    root = 8.0  # 1/sqrt(f); the iteration converges from any start above 1
    for _ in range(20):
        root = -2.0 * math.log10(relative_roughness / 3.7 + 2.51 * root / reynolds)
    return 1.0 / root**2


def darcy_pressure_drop_pa(
    flow_m3_per_s: float,
    inside_diameter_m: float,
    length_m: float,
    roughness_m: float,
    density_kg_per_m3: float = WATER_DENSITY_KG_PER_M3,
    viscosity_pa_s: float = WATER_VISCOSITY_PA_S,
) -> float:
    """Pressure lost by friction, dp = f (L/D) rho V^2 / 2 (Darcy and Weisbach)."""
    if flow_m3_per_s == 0.0:
        return 0.0
    fluid = (density_kg_per_m3, viscosity_pa_s)
    reynolds = reynolds_number(flow_m3_per_s, inside_diameter_m, *fluid)
    factor = friction_factor(reynolds, roughness_m / inside_diameter_m)
    velocity = velocity_m_per_s(flow_m3_per_s, inside_diameter_m)
    return factor * length_m / inside_diameter_m * density_kg_per_m3 * velocity**2 / 2.0
