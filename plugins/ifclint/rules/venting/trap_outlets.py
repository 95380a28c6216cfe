"""Rules about where a fixture's outlet lies, above its trap and beside it."""

from collections.abc import Iterator
from math import dist

from ifclint.checks import check, given, not_known
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.ifc.elements import Point
from ifclint.packs import Context, rule
from ifclint.plumbing import Fixture, TrapArm
from ifclint.plumbing.drainage.loads import INTO_THE_SINK
from ifclint.plumbing.drainage.receptors import STANDPIPE
from ifclint.rules.venting.shared_traps import are_too_far_apart
from ifclint.rules.venting.traps import is_drawn

APART = INTO_THE_SINK | {STANDPIPE}


def _is_no_standpipe(arm: TrapArm) -> bool:
    return is_drawn(arm) and any(f.kind != STANDPIPE for f in arm.fixtures)


@rule(
    title="Trap not too far below its fixture",
    clauses={"upc": "1001.2", "ipc": "1002.1", "irc-2021": "P3201.6"},
    needs=("fixture_outlet", "weir"),
    applies=_is_no_standpipe,
)
def outlet_above_weir(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Water that falls far gathers speed and pulls its own seal, and the pipe above it fouls.

    The height from the outlet of each fixture to the trap weir. Standpipes have their own rule;
    traps inside fixtures are excused. What is too high for any fixture but a standpipe is asked
    for its kind.
    """
    weir, most = given(arm.weir), context.code.limit("fixture_outlet_to_weir_vertical_in")
    tallest = context.code.limit("standpipe_above_trap_max_in")
    for fixture, outlet in _outlets(arm):
        height = (outlet[2] - weir[2]) / M_PER_IN
        is_taller = not at_most(height, most.value) and at_most(height, tallest.value)
        if is_taller and not fixture.kind:
            yield not_known("known_kind", fixture, about=_of_other(fixture, arm))
            continue
        yield check(
            round(height, 2),
            at_most=most,
            message=f"{fixture.label} stands {apart_text(height, most.value, 'in')} above its "
            "trap weir.",
            remedy=f"Raise the trap to within {number_text(most.value)} in of the outlet.",
            steps=(
                Step("Height of the outlet", outlet[2] / M_PER_IN, "in"),
                Step("Height of the weir", weir[2] / M_PER_IN, "in"),
            ),
            limit_step="Outlet above weir, at most",
            about=_of_other(fixture, arm),
        )


def _outlets(arm: TrapArm) -> Iterator[tuple[Fixture, Point]]:
    """The outlets of the fixtures on a trap, as far as they are known; what drains into the sink
    has none of its own, and a standpipe has its own rule."""
    if arm.fixture.kind != STANDPIPE:
        yield arm.fixture, given(arm.fixture_outlet)
    for other in arm.fixtures:
        outlet = arm.piping.exit(other.index)
        if other is not arm.fixture and other.kind not in APART and outlet is not None:
            yield other, outlet


def _of_other(fixture: Fixture, arm: TrapArm) -> str:
    return "" if fixture is arm.fixture else fixture.element.guid


@rule(
    title="Trap not too far beside its fixture",
    clauses={"ipc": "1002.1", "irc-2021": "P3201.6"},
    severity=Severity.LOW,
    needs=("fixture_outlet", "trap_inlet"),
    applies=_is_no_standpipe,
)
def outlet_beside_trap(arm: TrapArm, context: Context) -> Iterator[Answer]:
    """Pipe between fixture and trap stays foul and smells into the room.

    The horizontal distance from the outlet of each fixture to the trap's inlet. Where outlets that
    share a trap lie too far apart, that is told, and only the nearest is asked.
    """
    inlet, outlets = given(arm.trap_inlet), list(_outlets(arm))
    if outlets and are_too_far_apart(arm, context):
        outlets = [min(outlets, key=lambda of: dist(of[1][:2], inlet[:2]))]
    for fixture, outlet in outlets:
        beside = dist(outlet[:2], inlet[:2]) / M_PER_IN
        yield check(
            round(beside, 2),
            at_most=context.code.limit("fixture_outlet_to_trap_horizontal_in"),
            message=f"The trap of {fixture.label} stands {number_text(beside, 3)} in beside its "
            "outlet.",
            remedy="Set the trap under the fixture.",
            limit_step="Horizontal distance, at most",
            about=_of_other(fixture, arm),
        )
