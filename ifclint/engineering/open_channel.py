"""Gravity flow in a circular pipe, full or partly full, by Manning's formula.

    V = R^(2/3) S^(1/2) / n          Q = V A

V velocity m/s, R hydraulic radius m (wetted area over wetted perimeter), S slope (fall over run),
n Manning's roughness in SI (s m^-1/3), Q discharge m3/s. Source: V. T. Chow, Open-Channel
Hydraulics (McGraw-Hill, 1959), chapter 5.
"""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from ifclint.engineering.data import read_csv


@dataclass(frozen=True)
class WettedSection:
    """The water in a pipe: area m2, wetted perimeter m, hydraulic radius m."""

    area_m2: float
    perimeter_m: float

    @property
    def hydraulic_radius_m(self) -> float:
        return self.area_m2 / self.perimeter_m


@dataclass(frozen=True)
class Roughness:
    """Manning's n of a pipe material, with the place it was read."""

    material: str
    manning_n: float
    source: str
    note: str = ""


def wetted_section(inside_diameter_m: float, depth_ratio: float = 1.0) -> WettedSection:
    """The wetted section of a circular pipe; depth over diameter is in (0, 1].

    With the half angle t = arccos(1 - 2 y/D) the area is D^2/4 (t - sin t cos t) and the wetted
    perimeter D t.

    >>> round(wetted_section(0.1, 0.5).hydraulic_radius_m, 6)
    0.025
    """
    _refuse_not_positive(inside_diameter_m=inside_diameter_m)
    if not 0.0 < depth_ratio <= 1.0:
        raise ValueError(f"depth_ratio is {depth_ratio}: it must be above 0 and at most 1")
    half_angle = math.acos(1.0 - 2.0 * depth_ratio)
    segment = half_angle - math.sin(half_angle) * math.cos(half_angle)
    return WettedSection(inside_diameter_m**2 / 4.0 * segment, inside_diameter_m * half_angle)


def velocity_m_per_s(
    inside_diameter_m: float, slope: float, manning_n: float, depth_ratio: float = 1.0
) -> float:
    """Mean velocity of uniform flow. A level or rising pipe (slope <= 0) does not flow: 0."""
    _refuse_not_positive(manning_n=manning_n)
    radius = wetted_section(inside_diameter_m, depth_ratio).hydraulic_radius_m
    return math.pow(radius, 2.0 / 3.0) * math.sqrt(max(slope, 0.0)) / manning_n


def discharge_m3_per_s(
    inside_diameter_m: float, slope: float, manning_n: float, depth_ratio: float = 1.0
) -> float:
    """Discharge of uniform flow at a depth ratio."""
    velocity = velocity_m_per_s(inside_diameter_m, slope, manning_n, depth_ratio)
    return velocity * wetted_section(inside_diameter_m, depth_ratio).area_m2


def roughness(material: str) -> Roughness | None:
    """Manning's n of a material by its name in manning_n.csv; None where it is not listed."""
    return _roughnesses().get(material.strip().lower())


@cache
def _roughnesses() -> dict[str, Roughness]:
    table = read_csv(Path(__file__).with_name("manning_n.csv"))
    return {
        row.text("material"): Roughness(
            material=row.text("material"),
            manning_n=row.number("manning_n"),
            source=row.text("source"),
            note=row.text("note"),
        )
        for row in table.rows
    }


def _refuse_not_positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0.0 or not math.isfinite(value):
            raise ValueError(f"{name} is {value}: it must be above 0")
