"""The one tolerance of the project: what drawing and floating point may cost.

A limit is met where the value lies on its right side, or so near to it that a drafter could not
have drawn the difference. Coordinates are drawn and exported to about a millimetre, so a length
between two points may be a millimetre out; a developed length is a sum of such lengths, and a flow,
a load or a pressure comes from them by arithmetic, so that a thousandth of the limit is no
difference either; the angle between two short drawn axes is good to half a degree. Never does the
tolerance stand for something the code allows: what a code or an authority lets pass (2 % for 1/4 in
per ft) is a value of the code and stands in its tables. Counts and trade sizes are compared as they
are: there is nothing between them that a drawing could miss. (Common practice, no source.)
"""

SHARE = 0.001  # of the limit
LENGTH_M = 0.001
ANGLE_DEG = 0.5
_METRES = {"m": 1.0, "mm": 0.001, "in": 0.0254, "ft": 0.3048}


def slack(limit: float, unit: str = "") -> float:
    """How far past a limit a value may lie, in the unit of both."""
    given = SHARE * abs(limit)
    if unit in _METRES:
        given += LENGTH_M / _METRES[unit]
    return given + (ANGLE_DEG if unit == "deg" else 1e-9)


def at_least(value: float, limit: float, unit: str = "") -> bool:
    """Whether a value is as large as a limit asks."""
    return value >= limit or value >= limit - slack(limit, unit)


def at_most(value: float, limit: float, unit: str = "") -> bool:
    """Whether a value is as small as a limit asks."""
    return value <= limit or value <= limit + slack(limit, unit)


def lies_between(value: float, low: float, high: float, unit: str = "") -> bool:
    """Whether a value lies from one limit to another."""
    return at_least(value, low, unit) and at_most(value, high, unit)


def lies_below(height_m: float, other_m: float) -> bool:
    """Whether a height lies below another, wherever both are counted from."""
    return not at_least(height_m - other_m, 0.0, "m")


def lies_above(height_m: float, other_m: float) -> bool:
    """Whether a height lies above another, wherever both are counted from."""
    return lies_below(other_m, height_m)
