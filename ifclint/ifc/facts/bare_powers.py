"""Inputs and ratings that are stated as a plain number: in which unit they may be."""

from collections.abc import Iterator

from ifclint.ifc.elements import Basis, Confidence, Element, Note
from ifclint.ifc.facts.notes import LABEL
from ifclint.ifc.facts.properties import StatedFacts
from ifclint.ifc.facts.written_values import UNITS

WATTS = UNITS["power"]
FEET_AND_INCHES_M = (0.0254, 0.3048)  # units of length of who counts heat in Btu
SAME = 1e-3  # a survey foot is a foot
LEAST_W = 5_000.0 * WATTS["btu/h"]  # what burns less is a pilot or a lamp. Ours, no source
MOST_THOUSANDS = 1_000.0  # larger numbers are no thousands of Btu/h, and no kW. Ours, no source
NAMES = {"input_rating_w": "input", "relief_capacity_w": "rating"}
REMEDY = "Give the property its unit, in its measure or its name."


def settle_bare_powers(
    element: Element, facts: StatedFacts, metres_per_unit: float
) -> Iterator[Note]:
    """Take the plain numbers that a unit can be found for, by the size of the number, the units of
    the file and what is heated with; what remains open between two units keeps the least of both.

    Beside feet and inches heat is in Btu/h or thousands of them. In metric files it is in W or kW,
    or yet in those: a building under an American code has plates that tell Btu/h.
    """
    for fact, what in NAMES.items():
        stated = facts.get(fact)
        if stated is None or not isinstance(stated.value, str) or fact in element.properties:
            continue
        number = float(stated.value)
        is_rating = fact == "relief_capacity_w"
        units = _units(number, element, metres_per_unit, is_rating)
        if not units or (is_rating and len(units) > 1):
            continue
        told = f"{stated.basis}, without a unit, in {' or '.join(units)}"
        element.properties[fact] = number * WATTS[units[0].casefold()]
        element.basis[fact] = Basis(told, Confidence.INFERRED)
        if len(units) > 1:
            element.properties[f"least_{fact}"] = number * WATTS[units[1].casefold()]
        elif units[0] not in ("W", "kW"):
            says = f"The {what} of {LABEL} is given as {number:,.10g} without a unit"
            yield Note(f"{says}; {units[0]} were taken.", REMEDY, "", "power")


def _units(
    number: float, element: Element, metres_per_unit: float, is_rating: bool
) -> tuple[str, ...]:
    """The units a number may be in, that of the largest power first; none if none makes sense."""
    is_small = number < MOST_THOUSANDS
    if not is_rating and element.properties.text("energy") == "electric":
        return ("kW",) if is_small else ("W",)
    units: tuple[str, ...] = ("kW", "MBH") if is_small else ("W", "Btu/h")
    if any(abs(metres_per_unit - unit) < SAME * unit for unit in FEET_AND_INCHES_M):
        units = units[1:]
    return tuple(u for u in units if number * WATTS[u.casefold()] >= LEAST_W)
