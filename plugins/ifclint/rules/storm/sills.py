"""How high scuppers and secondary drains stand above the primary ones."""

from ifclint.checks import violation
from ifclint.codes import Limit
from ifclint.engineering.extents import holds
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Severity
from ifclint.packs import Context
from ifclint.plumbing import Inlet
from ifclint.rules.storm.roofs import Roof, scuppers_at

LEVEL_BODY = 2  # heights of the corners of a body with a level top and bottom


def is_enough(higher_in: float, least: Limit) -> bool:
    """Whether one stands high enough above another; higher at all where the code says no more."""
    if not least.value:
        return not at_most(higher_in, 0.0, "in")
    return at_least(higher_in, least.value, least.unit)


def scuppers_too_low(roof: Roof, context: Context) -> Answer | None:
    """What is said where scuppers alone are secondary, and none stands above the primary drain for
    certain; None where that is not so."""
    boxes = [(e, e.box) for e in scuppers_at(roof, context)]
    sills = [(box[0][2], e) for e, box in boxes if box is not None]
    rims = [rim for inlet in roof.primary if (rim := _rim_m(inlet, roof)) is not None]
    alone = not roof.secondary and not any(inlet.is_dual for inlet in roof.inlets)
    if not alone or not rims or not sills or len(sills) < len(boxes):
        return None
    sill, scupper = max(sills, key=lambda one: one[0])
    least, primary = context.code.limit("secondary_above_primary_in"), roof.primary[0]
    higher = (sill - min(rims)) / M_PER_IN
    if is_enough(higher, least):
        return None
    where = f"{number_text(abs(higher))} in {above_or_below(higher)}"
    where = where if round(higher, 2) else "at the height of"
    above = f"{number_text(least.value)} in above" if least.value else "above"
    return violation(
        message=f"The sill of {scupper.label} stands {where} {primary.label}: what lets water out "
        "with every rain is no secondary drainage.",
        remedy=f"Set the sills of the scuppers {above} the primary drain.",
        elements=(scupper.guid, primary.element.guid),
        severity=Severity.MEDIUM,
        clause=least.clause,
    )


def _rim_m(inlet: Inlet, roof: Roof) -> float | None:
    """The lowest that water enters a roof drain: the top of a level roof that it stands in, else
    its outlet."""
    at, box, surface = inlet.element.position, inlet.element.box, roof.surface
    if at is None or surface is None or box is None:
        return None if at is None else at[2]
    is_level = len({round(z, 3) for *_, z in surface.corners}) == LEVEL_BODY
    stands_in = holds(*box, (*at[:2], surface.high[2]))
    return surface.high[2] if is_level and stands_in else at[2]
