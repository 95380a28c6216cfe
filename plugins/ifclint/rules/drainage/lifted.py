"""The rule about what is pumped although it could drain by gravity."""

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, advise, known
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.directions import foot
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer
from ifclint.ifc.elements import Point
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import DrainSegment, Fixture, Part, Pipe
from ifclint.plumbing.drainage.pumped import PUMPED

SLOPE = 0.25 / IN_PER_FT  # at which a drain of any size may be laid. Common practice, no source
CLEAR_IN = 6.0  # for fittings, between a trap and the drain it falls to. Ours, no source
JOINED = frozenset({Part.BUILDING_DRAIN, Part.BUILDING_DRAIN_BRANCH})
HEIGHT = Fact(
    "how high the drain of {} begins, beside the building drain",
    "Give trap and fixture placed ports.",
)


@rule(
    title="What can drain by gravity not pumped",
    clauses={"upc": "709.1", "ipc": "712.1", "irc": "P3007.1"},
    applies=lambda f: f.connected and f.outlet is not None and f.outlet.kind == PUMPED,
)
def drains_by_gravity(fixture: Fixture, context: Context) -> Answer:
    """A pump fails, and with it every fixture that did not need it.

    A fixture that drains into an ejector, whose trap (or outlet) lies so high above a building
    drain that runs to the sewer that a drain with 1/4 in/ft of fall would come to it: an advisory,
    for what stands between the two is not looked at.
    """
    size_in = or_zero(fixture.drain_size_in)
    drains = [(d, pipe) for d, pipe in _by_gravity(context) if or_zero(d.size_in) >= size_in]
    if not drains:
        return NOT_APPLICABLE
    begins = known(_begins(fixture, context), HEIGHT, fixture)
    spare_m, drain = max(((_spare_m(begins, p), d) for d, p in drains), key=lambda found: found[0])
    if not at_least(spare_m, CLEAR_IN * M_PER_IN, "m"):
        return PASS
    return advise(
        f"{fixture.label} is pumped, although its drain begins "
        f"{number_text(spare_m / M_PER_IN)} in higher than it must to run to {drain.label} with "
        "1/4 in/ft of fall.",
        "Lead it to the building drain by gravity, and pump what lies too low alone.",
        elements=(*fixture.element_ids, *drain.element_ids[:1]),
    )


@derived
def _by_gravity(context: Context) -> list[tuple[DrainSegment, Pipe]]:
    """The pipes of the building drains that run to the sewer by themselves."""
    drainage = context.plumbing.drainage
    return [
        (drain, pipe)
        for drain in context.plumbing.drains
        if drain.part in JOINED and not drain.vertical
        for outlet in [drainage.outlets[drainage.outlet[drain.indexes[-1]]]]
        if outlet.accepted and outlet.kind != PUMPED
        for pipe in drain.pipes
    ]


def _begins(fixture: Fixture, context: Context) -> Point | None:
    """The weir of its trap, or the outlet of a fixture that traps itself."""
    start = _arm_starts(context).get(fixture.index, fixture.index)
    return context.plumbing.venting.piping.exit(start)


@derived
def _arm_starts(context: Context) -> dict[int, int]:
    """The element after which the trap arm of every fixture begins."""
    return {f.index: arm.start for arm in context.plumbing.venting.arms for f in arm.fixtures}


def _spare_m(begins: Point, pipe: Pipe) -> float:
    """How much more than the fall to a pipe there is between a trap and its nearest place."""
    if pipe.up is None or pipe.down is None:
        return float("-inf")
    (x, y, z), (u, v, w) = pipe.up, pipe.down
    begin = (*begins[:2], 0.0)
    at, share = foot(begin, (x, y, 0.0), (u, v, 0.0))
    far = abs(begin[0] - at[0]) + abs(begin[1] - at[1])
    return begins[2] - (z + share * (w - z)) - far * SLOPE
