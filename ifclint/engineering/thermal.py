"""Water that warms in a closed system: its density, its expansion, the tank that takes it up."""

from ifclint.engineering.units import PA_PER_PSI

ATMOSPHERE_PA = 14.7 * PA_PER_PSI


def celsius_of_fahrenheit(fahrenheit: float) -> float:
    """Degrees Celsius: 140 F is 60 C."""
    return (fahrenheit - 32.0) / 1.8


def water_density_kg_per_m3(celsius: float) -> float:
    """Density of water at atmospheric pressure, 0 to 100 C, by Kell (1975).

    G. S. Kell, Journal of Chemical and Engineering Data 20 (1975), 97-105, equation 16.

    >>> round(water_density_kg_per_m3(20.0), 1)
    998.2
    >>> round(water_density_kg_per_m3(60.0), 1)
    983.2
    """
    if not 0.0 <= celsius <= 100.0:
        raise ValueError(f"celsius is {celsius}: it must be from 0 to 100")
    t = celsius
    numerator = 999.83952 + 16.945176 * t - 7.9870401e-3 * t**2 - 46.170461e-6 * t**3
    numerator += 105.56302e-9 * t**4 - 280.54253e-12 * t**5
    return numerator / (1.0 + 16.879850e-3 * t)


def expansion_volume_m3(volume_m3: float, cold_celsius: float, hot_celsius: float) -> float:
    """Growth of a volume of water that warms, dV = V (rho cold / rho hot - 1).

    50 gal from 50 F to 140 F grow by 0.84 gal.

    >>> round(expansion_volume_m3(50.0, 10.0, 60.0), 2)
    0.84
    """
    cold, hot = water_density_kg_per_m3(cold_celsius), water_density_kg_per_m3(hot_celsius)
    return volume_m3 * (cold / hot - 1.0)


def expansion_tank_m3(
    expansion_m3: float, supply_gauge_pa: float, greatest_gauge_pa: float
) -> float:
    """Smallest tank, charged to the supply pressure, that takes an expansion up (Boyle's law).

    V = dV / (1 - (Ps + Pa) / (Pm + Pa)); from 60 psi to 80 psi a tank takes up 0.211 of itself.

    >>> round(0.84 / expansion_tank_m3(0.84, 60 * PA_PER_PSI, 80 * PA_PER_PSI), 3)
    0.211
    """
    if not 0.0 <= supply_gauge_pa < greatest_gauge_pa:
        raise ValueError("greatest_gauge_pa must be above supply_gauge_pa, which is 0 or more")
    cold, hot = supply_gauge_pa + ATMOSPHERE_PA, greatest_gauge_pa + ATMOSPHERE_PA
    return expansion_m3 / (1.0 - cold / hot)
