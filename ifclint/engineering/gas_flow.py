"""Flow of fuel gas in pipe, by the two equations behind the gas capacity tables.

Below 1.5 psi:  Q = 2313 D^2.623 (dH / (Cr L))^0.541
From 1.5 psi:   Q = 2237 D^2.623 ((P1^2 - P2^2) Y / (Cr L))^0.541

Q ft3/h, D inside diameter in, dH drop in of water column, P absolute pressure psi, L ft, Cr and Y
factors of the gas. Source: IFGC appendix A.4 (recalled; 305 of 308 cells of Table 402.4(2) follow
it to three figures). All arguments here are SI; the constants are the codes', so the units are
converted inside.
"""

import math

from ifclint.engineering.units import M3_PER_S_PER_CFH, M_PER_FT, M_PER_IN, PA_PER_IN_WC, PA_PER_PSI

ATMOSPHERE_PA = 14.7 * PA_PER_PSI  # the codes' figure
LOW_PRESSURE = 2313.0
HIGH_PRESSURE = 2237.0
DIAMETER_POWER = 2.623
DROP_POWER = 0.541
REFERENCE_GRAVITY = 0.60  # specific gravity the natural gas tables are printed for


def low_pressure_flow_m3_per_s(
    inside_diameter_m: float, drop_pa: float, length_m: float, factor_cr: float
) -> float:
    """Gas flow for a small pressure drop, supply below 1.5 psi.

    1 in pipe, 6 in wc over 50 ft, natural gas: 1,089 ft3/h (IFGC Table 402.4(4) prints 1,090).

    >>> flow = low_pressure_flow_m3_per_s(0.0266446, 6 * 249.08891, 15.24, 0.6094)
    >>> round(flow / M3_PER_S_PER_CFH)
    1089
    """
    return _flow(LOW_PRESSURE, inside_diameter_m, drop_pa / PA_PER_IN_WC, length_m, factor_cr)


def high_pressure_flow_m3_per_s(
    inside_diameter_m: float,
    inlet_gauge_pa: float,
    drop_pa: float,
    length_m: float,
    factor_cr: float,
    factor_y: float,
) -> float:
    """Gas flow where the supply is 1.5 psi or more; pressures above the atmosphere.

    1 in pipe, 3 psi down to 1 psi over 90 ft: IFGC Table 402.4(6) prints 2,820 ft3/h.

    >>> flow = high_pressure_flow_m3_per_s(
    ...     0.0266446, 3 * PA_PER_PSI, 2 * PA_PER_PSI, 27.432, 0.6094, 0.9992
    ... )
    >>> round(flow / M3_PER_S_PER_CFH)
    2820
    """
    inlet_psi = (ATMOSPHERE_PA + inlet_gauge_pa) / PA_PER_PSI
    outlet_psi = inlet_psi - drop_pa / PA_PER_PSI
    drive = (inlet_psi**2 - outlet_psi**2) * factor_y
    return _flow(HIGH_PRESSURE, inside_diameter_m, drive, length_m, factor_cr)


def low_pressure_drop_pa(
    inside_diameter_m: float, flow_m3_per_s: float, length_m: float, factor_cr: float
) -> float:
    """The pressure drop that a flow causes: the low-pressure equation solved for dH.

    >>> flow = low_pressure_flow_m3_per_s(0.0266446, 124.5, 18.3, 0.6094)
    >>> round(low_pressure_drop_pa(0.0266446, flow, 18.3, 0.6094), 6)
    124.5
    """
    one_inch = _flow(LOW_PRESSURE, inside_diameter_m, 1.0, length_m, factor_cr)
    return math.pow(flow_m3_per_s / one_inch, 1.0 / DROP_POWER) * PA_PER_IN_WC


def high_pressure_drop_pa(
    inside_diameter_m: float,
    inlet_gauge_pa: float,
    flow_m3_per_s: float,
    length_m: float,
    factor_cr: float,
    factor_y: float,
) -> float:
    """The pressure drop that a flow causes: the high-pressure equation solved for P1 - P2.

    A flow that the pipe cannot pass takes all of the inlet's gauge pressure and more: infinite.

    >>> flow = 2820 * M3_PER_S_PER_CFH
    >>> drop = high_pressure_drop_pa(0.0266446, 3 * PA_PER_PSI, flow, 27.432, 0.6094, 0.9992)
    >>> round(drop / PA_PER_PSI, 2)
    2.0
    """
    inlet_psi = (ATMOSPHERE_PA + inlet_gauge_pa) / PA_PER_PSI
    of_one = _flow(HIGH_PRESSURE, inside_diameter_m, 1.0, length_m, factor_cr)
    drive = math.pow(flow_m3_per_s / of_one, 1.0 / DROP_POWER) / factor_y
    if drive >= inlet_psi**2:
        return math.inf
    return (inlet_psi - math.sqrt(inlet_psi**2 - drive)) * PA_PER_PSI


def gravity_multiplier(specific_gravity: float) -> float:
    """Factor on tables printed for a specific gravity of 0.60: the root of 0.60 over the gravity.

    IFGC Table A.2.4 rounds it to two decimals, six of its 24 values 0.01 up.

    >>> round(gravity_multiplier(1.5), 2)
    0.63
    """
    return math.sqrt(REFERENCE_GRAVITY / specific_gravity)


def _flow(
    constant: float, diameter_m: float, drive: float, length_m: float, factor_cr: float
) -> float:
    for name, value in (("inside_diameter_m", diameter_m), ("length_m", length_m)):
        if not value > 0.0:
            raise ValueError(f"{name} is {value}: it must be above 0")
    ratio = max(drive, 0.0) / (factor_cr * length_m / M_PER_FT)
    size = math.pow(diameter_m / M_PER_IN, DIAMETER_POWER)
    return constant * size * math.pow(ratio, DROP_POWER) * M3_PER_S_PER_CFH
