"""Slopes that a property gives as a plain number: of what, its measure, unit and name tell."""

from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.ifc.facts.property_names import AS_RUN, plain_name
from ifclint.ifc.facts.written_values import slope_of_angle

SHARES = {"percent": 0.01, "prozent": 0.01, "pourcent": 0.01, "porcentaje": 0.01,
          "procent": 0.01, "promille": 0.001, "permille": 0.001}  # fmt: skip
FLATTEST = 1 / 192  # 1/16 in per ft: a length that tells less is a ratio, if it may be one
STEEPEST = 0.25  # ratio that is taken for one where a length is told. Both ours, no source
SAME = 1e-6


def bare_slope(
    number: float | None, measure: str, metres: float, name: str, *, is_length: bool
) -> float | None:
    """Rise over run. `metres` is the factor of the number's unit, 1 where it has none.

    An angle by its measure, the run of "1:n" or percent by its name; a length is one for each
    metre, foot or, in inches, foot of run; else a ratio, or percent where it tells more than 1.
    """
    if number is None:
        return None
    if AS_RUN.search(name):
        return 1.0 / number if number else None
    if measure == "IFCPLANEANGLEMEASURE":
        return slope_of_angle(number * metres)
    share = next((share for word, share in SHARES.items() if word in plain_name(name)), None)
    if share is not None:
        return number * share
    if is_length:
        return _of_length(number, metres)
    return number * 0.01 if abs(number) > 1 else number


def _of_length(number: float, metres: float) -> float:
    run_m = M_PER_FT if abs(metres - M_PER_IN) < SAME or abs(metres - M_PER_FT) < SAME else 1.0
    slope = number * metres / run_m
    return number if abs(slope) < FLATTEST and abs(number) <= STEEPEST else slope
