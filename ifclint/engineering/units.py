"""Exact conversions between the units of the trade and SI."""

M_PER_IN = 0.0254
M_PER_FT = 0.3048
IN_PER_FT = 12.0
M3_PER_US_GAL = 231.0 * M_PER_IN**3
SECONDS_PER_MINUTE = 60.0
M3_PER_S_PER_GPM = M3_PER_US_GAL / SECONDS_PER_MINUTE
PA_PER_PSI = 0.45359237 * 9.80665 / M_PER_IN**2
PA_PER_IN_WC = 249.08891  # conventional inch of water, 4 degrees C
M3_PER_FT3 = M_PER_FT**3
SECONDS_PER_HOUR = 3600.0
M3_PER_S_PER_CFH = M3_PER_FT3 / SECONDS_PER_HOUR
J_PER_BTU = 1055.05585262  # international table
W_PER_BTU_PER_H = J_PER_BTU / SECONDS_PER_HOUR
W_PER_TON = 12_000.0 * W_PER_BTU_PER_H  # of refrigeration
J_PER_M3_PER_BTU_PER_FT3 = J_PER_BTU / M3_PER_FT3
STANDARD_GRAVITY_M_PER_S2 = 9.80665


def feet(metres: float) -> float:
    return metres / M_PER_FT


def inches(metres: float) -> float:
    return metres / M_PER_IN


def slope_from_in_per_ft(fall_in_per_ft: float) -> float:
    """Slope, rise over run, of a fall given in inches per foot: 1/4 in/ft is 1/48."""
    return fall_in_per_ft / IN_PER_FT


def in_per_ft_from_slope(slope: float) -> float:
    """Fall in inches per foot of a slope given as rise over run."""
    return slope * IN_PER_FT
