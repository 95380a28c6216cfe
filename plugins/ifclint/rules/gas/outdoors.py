"""The rule about gas pipe that lies outdoors on the ground or on a roof."""

from collections.abc import Iterator
from math import inf

from ifclint.checks import PASS, Bounds, Fact, check, drawn
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Outcome, Severity
from ifclint.ifc.elements import Element, Point
from ifclint.packs import Context
from ifclint.part_kinds import SHELL
from ifclint.plumbing import GasSegment
from ifclint.plumbing.floors import Ground
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import IN_FLOOR_M, is_inside, lies, radius_m

GROUND = Fact(
    "how high above the ground {} runs",
    "Give the height of the ground in the job file (building.grade_elevation).",
)
ROOF = Fact(
    "how high above the roof {} runs",
    "Model each plane of the roof as a slab of its own (IfcSlab, ROOF).",
)

WHAT = {GROUND: "ground", ROOF: "roof"}
LOW_M = 0.15  # above the ground. Ours, no source


@gas_rule(
    title="Gas pipe outdoors clear of the ground and of the roof",
    clauses={"upc": "1210.2", "ipc": "IFGC 404.9", "irc": "G2415.9"},
    severity=Severity.LOW,
    needs=("placed",),
)
def gas_above_ground(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """Pipe that lies in wet leaves or in what stands on a roof rusts through, and is trodden on.

    From the underside of level pipe outdoors down to the ground, where it does not lie in it, and
    to a roof under it. The UPC asks for protection and names no height that was found: there it is
    an advisory.
    """
    roofed = context.plumbing.surroundings.roof_over
    laid = [(at[2] - radius_m(segment, [p]), p, at) for p, at in segment.placed or () if lies(p)]
    roofs = [
        (z, p, roof) for z, p, at in laid if (roof := roofed(at)) and lies_above(at[2], roof.top_m)
    ]
    if roofs:
        low_m, high_m = min((z - r.top_m, z - r.top_m if r.is_exact else inf) for z, _, r in roofs)
        yield _clear(segment, ROOF, low_m, high_m, [p for _, p, _ in roofs], context)
    ground = context.ground
    outdoors = [(z, p) for z, p, at in laid if ground and _is_above(at, ground, context)]
    if ground and outdoors:
        z = min(height for height, _ in outdoors)
        high_m = z - ground.low_m if ground.is_told else inf
        yield _clear(segment, GROUND, z - ground.high_m, high_m, [p for _, p in outdoors], context)


def _is_above(at: Point, ground: Ground, context: Context) -> bool:
    """Whether a place lies outdoors above the ground; one that may be indoors counts if it is low,
    and is then asked about."""
    if ground.is_below(at[2] + IN_FLOOR_M) is not False:
        return False
    inside = is_inside(at, context)
    is_low = ground.is_told and at_most(at[2] - ground.high_m, LOW_M, "m")
    return inside is False or (inside is None and is_low)


def _clear(
    segment: GasSegment,
    of: Fact,
    low_m: float,
    high_m: float,
    pipes: list[Element],
    context: Context,
) -> Answer:
    """How far its underside is above the ground or the roof."""
    limit, inches = context.code.limit("gas_above_ground_in"), low_m / M_PER_IN
    ids, what = tuple(dict.fromkeys(pipe.guid for pipe in pipes)), WHAT[of]
    answer = check(
        Bounds(of, segment, low=inches, high=high_m / M_PER_IN, elements=ids, about=what),
        at_least=limit,
        message=f"{segment.label} runs {apart_text(not_below_zero(inches), limit.value, 'in', 2)} "
        f"above the {what}.",
        remedy=f"Raise the pipe {limit.value:g} in above the {what}, on supports.",
        wrong=Outcome.ADVISORY if context.code.family == "upc" else Outcome.VIOLATION,
        elements=ids,
        about=what,
    )
    if answer is not PASS:
        drawn(SHELL, context, "whether {} runs outdoors", segment)
    return answer
