"""Rules about a fixture: its way to the sewer, its trap, its drain."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, unverified, violation
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.ifc.elements import Element, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import DrainSegment, Fixture, Part, Service
from ifclint.plumbing.drainage.loads import CLOSET, INTO_THE_SINK, fixture_units, loads
from ifclint.rules.drainage.capacity import is_trap_arm


@rule(
    title="Every fixture drains to the outlet of the building",
    subject=Fixture,
    clauses={"upc": "304.1", "ipc": "301.3"},
    severity=Severity.HIGH,
)
def fixture_reaches_outlet(fixture: Fixture, context: Context) -> Answer:
    """A fixture's waste must reach the sewer by gravity, or by a pump that is shown.

    Followed downstream, element by element, from the fixture to a sewer connection, septic tank,
    chamber or open end below the lowest floor. A drain that stops on the way spills sewage into
    the building. A fixture with no drain in the model is unverified, not wrong.
    """
    outlet = fixture.outlet
    if not fixture.connected or outlet is None:
        astray = _storm_pipe(fixture, context)
        if astray is not None:
            return violation(
                message=f"{fixture.label} drains into storm drainage, {astray.label}.",
                remedy="Lead the fixture to the sanitary drainage.",
                elements=(astray.guid, *fixture.element_ids),
            )
        return unverified(
            f"No drain is joined to {fixture.label}.",
            (
                "Model the fixture's drain and join it to the fixture's outlet (ports, or "
                "ends that meet)."
            ),
        )
    last = context.plumbing.network.elements[outlet.element]
    if outlet.kind == "pumped" and not _is_emptied(outlet.element, context):
        return unverified(
            f"{fixture.label} drains into {last.label}, whose discharge is not modelled.",
            "Model the discharge pipe from the sump or ejector to the drain it pumps into.",
            (last.guid, *fixture.element_ids),
        )
    if outlet.accepted and not outlet.certain:
        return unverified(
            (
                f"No outlet is modelled; the drain of {fixture.label} was followed to "
                f"{last.label}, "
                f"{outlet.basis}."
            ),
            (
                "Model the connection to the sewer or septic tank, or name the outlet in the "
                "job file (drainage.outlets)."
            ),
            (last.guid, *fixture.element_ids),
        )
    if outlet.accepted:
        return PASS
    height = "" if outlet.position is None else feet_text(outlet.position[2] / M_PER_FT)
    where = f" at a height of {height}" if height else ""
    return violation(
        message=f"The drain of {fixture.label} ends at {last.label}{where} and reaches no outlet.",
        remedy=f"Join {last.label} to the drain it was meant for, with fall toward it.",
        steps=tuple(_path(fixture, context)),
        elements=(last.guid, *fixture.element_ids),
    )


def _storm_pipe(fixture: Fixture, context: Context) -> Element | None:
    """A storm drain joined to the fixture."""
    network = context.plumbing.network
    neighbours = (network.elements[i] for i in network.neighbours(fixture.index))
    return next((e for e in neighbours if e.system is System.STORM), None)


def _is_emptied(sump: int, context: Context) -> bool:
    """Whether more is joined to a sump or pump than what drains into it."""
    drainage, joined = context.plumbing.drainage, context.plumbing.network.neighbours(sump)
    into = [i for i in joined if drainage.down[i] == sump and i not in _dry(context)]
    return len(joined) > len(into)


@derived
def _dry(context: Context) -> frozenset[int]:
    """The pipes through which no fixture drains."""
    segments = context.plumbing.segments
    return frozenset(
        i for segment in segments if segment.service is not Service.DRAIN for i in segment.indexes
    )


def _path(fixture: Fixture, context: Context) -> list[Step]:
    """The elements passed, in order, shortened in the middle."""
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    index, passed = fixture.index, []
    while index >= 0:
        passed.append(elements[index].label)
        index = drainage.down[index]
    if len(passed) > 8:
        passed = [*passed[:4], f"… {len(passed) - 8} more …", *passed[-4:]]
    return [Step(name) for name in passed]


def _has_own_trap(fixture: Fixture) -> bool:
    into_sink = fixture.kind in INTO_THE_SINK and fixture.trap is not None
    shared = into_sink and fixture.trap is not None and len(fixture.trap.fixtures) > 1
    integral = fixture.trap is not None and fixture.trap.integral
    return fixture.connected and not shared and not integral


@rule(
    title="Trap not smaller than the fixture needs",
    subject=Fixture,
    clauses={"upc": "1003.3 and Table 702.1", "ipc": "1002.5 and Table 709.1"},
    needs=("known_kind", "trap_size_in"),
    applies=_has_own_trap,
)
def fixture_trap_size(fixture: Fixture, context: Context) -> Answer:
    """A trap too small for its fixture drains slowly and clogs.

    The nominal size of the fixture's trap against the smallest the code lists for that kind of
    fixture. Fixtures with an integral trap are excused, as is a dishwasher on a sink's trap.
    """
    units = fixture_units(fixture, context)
    size = fixture.trap_size_in
    if units is None or units.trap_in is None or size is None:
        return NOT_APPLICABLE
    if fixture.kind in INTO_THE_SINK and not units.dfu:
        return NOT_APPLICABLE  # a household disposer: its trap is the sink's
    if size >= units.trap_in:
        return PASS
    trap = fixture.trap.element if fixture.trap else None
    return violation(
        message=(
            f"The trap of {fixture.label} is {trade_size(size)}; a {words(fixture)} needs "
            f"{trade_size(units.trap_in)}."
        ),
        remedy=f"Fit a {trade_size(units.trap_in)} trap and trap arm.",
        measured=Measure(size, "in"),
        required=Measure(units.trap_in, "in", "at least"),
        steps=(
            Step(f"Smallest trap of a {words(fixture)}", units.trap_in, "in", units.row.clause),
            *(Step(said) for said in units.basis),
        ),
        elements=(trap.guid, *fixture.element_ids) if trap else (),
        clause=units.row.clause,
    )


def words(fixture: Fixture) -> str:
    return fixture.kind.replace("-", " ")


@rule(
    title="Fixture drain not smaller than the trap or outlet it takes",
    subject=Fixture,
    clauses={"upc": "702.1, 1003.3 and Table 702.1", "ipc": "704.2, 1002.5 and Table 709.1"},
    needs=("known_kind", "drain_segment", "drain_size_in"),
    applies=lambda f: f.connected,
)
def fixture_drain_size(fixture: Fixture, context: Context) -> Answer:
    """The first pipe a fixture drains into may not be smaller than its trap or outlet.

    The nominal size of that pipe against the size of the trap that is modelled; where none is,
    against the smallest trap the code lists; and for a water closet against its 3 in outlet.
    """
    units = fixture_units(fixture, context)
    size = fixture.drain_size_in
    assert size is not None
    demands = list(_drain_demands(fixture, context, units.trap_in if units else None))
    if not demands:
        return NOT_APPLICABLE
    least, why, clause = max(demands, key=lambda d: d[0])
    if size >= least:
        return PASS
    drain = fixture.drain
    return violation(
        message=(
            f"{fixture.label} drains into a {trade_size(size)} pipe; {why} asks for "
            f"{trade_size(least)}."
        ),
        remedy=f"Make the drain of {fixture.label} {trade_size(least)}.",
        measured=Measure(size, "in"),
        required=Measure(least, "in", "at least"),
        steps=tuple(Step(what, value, "in", source) for value, what, source in demands),
        elements=(*(drain.element_ids if drain else ()), *fixture.element_ids),
        clause=clause,
    )


def _drain_demands(
    fixture: Fixture, context: Context, listed_trap: float | None
) -> list[tuple[float, str, str]]:
    """(size, what asks for it, clause)."""
    code = context.code
    demands = []
    if listed_trap is not None and fixture.trap_size_in is None:
        table = code.table("drainage_fixture_units")
        demands.append((listed_trap, f"the smallest trap of a {words(fixture)}", table.clause))
    if fixture.trap_size_in is not None:
        demands.append((fixture.trap_size_in, "the trap fitted", ""))
    if fixture.kind == CLOSET:
        limit = code.limit("water_closet_drain_in")
        demands.append((limit.value, "a water closet", limit.clause))
    return demands


@rule(
    title="Branch beyond the fixture drain large enough for its kind of fixture",
    subject=Fixture,
    clauses={"upc": "Table 702.1 footnote 2", "ipc": "406.2"},
    applies=lambda f: f.drain is not None and f.kind not in INTO_THE_SINK,
)
def fixture_branch_size(fixture: Fixture, context: Context) -> Answer:
    """Some fixtures ask for a larger pipe beyond their trap arm or fixture drain.

    UPC: 2 in beyond the trap arm of sinks and the like. IPC: a 3 in branch or stack beyond the
    fixture drain of a clothes washer. Measured on the first pipe past that arm or drain.
    """
    row = context.code.branch_minimum(fixture.kind, context.job.building.occupancy or "private")
    if row is None:
        return NOT_APPLICABLE
    segment = _beyond(fixture, context, row.text("applies_to"))
    least = row.number("minimum_in")
    if segment is None:
        return NOT_APPLICABLE
    if segment.size_in is None:
        return unverified(
            f"The size of the {segment.part.value} that takes {fixture.label} is not known.",
            (
                "Give the pipe a nominal diameter "
                "(Pset_PipeSegmentTypeCommon.NominalDiameter, on the pipe or its type)."
            ),
            segment.element_ids,
        )
    if segment.size_in >= least:
        return PASS
    return violation(
        message=(
            f"Beyond its {_named(row.text('applies_to'))}, {fixture.label} drains into "
            f"{trade_size(segment.size_in)}; a {words(fixture)} asks for {trade_size(least)} there."
        ),
        remedy=f"Make {segment.label} {trade_size(least)}, and all below it no smaller.",
        measured=Measure(segment.size_in, "in"),
        required=Measure(least, "in", "at least"),
        steps=(Step(f"A {words(fixture)}: {row.text('applies_to')}", least, "in", row.clause),),
        elements=(*segment.element_ids, *fixture.element_ids),
        clause=row.clause,
    )


def _named(applies_to: str) -> str:
    return "trap arm" if "trap arm" in applies_to else "fixture drain"


def _beyond(fixture: Fixture, context: Context, applies_to: str) -> DrainSegment | None:
    """The first run past the trap arm, or past the pipe that serves this fixture alone."""
    segment = fixture.drain
    alone = loads(context).fixtures
    if "trap arm" in applies_to:
        while segment is not None and (
            segment.part is Part.TAILPIECE or is_trap_arm(segment, context)
        ):
            segment = segment.next
        return segment
    while segment is not None and alone[segment] <= 1 and segment.part.value != "stack":
        segment = segment.next
    return segment


RULES = (fixture_reaches_outlet, fixture_trap_size, fixture_drain_size, fixture_branch_size)
