"""Rules about clothes washer standpipes: their height and that of their trap."""

from collections.abc import Iterator

from ifclint.checks import Bounds, Fact, between, due, given, known, require
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Fixture, TrapArm
from ifclint.plumbing.drainage.receptors import STANDPIPE

TRAY = "laundry-sink"
TOP = Fact(
    "where the top of {} is, the model does not show.",
    "Give the standpipe a shape, or an end at its top.",
)
FLOOR = Fact(
    "on what floor {} stands", "Contain the fixture in an IfcBuildingStorey with an elevation."
)


def _has_standpipe(arm: TrapArm) -> bool:
    return arm.trap is not None and not arm.integral and _standpipe(arm) is not None


def _standpipe(arm: TrapArm) -> Fixture | None:
    return next((f for f in arm.fixtures if f.kind == STANDPIPE), None)


def _tray(arm: TrapArm) -> Fixture | None:
    """The laundry tray whose waste is led into the standpipe."""
    return next((f for f in arm.fixtures if f.kind == TRAY), None)


@rule(
    title="Standpipe neither too short nor too tall",
    clauses={"upc": "804.1", "ipc": "802.4.3", "irc-2021": "P2706.1.2"},
    needs=("weir",),
    applies=_has_standpipe,
)
def standpipe_height(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """A short standpipe spills when the washer pumps; a tall one siphons its trap.

    The height from the trap weir to the top of the standpipe: the top of its shape, or its
    highest end where it has none; of a washer whose hose hangs in a pipe, and of a box in the
    wall that drains into one, the top of that pipe. One that takes a laundry tray is taller, and
    stands above the rim of the tray (IPC, IRC). Where the trap alone stands too low or high, its
    own rule says so.
    """
    standpipe, tray = given(_standpipe(arm)), _tray(arm)
    low, high = (context.code.limit(f"standpipe_above_trap_{m}_in") for m in ("min", "max"))
    with_tray = context.code.limit_or_none("standpipe_with_tray_above_trap_min_in")
    low = with_tray if tray is not None and with_tray is not None else low
    weir_m, tops_m = given(arm.weir)[2], known(_top_m(standpipe, context), TOP, standpipe.label)
    height, highest = ((top_m - weir_m) / M_PER_IN for top_m in tops_m)
    if not _would_fit(arm, highest, (low.value, high.value), context):
        yield between(
            Bounds(TOP, standpipe.label, low=round(height, 2), high=round(highest, 2)),
            low,
            high,
            message=f"{standpipe.label} stands {number_text(height, 3)} in above its trap weir.",
            remedy=f"Let the standpipe stand {number_text(low.value)} to {number_text(high.value)} "
            "in above the weir.",
            steps=(
                Step("Height of its top", height + weir_m / M_PER_IN, "in"),
                Step("Height of the weir", weir_m / M_PER_IN, "in"),
            ),
            limit_steps=("Least", "Most"),
        )
    rims_m = context.plumbing.venting.rim_m(tray) if tray is not None and with_tray else None
    if tray is not None and rims_m is not None:
        yield require(
            at_least(tops_m[1], rims_m[0], "m"),
            message=f"{tray.label} drains into {standpipe.label}, which stands lower than its rim.",
            remedy=f"Carry the standpipe above the rim of {tray.label}.",
            about="tray",
        )


def _would_fit(arm: TrapArm, height_in: float, may: tuple[float, float], context: Context) -> bool:
    """Whether the trap alone is at fault: roughed in where it may stand, it leaves the standpipe as
    tall as it may be."""
    own = _trap_range(context)
    above_in = _trap_above_in(arm, context) if own is not None else None
    if own is None or above_in is None or own[0].value <= above_in <= own[1].value:
        return False
    top_in = height_in + above_in
    return top_in - own[1].value <= may[1] and top_in - own[0].value >= may[0]


def _trap_range(context: Context) -> tuple[Limit, Limit] | None:
    """Between what heights above the floor the code wants the trap; None where it says nothing."""
    limit = context.code.limit_or_none
    low, high = (limit(f"standpipe_trap_above_floor_{m}_in") for m in ("min", "max"))
    return (low, high) if low is not None and high is not None else None


def _trap_above_in(arm: TrapArm, context: Context) -> float | None:
    """How high the weir stands above the floor of the fixture."""
    floors = context.plumbing.surroundings.floors
    floor = floors.of(given(_standpipe(arm)).element) or floors.of(arm.element)
    return None if floor is None else (given(arm.weir)[2] - floor.level_m) / M_PER_IN


def _top_m(fixture: Fixture, context: Context) -> tuple[float, float] | None:
    """The least and the greatest height the top of a standpipe may have.

    A washer is no standpipe: without a pipe its height is not stated.
    """
    venting = context.plumbing.venting
    if (top := venting.standpipe_top_m(fixture)) is not None:
        return top, top
    return None if fixture.element.role is Role.APPLIANCE else venting.rim_m(fixture)


@rule(
    title="Standpipe trap above the floor, at a height that can be reached",
    clauses={"upc": "804.1"},
    severity=Severity.LOW,
    needs=("weir",),
    applies=_has_standpipe,
)
def standpipe_trap_height(arm: TrapArm, context: Context) -> Answer:
    """A trap below the floor cannot be cleaned, one too high leaves the standpipe short.

    The height of the trap weir above the floor the fixture stands on.
    """
    low, high = due(_trap_range(context))
    standpipe = given(_standpipe(arm))
    height = known(_trap_above_in(arm, context), FLOOR, standpipe)
    return between(
        round(height, 2),
        low,
        high,
        message=f"The trap of {standpipe.label} stands {number_text(abs(height), 3)} in "
        f"{above_or_below(height)} the floor.",
        remedy=f"Rough the trap in {number_text(low.value)} to {number_text(high.value)} in above "
        "the floor.",
        limit_steps=("Least", "Most"),
    )
