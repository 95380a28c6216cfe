"""The rule about traps where it freezes."""

from __future__ import annotations

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer
from ifclint.packs import Context, rule
from ifclint.plumbing import TrapArm
from ifclint.plumbing.surroundings.cold import FREEZES, cold_place

KEPT_WARM = Fact(
    "{}; what keeps it from freezing is not stated.",
    "Move the trap into heated space, or state how it is kept warm (its insulation).",
)


def _has_a_trap(arm: TrapArm) -> bool:
    return arm.trap is not None


@rule(
    title="Trap kept from freezing",
    subject=TrapArm,
    clauses={"upc": "312.6", "ipc": "305.4", "irc": "P2603.5"},
    applies=_has_a_trap,
)
def trap_frost(arm: TrapArm, context: Context) -> Answer:
    """A drain runs empty, but a trap stands full, and bursts in the first cold night.

    Where the job file says it freezes: a trap, or a fixture with a trap inside, that stands in a
    space named attic, crawl space, garage or the like, or whose middle lies in an exterior wall.
    Without insulation, where the model says so, it is wrong; where it does not say, it is asked, as
    it is where the job file does not tell whether it freezes. A trap in the ground is excused.
    """
    element = arm.element
    point, insulated = element.position, element.properties.flag("insulated")
    floors, grade = context.plumbing.surroundings.floors, context.job.building.grade_elevation
    place = cold_place(element, point, context)
    if context.job.building.freezing is False or place is None or insulated is True:
        return PASS
    if point is not None and floors.is_in_ground(point, grade):
        return PASS
    stands = f"The trap of {arm.fixture.label} is in {place.words}"
    if context.job.building.freezing is None:
        return not_known(FREEZES, stands, elements=(element.guid,))
    if insulated is None or not place.is_certain:
        return not_known(KEPT_WARM, stands, elements=(element.guid,))
    return violation(
        message=f"{stands}, bare, where it freezes.",
        remedy="Move the trap into heated space, or keep it from freezing.",
        elements=(element.guid,),
    )


RULES = (trap_frost,)
