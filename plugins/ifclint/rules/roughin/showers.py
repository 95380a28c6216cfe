"""Rules about showers: large enough to stand and turn in, and to be entered."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.checks import PASS, Answer, check, missing, unverified
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import PartKind, Severity, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.roughin.clearances import inches
from ifclint.rules.roughin.standing import ASKEW, WALLS, Facing, Stand, is_askew, standing_of

HEAD_M = 0.4  # what is drawn smaller is the head or the valve, and no compartment; no source
TRUE_SHOWERS = PartKind(
    "showers in their true size",
    drawn=lambda context: any(_is_drawn(e) for e in _showers(context)),
    remedy="Draw the receptor or the compartment of each shower, in its true size.",
)


@dataclass(eq=False)
class Shower(OfElement):
    """A shower compartment, by the box of its receptor."""

    element: Element

    @property
    def sides_in(self) -> tuple[float, float]:
        """Its sides in plan, the shorter first."""
        assert self.element.box is not None
        low, high = self.element.box
        short, long = sorted((high[k] - low[k]) / M_PER_IN for k in (0, 1))
        return short, long


@derived
def showers(context: Context) -> list[Shower]:
    """Every shower, in the order of the model."""
    return [Shower(element) for element in _showers(context)]


def _showers(context: Context) -> list[Element]:
    elements = context.plumbing.network.elements
    return [e for e in elements if e.role is Role.FIXTURE and e.kind == "shower"]


def _is_drawn(element: Element) -> bool:
    if element.box is None:
        return False
    low, high = element.box
    return min(high[k] - low[k] for k in (0, 1)) >= HEAD_M


@rule(
    title="Shower large enough",
    subject=Shower,
    clauses={"upc": "408.6", "ipc": "421.4", "irc": "P2708.1"},
    severity=Severity.MEDIUM,
)
def shower_large_enough(shower: Shower, context: Context) -> Answer:
    """Whoever turns in a shower that is too small touches a hot valve, or falls.

    The area of the receptor and the circle that fits into it, by its box, which is its outside: one
    just large enough may be too small within. Where the code lets a long shower be narrower, so is
    it judged. What is drawn as small as a shower head is no compartment, and is a question.
    """
    if not _is_drawn(shower.element):
        message = f"how large {shower.label} is, is not known."
        return missing(TRUE_SHOWERS, message=message, remedy=TRUE_SHOWERS.remedy)
    if is_askew(shower.element):
        message = f"{shower.label} is not measured."
        return missing(ASKEW, message=message, remedy=ASKEW.remedy)
    code = context.code
    area, across = code.limit("shower_area_in2"), code.limit("shower_across_in")
    short, long = shower.sides_in
    narrow, long_area = (
        code.limit_or_none("shower_narrow_in"),
        code.limit_or_none("shower_narrow_area_in2"),
    )
    if narrow and long_area and at_least(short * long, long_area.value, "in2"):
        across = narrow
    answer = check(
        short,
        at_least=across,
        message=f"{shower.label} is {number_text(short, 3)} in wide.",
        remedy=f"Set a receptor at least {number_text(across.value)} in wide each way.",
        limit_step="Circle that must fit",
    )
    if answer is not PASS:
        return answer
    steps = (Step("Receptor", short, "in"), Step("by", long, "in"))
    return check(
        short * long,
        at_least=area,
        message=f"{shower.label} is {number_text(short, 3)} by {number_text(long, 3)} in.",
        remedy=f"Set a receptor of at least {number_text(area.value)} in² within.",
        steps=steps,
        limit_step="Least area",
    )


@rule(
    title="Room before the shower",
    subject=Shower,
    clauses={"upc": "", "ipc": "", "irc": "R307.1"},
    severity=Severity.MEDIUM,
)
def room_before_shower(shower: Shower, context: Context) -> Answer:
    """A wet foot needs a place to step on.

    The widest clear distance before any side of the shower that no wall closes, by boxes. Which
    side is the entry no box tells, so that one with room enough on any side passes.
    """
    least = context.code.limit("shower_entry_in")
    if not _is_drawn(shower.element) or is_askew(shower.element):
        message = f"where {shower.label} is entered is not known."
        return missing(TRUE_SHOWERS, message=message, remedy=TRUE_SHOWERS.remedy)
    if not context.plumbing.surroundings.has_walls:
        message = f"what stands around {shower.label} is not known."
        return missing(WALLS, message=message, remedy=WALLS.remedy)
    stand = standing_of(shower.element, context)
    reach = least.value * M_PER_IN
    if stand.is_blurred(reach):
        return unverified(
            f"What stands before {shower.label} is not known: a wall near it stands askew.",
            ASKEW.remedy,
        )
    widest = max(_clear_m(stand, axis, sign, reach) for axis in (0, 1) for sign in (-1, 1))
    return check(
        widest / M_PER_IN,
        at_least=least,
        message=f"No side of {shower.label} has more than {inches(widest)} before it.",
        remedy="Leave the entry of the shower clear.",
        limit_step="Before the entry",
    )


def _clear_m(stand: Stand, axis: int, sign: int, enough_m: float) -> float:
    nearest = stand.before(Facing(axis, sign))
    return min(nearest.metres, 2 * enough_m) if nearest else 2 * enough_m


RULES = (shower_large_enough, room_before_shower)
