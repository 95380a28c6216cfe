"""Rules about the sizes at a fixture: its trap, its drain, and the branch it drains into."""

from ifclint.checks import NOT_APPLICABLE, Fact, check, due, given, known
from ifclint.codes import Limit
from ifclint.engineering.wording import sentence, trade_size, with_article
from ifclint.findings import Answer, Change, Settles, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment, Fixture, Part
from ifclint.plumbing.drainage.loads import CLOSET, INTO_THE_SINK, fixture_units, loads
from ifclint.plumbing.drainage.through_air import ends_in_drain
from ifclint.plumbing.facts import fact
from ifclint.rules.drainage.capacity import is_trap_arm

SIZE = Fact("the size of the {} that takes {} is not known.", fact("size_in").remedy)


def _has_own_trap(fixture: Fixture) -> bool:
    trap = fixture.trap
    if trap is None:
        return False  # that it has none is said elsewhere
    shared = fixture.kind in INTO_THE_SINK and len(trap.fixtures) > 1
    return fixture.connected and not shared and not trap.integral


@rule(
    title="Trap not smaller than the fixture needs",
    clauses={
        "upc": "1003.3 and Table 702.1",
        "ipc": "1002.5 and Table 709.1",
        "irc": "P3201.7 and Table P3201.7",
    },
    needs=("known_kind", "trap_size_in"),
    applies=_has_own_trap,
    settles=Settles.TRAP,
)
def fixture_trap_size(fixture: Fixture, context: Context) -> Answer:
    """A trap too small for its fixture drains slowly and clogs.

    The nominal size of the fixture's trap against the smallest the code lists for that kind of
    fixture. Fixtures with an integral trap are excused, as is a dishwasher on a sink's trap.
    """
    units, size = due(fixture_units(fixture, context)), given(fixture.trap_size_in)
    due(units.trap_in)
    if fixture.kind in INTO_THE_SINK and not units.dfu:
        return NOT_APPLICABLE  # a household disposer: its trap is the sink's
    least, trap = units.row.limit("trap_in", "in"), fixture.trap
    needed = trade_size(least.value)
    own = (trap.element.guid,) if trap is not None and trap.element is not None else ()
    return check(
        size,
        at_least=least,
        message=lambda: (
            f"The trap of {fixture.label} is {trade_size(size)}; {_kind(fixture)} needs {needed}."
        ),
        remedy=lambda: Change("size", own, least.value, f"Fit a {needed} trap and trap arm."),
        steps=lambda: (least.step(f"Smallest trap of {_kind(fixture)}"), *map(Step, units.basis)),
        elements=(*own, *fixture.element_ids),
    )


def _kind(fixture: Fixture) -> str:
    return with_article(fixture.kind.replace("-", " "))


@rule(
    title="Fixture drain not smaller than the trap or outlet it takes",
    clauses={
        "upc": "702.1, 1003.3 and Table 702.1",
        "ipc": "704.2, 1002.5 and Table 709.1",
        "irc": "P3201.7 and Table P3201.7",
    },
    needs=("known_kind", "drain_segment", "drain_size_in"),
    applies=lambda f: f.connected and not f.is_indirect,
    settles=Settles.DRAIN,
)
def fixture_drain_size(fixture: Fixture, context: Context) -> Answer:
    """The first pipe a fixture drains into may not be smaller than its trap or outlet.

    The nominal size of that pipe against the size of the trap that is modelled; where none is,
    against the smallest trap the code lists; and for a water closet against its 3 in outlet.
    """
    demands, drain = _drain_demands(fixture, context), given(fixture.drain)
    size = given(fixture.drain_size_in)
    if not demands or ends_in_drain(context, fixture):
        return NOT_APPLICABLE
    why, least = max(demands.items(), key=lambda demand: demand[1].value)
    needed = trade_size(least.value)
    return check(
        size,
        at_least=least,
        message=lambda: (
            f"{fixture.label} drains into a {trade_size(size)} pipe; {why} asks for {needed}."
        ),
        remedy=lambda: Change(
            "size", drain.element_ids, least.value, f"Make the drain of {fixture.label} {needed}."
        ),
        steps=lambda: [limit.step(what) for what, limit in demands.items()],
        elements=(*drain.element_ids, *fixture.element_ids),
    )


def _drain_demands(fixture: Fixture, context: Context) -> dict[str, Limit]:
    """What asks for a size of the fixture's drain -> that size. The outlet of a closet asks for no
    more than any closet's: it may be led into smaller pipe by its flange or bend."""
    demands = {}
    units, fitted = fixture_units(fixture, context), fixture.trap_size_in
    of_closet = fixture.kind == CLOSET and fixture.trap is not None and fixture.trap.integral
    if fitted is not None and not of_closet:
        demands["the trap fitted"] = Limit("trap_in", fitted, "in", clause="", source="")
    elif units is not None and units.trap_in is not None:
        demands[f"the smallest trap of {_kind(fixture)}"] = units.row.limit("trap_in", "in")
    if fixture.kind == CLOSET:
        demands["a water closet"] = context.code.limit("water_closet_drain_in")
    return demands


@rule(
    title="Branch beyond the fixture drain large enough for its kind of fixture",
    clauses={"upc": "Table 702.1 footnote 2", "ipc": "406.2", "irc": ""},
    applies=lambda f: f.drain is not None and f.kind not in INTO_THE_SINK,
)
def fixture_branch_size(fixture: Fixture, context: Context) -> Answer:
    """Some fixtures ask for a larger pipe beyond their trap arm or fixture drain.

    UPC: 2 in beyond the trap arm of sinks and the like. IPC: a 3 in branch or stack beyond the
    fixture drain of a clothes washer. Measured on the first pipe past that arm or drain.
    """
    if ends_in_drain(context, fixture):
        return NOT_APPLICABLE
    occupancy = context.job.building.use
    row = due(context.code.branch_minimum(fixture.kind, occupancy))
    beyond_arm = "trap arm" in row.text("applies_to")
    segment = due(_beyond_arm(fixture, context) if beyond_arm else _beyond_drain(fixture, context))
    part, ids = segment.part.value, segment.element_ids
    size_in = known(segment.size_in, SIZE, part, fixture, elements=ids)
    least, kind = row.limit("minimum_in", "in"), _kind(fixture)
    needed = trade_size(least.value)
    remedy = f"Make {segment.label} {needed}, and all below it no smaller."
    return check(
        size_in,
        at_least=least,
        message=f"Beyond its {'trap arm' if beyond_arm else 'fixture drain'}, {fixture.label} "
        f"drains into {trade_size(size_in)}; {kind} asks for {needed} there.",
        remedy=Change("size", ids, least.value, remedy),
        limit_step=f"{sentence(kind)}: {row.text('applies_to')}",
        elements=(*ids, *fixture.element_ids),
    )


def _beyond_arm(fixture: Fixture, context: Context) -> DrainSegment | None:
    """The first segment past the trap arm."""
    segment = fixture.drain
    while segment is not None and (segment.part is Part.TAILPIECE or is_trap_arm(segment, context)):
        segment = segment.next
    return segment


def _beyond_drain(fixture: Fixture, context: Context) -> DrainSegment | None:
    """The first segment past the pipe that serves this fixture alone."""
    segment, serves = fixture.drain, loads(context).fixtures
    while segment is not None and serves[segment] <= 1 and segment.part is not Part.STACK:
        segment = segment.next
    return segment
