"""Where a backflow preventer can be tested: above the floor and out of the ground."""

from collections.abc import Iterator

from ifclint.checks import Fact, check, known, violation
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Outcome
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Piece
from ifclint.rules.protection.devices import Device, device_of

TESTED = frozenset({Device.REDUCED_PRESSURE, Device.DOUBLE_CHECK})
HEIGHT = Fact(
    "how high {} stands above the floor or the ground",
    "Give the device a place, and the building a storey with an elevation, or a slab.",
)


@rule(
    title="Backflow preventer where it is tested and not flooded",
    clauses={"upc": "603.4", "ipc": "608.15", "irc": "P2902.6"},
    applies=lambda piece: piece.role is Role.VALVE and device_of(piece.element) in TESTED,
)
def backflow_preventer_height(piece: Piece, context: Context) -> Iterator[Answer]:
    """Under water its relief port drinks, and over one's head nobody tests it.

    Reduced-pressure and double check assemblies: a reduced-pressure one that stands in the ground
    (a pit) is wrong. The height of their middle (or the foot of their box) above the floor under
    them: between what leaves room below and what asks for a platform to stand on. Where the code
    names no height it is an advisory of common practice. The sections are from memory.
    """
    device, around = piece.element, context.plumbing.surroundings
    at = known(device.position, HEIGHT, device)
    relieves = device_of(device) is Device.REDUCED_PRESSURE
    if relieves and context.is_in_ground(at):
        yield violation(
            message=f"{device.label} stands in the ground, where its relief port is flooded.",
            remedy="Set it above the ground, or indoors above the floor.",
            about="pit",
        )
        return
    z = device.box[0][2] if device.box is not None else at[2]
    levels = [s.high[2] for s in around.above_or_below("slab", at) if s.high[2] <= z]
    floor = around.floors.of(device)
    levels += [floor.level_m] if floor is not None and floor.level_m <= z else []
    height = (z - known(max(levels, default=None), HEIGHT, device)) / M_PER_IN
    stands = f"{device.label} stands {number_text(height)} in above the floor."
    wrong = Outcome.VIOLATION if context.code.family == "upc" else Outcome.ADVISORY
    low, high = (context.code.limit(f"backflow_{key}_above_floor_in") for key in ("least", "most"))
    yield check(
        height,
        at_least=low,
        message=stands,
        remedy=f"Set it {number_text(low.value)} in or more above what one stands on.",
        wrong=wrong,
        about="low",
    )
    yield check(
        height,
        at_most=high,
        message=stands,
        remedy=f"Set it {number_text(high.value)} in or less above what one stands on, or build a "
        "platform below it.",
        wrong=wrong,
        about="high",
    )
