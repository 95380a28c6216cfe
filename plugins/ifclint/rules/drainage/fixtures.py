"""Rules about a fixture: its path to the sewer, its trap, its drain."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import (
    NOT_APPLICABLE,
    Fact,
    check,
    due,
    given,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.joined import NONE
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text, sentence, shortened, trade_size, with_article
from ifclint.findings import Answer, Change, PartKind, Settles, Severity, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import DRAINS
from ifclint.plumbing import DrainSegment, Fixture, Outlet, Part, Service
from ifclint.plumbing.drainage.loads import CLOSET, INTO_THE_SINK, fixture_units, loads
from ifclint.plumbing.drainage.pumped import PUMPED, discharges_of
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.drainage.through_air import ends_in_drain
from ifclint.plumbing.facts import JOIN_ENDS, fact
from ifclint.rules.drainage.by_vacuum import drains_by_vacuum
from ifclint.rules.drainage.capacity import is_trap_arm
from ifclint.rules.drainage.into_storm import ends_in_storm

STRANGE = Fact(
    'The drain of {} leads at {} to "{}", which is not understood.',
    "Give {2} its IFC class, name it in trade words, or tell its words in the job file "
    "([[reading.vocabulary.element]]).",
)
OUTLET = Fact(
    "No outlet is modelled; the drain of {} was followed to {}, {}.",
    "Model the connection to the sewer or septic tank, or name the outlet in the job file "
    "(drainage.outlets).",
)
NO_DRAIN = Fact("No drain is joined to {}.", fact("drain_segment").remedy)
DRAIN_NEAR = Fact("No drain is joined to {}: {} ends {} from it.", JOIN_ENDS)
SIZE = Fact("the size of the {} that takes {} is not known.", fact("size_in").remedy)
TWO_TRAPS = Fact(
    "A second outlet of {} drains through {}, which is not followed.",
    "Draw a fixture that has two traps as two fixtures, or lead both outlets into one trap.",
)


def _is_emptied(outlet: Outlet, context: Context) -> bool:
    """Whether a pipe leads on from a sump or pump: more is joined than drains into it or vents."""
    piping = context.plumbing.venting.piping
    if discharges_of(piping, outlet.element):
        return True
    into = piping.wet_above[outlet.element]
    joined = context.plumbing.network.neighbours(outlet.element)
    return any(i not in into and piping.service[i] is not Service.VENT for i in joined)


DISCHARGE = PartKind(
    "discharge pipes of sumps and ejectors",
    drawn=lambda context: any(
        _is_emptied(f.outlet, context)
        for f in context.plumbing.fixtures
        if f.outlet is not None and f.outlet.kind == PUMPED
    ),
    remedy="Model the discharge pipe from the sump or ejector to the drain it pumps into.",
)


@rule(
    title="Every fixture drains to the outlet of the building",
    subject=Fixture,
    clauses={"upc": "304.1", "ipc": "301.3", "irc": "P2602.1"},
    severity=Severity.HIGH,
    settles=Settles.DRAIN,
    follows=(System.SANITARY,),
)
def fixture_reaches_outlet(fixture: Fixture, context: Context) -> Iterator[Answer]:
    """A fixture's waste must reach the sewer by gravity, or by a pump that is shown.

    Followed downstream, element by element, from the fixture to a sewer connection, septic tank,
    chamber or open end below the lowest floor, and indirect waste to the receptor it ends over. A
    drain that stops on the way spills sewage into the building, and one that is led into the storm
    drainage spills it into the next creek. A fixture with no drain in the model is unverified, not
    wrong: whether it drains elsewhere than is drawn cannot be told; one that a vacuum line drains
    needs none. Of a fixture of two outlets one is followed: a second that has a trap of its own is
    unverified.
    """
    yield _reaches(fixture, context)
    if (beyond := _second_trap(fixture, context)) is not None:
        ids = (beyond.guid, *fixture.element_ids)
        yield not_known(TWO_TRAPS, fixture, beyond, elements=ids, about=beyond.guid)


def _second_trap(fixture: Fixture, context: Context) -> Element | None:
    """The trap, else the pipe, that takes a further outlet of a fixture past the trap followed
    and ends over no receptor."""
    network, drainage = context.plumbing.network, context.plumbing.drainage
    followed = {fixture.index, *fixture.path}
    for joint in (network.joints[n] for n in _joints_not_followed(context).get(fixture.index, ())):
        other = joint.b if joint.a == fixture.index else joint.a
        number = drainage.outlet[other]
        if number != NONE and drainage.outlets[number].kind == RECEPTOR:
            continue
        for index in reversed(drainage.path(other)):
            element = network.elements[index]
            if element.role is Role.TRAP or index in followed:
                break
        if index not in followed:
            return element
    return None


@derived
def _joints_not_followed(context: Context) -> dict[int, list[int]]:
    """The joints of the drainage through which no water was led, by each of their elements."""
    found: dict[int, list[int]] = {}
    for number in context.plumbing.drainage.cross_joints:
        joint = context.plumbing.network.joints[number]
        for end in (joint.a, joint.b):
            found.setdefault(end, []).append(number)
    return found


def _reaches(fixture: Fixture, context: Context) -> Answer:
    """Where the drain that is followed ends."""
    outlet = fixture.outlet
    if outlet is None:
        return _not_joined(fixture, context)
    last = context.plumbing.network.elements[outlet.element]
    elements = (last.guid, *fixture.element_ids)
    if outlet.kind == PUMPED and not _is_emptied(outlet, context):
        message = f"{fixture.label} drains into {last.label}, whose discharge is not modelled."
        return missing(DISCHARGE, message=message, elements=elements)
    if ends_in_storm(outlet, context):
        return violation(
            message=f"{fixture.label} drains into the storm drainage at {last.label}.",
            remedy=Change(
                "work",
                (last.guid,),
                "led to the sanitary drainage",
                f"Lead what drains into {last.label} to the sanitary drainage.",
            ),
            elements=elements,
        )
    strange = context.plumbing.network.model.leads_elsewhere.get(last.guid)
    if strange is not None and (outlet.kind == "open end" or not outlet.accepted):
        return not_known(STRANGE, fixture, last, strange or "something", elements=elements)
    if not outlet.certain:
        return not_known(OUTLET, fixture, last, outlet.basis, elements=elements)
    message = (
        f"The drain of {fixture.label} ends at {last.label}{_height(outlet)} and reaches no outlet."
    )
    if not outlet.accepted and not DRAINS.is_drawn(context):
        return missing(DRAINS, message=message, elements=elements)
    return require(
        outlet.accepted,
        message=message,
        remedy=Change(
            "work",
            (last.guid,),
            "joined",
            f"Join {last.label} to the drain it was meant for, with fall toward it.",
        ),
        steps=lambda: _passed(fixture, context),
        elements=elements,
    )


def _not_joined(fixture: Fixture, context: Context) -> Answer:
    """No sanitary drain is joined to a fixture: storm drainage is wrong, nothing is a question."""
    astray = _storm_pipe(fixture, context)
    if drains_by_vacuum(fixture, context):
        return NOT_APPLICABLE
    if astray is None:
        return _near_drain(fixture, context) or not_known(NO_DRAIN, fixture)
    return require(
        False,
        message=f"{fixture.label} drains into storm drainage, {astray.label}.",
        remedy="Lead the fixture to the sanitary drainage.",
        elements=(astray.guid, *fixture.element_ids),
    )


def _near_drain(fixture: Fixture, context: Context) -> Answer | None:
    """The question where a drain ends at a small gap before a fixture."""
    network = context.plumbing.network
    for near in network.near_at(fixture.index):
        pipe = network.elements[near.b[0]]
        if pipe.system is System.SANITARY:
            ids = (*fixture.element_ids, pipe.guid)
            return not_known(DRAIN_NEAR, fixture, pipe, near.apart, elements=ids)
    return None


def _storm_pipe(fixture: Fixture, context: Context) -> Element | None:
    """A storm drain joined to the fixture."""
    network = context.plumbing.network
    neighbours = (network.elements[i] for i in network.neighbours(fixture.index))
    return next((e for e in neighbours if e.system is System.STORM), None)


def _height(outlet: Outlet) -> str:
    if outlet.position is None:
        return ""
    return f" at a height of {feet_text(outlet.position[2] / M_PER_FT)}"


def _passed(fixture: Fixture, context: Context) -> list[Step]:
    """The elements passed, in order, shortened in the middle."""
    drainage = context.plumbing.drainage
    passed = [drainage.elements[i].label for i in reversed(drainage.path(fixture.index))]
    return [Step(name) for name in shortened(passed, str)]


def _has_own_trap(fixture: Fixture) -> bool:
    trap = fixture.trap
    if trap is None:
        return False  # that it has none is said elsewhere
    shared = fixture.kind in INTO_THE_SINK and len(trap.fixtures) > 1
    return fixture.connected and not shared and not trap.integral


@rule(
    title="Trap not smaller than the fixture needs",
    subject=Fixture,
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
    needed, kind = trade_size(least.value), _kind(fixture)
    own = (trap.element.guid,) if trap is not None and trap.element is not None else ()
    return check(
        size,
        at_least=least,
        message=f"The trap of {fixture.label} is {trade_size(size)}; {kind} needs {needed}.",
        remedy=Change("size", own, least.value, f"Fit a {needed} trap and trap arm."),
        steps=(least.step(f"Smallest trap of {kind}"), *map(Step, units.basis)),
        elements=(*own, *fixture.element_ids),
    )


def _kind(fixture: Fixture) -> str:
    return with_article(fixture.kind.replace("-", " "))


@rule(
    title="Fixture drain not smaller than the trap or outlet it takes",
    subject=Fixture,
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
    text = f"Make the drain of {fixture.label} {needed}."
    return check(
        size,
        at_least=least,
        message=f"{fixture.label} drains into a {trade_size(size)} pipe; {why} asks for {needed}.",
        remedy=Change("size", drain.element_ids, least.value, text),
        steps=[limit.step(what) for what, limit in demands.items()],
        elements=(*drain.element_ids, *fixture.element_ids),
    )


def _drain_demands(fixture: Fixture, context: Context) -> dict[str, Limit]:
    """What asks for a size of the fixture's drain -> that size."""
    demands = {}
    units, fitted = fixture_units(fixture, context), fixture.trap_size_in
    if fitted is not None:
        demands["the trap fitted"] = Limit("trap_in", fitted, "in", clause="", source="")
    elif units is not None and units.trap_in is not None:
        demands[f"the smallest trap of {_kind(fixture)}"] = units.row.limit("trap_in", "in")
    if fixture.kind == CLOSET:
        demands["a water closet"] = context.code.limit("water_closet_drain_in")
    return demands


@rule(
    title="Branch beyond the fixture drain large enough for its kind of fixture",
    subject=Fixture,
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


RULES = (fixture_reaches_outlet, fixture_trap_size, fixture_drain_size, fixture_branch_size)
