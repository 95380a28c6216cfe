"""Rules about heights at which trim will be set: practice, and no code."""

import re
from dataclasses import dataclass

from ifclint.checks import Answer, between, due
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, fraction_text, sentence
from ifclint.findings import Outcome, Severity
from ifclint.ifc.elements import DRAINAGE, Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement

BATHING = re.compile(r"\b(shower|tub|bath|bathtub|dusche|douche|ducha|wanne|baignoire)", re.I)
# Farther from the floor that is told, another one is the part's that is not; ours, no source.
REACH_M, FLANGE_REACH_M = 3.0, 0.15
BY_PORTS = "port placement"  # the basis of ends that ports tell
BUILT = frozenset({"rooms", "doors", "a slab"})  # a floor that fixtures tell is about so high


@dataclass(eq=False)
class RoughIn(OfElement):
    """A part that is set at a usual height: its height above the floor under it."""

    element: Element
    part: str  # a row of the table of usual heights
    height_m: float | None  # None where no floor is told
    service = None
    sized_by = DRAINAGE  # trap arms tell which traps

    @property
    def name(self) -> str:
        """What stands so high, at the start of a sentence."""
        label = sentence(self.label)
        return f"The weir of {self.label}" if self.element.role is Role.TRAP else label


@derived
def rough_ins(context: Context) -> list[RoughIn]:
    """Shower heads, bathing valves, closet flanges, and the trap weirs of lavatories and sinks."""
    floors = context.plumbing.surroundings.floors
    built = {floor for floor in floors.told if floor.basis in BUILT}
    found: list[RoughIn] = []

    def add(element: Element, part: str, z: float, stands: Element) -> None:
        floor = floors.of(stands) if stands.role is Role.FIXTURE else floors.under(z)
        reach = FLANGE_REACH_M if part == "closet-flange" else REACH_M
        above = z - floor.level_m if floor is not None and floor in built else None
        if above is not None and not at_most(abs(above), reach, "m"):
            above = None
        found.append(RoughIn(element, part, above))

    for element in context.plumbing.network.elements:
        part, at = _part(element), element.position
        if part == "closet-flange":
            tops = [end.position[2] for end in element.ends if end.position is not None]
            if tops and element.basis.get("ends", BY_PORTS) == BY_PORTS:
                add(element, part, max(tops), element)
        elif part and at is not None:
            add(element, part, at[2], element)
    for arm in context.plumbing.venting.arms:
        kinds = {fixture.kind for fixture in arm.fixtures}
        kind = kinds.pop() if len(kinds) == 1 else ""
        trap = arm.trap.element if arm.trap else None
        fixture = next(iter(arm.fixtures), None)
        if kind in ("lavatory", "kitchen-sink") and arm.weir and trap is not None and fixture:
            add(trap, kind, arm.weir[2], fixture.element)
    return found


def _part(element: Element) -> str:
    if element.kind in ("shower-head", "closet-flange"):
        return element.kind
    is_valve = element.role is Role.VALVE and element.kind in ("faucet", "mixing")
    return "bathing-valve" if is_valve and BATHING.search(element.label) else ""


@rule(
    title="Rough-in at its usual height",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
)
def roughin_height(part: RoughIn, context: Context) -> Answer:
    """What is roughed in too high or too low is found out when the trim is set, behind tile.

    Shower heads, valves of tubs and showers, trap weirs of lavatories and kitchen sinks, and closet
    flanges, above the floor under them, against what is usual. An advisory: no code asks for it,
    and what is made for other users is higher or lower with reason. Floors that nothing but
    storeys and fixtures tell are left alone, as are flanges without ports.
    """
    row = due(context.code.table("rough_in_heights").one(part=part.part))
    inches = due(part.height_m) / M_PER_IN
    low, high = (row.limit(column, "in") for column in ("low_in", "high_in"))
    side = above_or_below(inches)
    usual = f"{fraction_text(low.value)} and {fraction_text(high.value)} in"
    return between(
        inches,
        low,
        high,
        message=f"{part.name} is {fraction_text(abs(inches), 3)} in {side} the floor.",
        remedy=f"Set it between {usual}, or confirm the height.",
        limit_steps=("Usual, from", "to"),
        wrong=Outcome.ADVISORY,
    )
