"""What a pipe holds, and what a column of water presses with: for tests before a wall is closed."""

import math

from ifclint.engineering.data import inside_diameter_m, outside_diameter_m
from ifclint.engineering.units import M_PER_IN, STANDARD_GRAVITY_M_PER_S2

WATER_KG_PER_M3 = 998.2  # at 20 degrees C
# Names that a model gives a material, as pipe_dimensions.csv lists them; the first that is part of
# the name counts. Copper of water is taken as type L, of drains as DWV.
LISTED = (
    ("cpvc", "cpvc"), ("pvc", "pvc"), ("abs", "abs"), ("cast iron", "cast-iron"), ("pex", "pex"),
    ("pe-rt", "pex"), ("polybutylene", "pex"), ("steel", "steel"), ("polyethylene", "pe-gas"),
)  # fmt: skip


def pipe_contents_m3(inside_diameter_m: float, length_m: float) -> float:
    """What a length of pipe holds when full (m3): a cylinder, pi/4 d2 L.

    ValueError for a diameter that is not positive, or a length below 0.

    >>> round(pipe_contents_m3(0.1, 10.0), 5)
    0.07854
    """
    if not inside_diameter_m > 0 or not length_m >= 0:
        raise ValueError(f"no pipe is {inside_diameter_m} m wide and {length_m} m long")
    return math.pi / 4.0 * inside_diameter_m**2 * length_m


def water_pressure_pa(head_m: float) -> float:
    """What a column of water presses with at its foot (Pa): density times gravity times head.

    >>> round(water_pressure_pa(3.048) / 6894.757, 2)
    4.33
    """
    return WATER_KG_PER_M3 * STANDARD_GRAVITY_M_PER_S2 * head_m


def bore_m(material: str, size_in: float, drains: bool = False) -> tuple[float, bool]:
    """The inside diameter of a pipe (m), and whether a list tells it; else its trade size."""
    found = inside_diameter_m(_listed(material, drains), size_in)
    return (size_in * M_PER_IN, False) if found is None else (found, True)


def body_m(material: str, size_in: float, drains: bool = False) -> float:
    """The outside diameter of a pipe (m), as a list tells it, else its trade size."""
    found = outside_diameter_m(_listed(material, drains), size_in)
    return size_in * M_PER_IN if found is None else found


def _listed(material: str, drains: bool) -> str:
    """How pipe_dimensions.csv names a material, "" where it does not."""
    name = material.lower()
    if "copper" in name:
        return "copper-dwv" if drains else "copper-l"
    return next((key for word, key in LISTED if word in name), "")
