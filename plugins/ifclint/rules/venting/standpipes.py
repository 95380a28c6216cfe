"""Rules about clothes washer standpipes: their height and that of their trap."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, between, unverified
from ifclint.engineering import tolerance
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import TrapArm
from ifclint.rules.venting.wording import limit

STANDPIPE = "clothes-washer"


def _is_standpipe(arm: TrapArm) -> bool:
    return arm.trap is not None and not arm.integral and arm.fixture.kind == STANDPIPE


@rule(
    title="Standpipe neither too short nor too tall",
    subject=TrapArm,
    clauses={"upc": "804.1", "ipc": "802.4.3", "irc-2021": "P2706.1.2"},
    needs=("weir",),
    applies=_is_standpipe,
)
def standpipe_height(arm: TrapArm, context: Context) -> Answer:
    """A short standpipe spills when the washer pumps; a tall one siphons its trap.

    The height from the trap weir to the top of the standpipe: the top of its shape, or its
    highest end where it has none.
    """
    low, high = (limit(context, f"standpipe_above_trap_{m}_in") for m in ("min", "max"))
    rims, weir = context.plumbing.venting.rim_m(arm.fixture), arm.weir
    if low is None or high is None or rims is None or weir is None:
        return NOT_APPLICABLE
    top = rims[0]
    height = (top - weir[2]) / M_PER_IN
    stated = rims[0] == rims[1]
    if not stated and not tolerance.at_least(height, low.value, "in"):
        return unverified(
            f"Where the top of {arm.fixture.label} is, the model does not tell.",
            "Give the standpipe a shape, or an end at its top.",
        )
    return between(
        round(height, 2),
        low,
        high,
        message=f"{arm.fixture.label} stands {number_text(height, 3)} in above its trap weir.",
        remedy=(
            f"Let it stand {number_text(low.value)} to {number_text(high.value)} in above the weir."
        ),
        steps=(
            Step("Height of its top", top / M_PER_IN, "in"),
            Step("Height of the weir", weir[2] / M_PER_IN, "in"),
            Step("Least", low.value, "in", low.clause),
            Step("Most", high.value, "in", high.clause),
        ),
    )


@rule(
    title="Standpipe trap above the floor, at a height that can be reached",
    subject=TrapArm,
    clauses={"upc": "804.1"},
    severity=Severity.LOW,
    needs=("weir",),
    applies=_is_standpipe,
)
def standpipe_trap_height(arm: TrapArm, context: Context) -> Answer:
    """A trap below the floor cannot be cleaned, one too high leaves the standpipe short.

    The height of the trap weir above the floor of the fixture's storey.
    """
    low = limit(context, "standpipe_trap_above_floor_min_in")
    high = limit(context, "standpipe_trap_above_floor_max_in")
    weir = arm.weir
    storey = arm.fixture.element.storey or arm.element.storey
    floor = context.plumbing.venting.surroundings.elevations_m.get(storey)
    if low is None or high is None or weir is None:
        return NOT_APPLICABLE
    if floor is None:
        return unverified(
            f"On what floor {arm.fixture.label} stands is not known.",
            "Contain the fixture in an IfcBuildingStorey with an elevation.",
        )
    height = (weir[2] - floor) / M_PER_IN
    return between(
        round(height, 2),
        low,
        high,
        message=(
            f"The trap of {arm.fixture.label} stands {number_text(height, 3)} in above the floor."
        ),
        remedy=(
            f"Rough the trap in {number_text(low.value)} to {number_text(high.value)} in above "
            "the floor."
        ),
        steps=(
            Step("Least", low.value, "in", low.clause),
            Step("Most", high.value, "in", high.clause),
        ),
    )


RULES = (standpipe_height, standpipe_trap_height)
