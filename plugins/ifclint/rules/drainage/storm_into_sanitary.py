"""Rule about rain led into the sanitary drainage."""

from collections.abc import Iterator

from ifclint.checks import Fact, not_known, require, violation
from ifclint.engineering.joined import NONE
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.drainage.pumped import (
    ejectors,
    is_of_ground,
    lifted_from_elevators,
    lifted_ground_water,
)
from ifclint.plumbing.words import says
from ifclint.rules.drainage.into_storm import sewage_stops_at

FROM_THE_SKY = frozenset({"roof-drain"})
FLOOR_DRAIN = "floor-drain"
RAINED_ON = (  # what a drain is called that stands in the open for sure
    "yard drain", "patio drain", "driveway drain", "driveway trench drain", "window well drain",
    "areaway drain", "courtyard drain", "landscape drain", "exterior", "outdoor", "outdoors",
    "hofablauf", "hofeinlauf", "avaloir de cour", "sumidero de patio",
)  # fmt: skip
PERHAPS = ("area drain", "catch basin", "balcony", "deck drain", "parking lot", "loading dock")
LIFTING = frozenset({Role.PUMP, Role.CHAMBER})
MEET = Fact(
    "whether {} and {}, which lead to a combined sewer, meet outside the walls is not known.",
    "Add the walls to the model, or the architect's file to the review.",
)
OPEN_AIR = Fact(
    "whether {}, which drains into the sanitary drainage, stands in the open is not known.",
    "Name it as the floor drain that it is, or lead it to the storm drainage.",
)
JOINED = Fact(
    "{} of the storm drainage ends where {} of the sanitary drainage does; whether they are joined "
    "is not stated.",
    "Join what is joined by ports, or draw the two apart.",
)


@rule(
    title="No storm or ground water into the sanitary drains",
    clauses={
        "upc": "1101.3",
        "ipc": "1101.3",
        "irc": "sewer ordinance: the IRC has no clause of its own for it",
    },
    severity=Severity.HIGH,
    applies=lambda piece: (
        piece.element.system is System.STORM
        or piece.element.kind in FROM_THE_SKY
        or piece.element.role in LIFTING
        or (piece.element.kind == FLOOR_DRAIN and says(piece.element, (*RAINED_ON, *PERHAPS)))
        or (_is_drain_pipe(piece.element) and is_of_ground(piece.element))
    ),
)
def storm_into_sanitary(piece: Piece, context: Context) -> Iterator[Answer]:
    """A cloudburst in the sanitary drain floods the lowest fixtures and the treatment works.

    Every roof drain, and every pipe, sump or pump of the storm drainage, against the sanitary pipe
    and fittings joined to it, and the free inlet of such a fitting at which it ends; what takes the
    water of a roof, against the vents too. Where it ends at the inlet of a pipe, that is asked.
    Where both first meet in a manhole or at the sewer the public sewer may be a combined one, and
    nothing is said; nor where the job file says so (storm.combined_sewer) and they meet outside the
    walls. Sanitary drains that stop at storm pipe lead their sewage into it: the fixtures are told.
    A floor drain that is called after a yard, a patio or the like takes rain too.
    A sump that fixtures drain into is sanitary drainage, and a pipe that is called after the ground
    water it takes brings that into the drains whatever its system.
    A pump that empties a pit of ground water into the drain does the same, whatever system its
    discharge is drawn in; under the IPC that of an elevator's pit ends through the air (301.6, from
    memory).
    """
    if piece.element.kind == FLOOR_DRAIN and piece.element.system is not System.STORM:
        yield from _in_the_open(piece, context)
        return
    if piece.element.system is not System.STORM and piece.element.role in LIFTING:
        yield from _lifted(piece, context)
        return
    if _is_drain_pipe(piece.element):
        yield from _of_the_ground(piece, context)
        return
    for other in _meeting(piece, context):
        if _is_drain_pipe(other) and other.guid not in _outlets(context):
            yield not_known(JOINED, piece.element, other, about=other.guid)
    for other in _joined(piece, context):
        piping = other.role in (Role.PIPE, Role.FITTING)
        into_sump = other.system is not System.STORM and other.guid in ejectors(context)
        into_drain = into_sump or (piping and other.system is System.SANITARY)
        if into_drain and not into_sump and _brings_sewage(other, context):
            continue
        if into_drain and context.job.of_pack("storm", "combined_sewer") is True:
            yield _into_combined(piece, other, context)
            continue
        into_vent = piping and other.system is System.VENT and _takes_rain(piece, other, context)
        of = "vents, and by them into the drains" if into_vent else "sanitary drainage"
        yield require(
            not into_drain and not into_vent,
            message=f"{piece.element.label} leads storm or ground water into {other.label} of the "
            f"{of}.",
            remedy="Lead this water to the storm drainage, or outdoors to where the authority "
            "allows.",
            elements=(piece.element.guid, other.guid),
            about=other.guid,
        )


def _in_the_open(piece: Piece, context: Context) -> Iterator[Answer]:
    """A drain called after a place in the open; a question where a roof is drawn over it."""
    drain, around = piece.element, context.plumbing.surroundings
    by_element = {f.element.guid: f for f in context.plumbing.fixtures if f.connected}
    fixture, at = by_element.get(drain.guid), next(iter(_places(drain)), None)
    indoors = at is not None and around.is_outdoors(at) is False
    combined = context.job.of_pack("storm", "combined_sewer") is True
    is_sure = says(drain, RAINED_ON)
    if fixture is None or fixture.is_indirect or combined or (indoors and not is_sure):
        return
    if indoors or not is_sure:
        yield not_known(OPEN_AIR, drain)
        return
    yield violation(
        message=f"{drain.label} leads rain into the sanitary drainage.",
        remedy="Lead this water to the storm drainage, or outdoors to where the authority allows.",
        elements=(drain.guid, *fixture.element_ids[1:2]),
    )


def _lifted(piece: Piece, context: Context) -> Iterator[Answer]:
    """Ground water, or that of an elevator's pit, pumped into the drain."""
    at = context.plumbing.network.index_of(piece.element)
    entry, elements = lifted_ground_water(context).get(at), context.plumbing.network.elements
    if entry is not None and context.job.of_pack("storm", "combined_sewer") is True:
        yield _into_combined(piece, elements[entry], context)
    elif entry is not None:
        yield violation(
            message=f"{piece.element.label} pumps ground water into {elements[entry].label} of the "
            "sanitary drainage.",
            remedy="Lead its discharge to the storm drainage, or outdoors to where the authority "
            "allows.",
            elements=(piece.element.guid, elements[entry].guid),
        )
    elif (into := lifted_from_elevators(context).get(at)) is not None:
        yield violation(
            message=f"{piece.element.label} pumps the water of an elevator's pit straight into "
            f"{elements[into].label}.",
            remedy="End its discharge through the air over a receptor with a trap and a vent.",
            elements=(piece.element.guid, elements[into].guid),
            clause="301.6",
        )


def _of_the_ground(piece: Piece, context: Context) -> Iterator[Answer]:
    """The last pipe of ground water before what fixtures drain through."""
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    at = context.plumbing.network.index_of(piece.element)
    below = drainage.down[at]
    if below == NONE or _takes_fixtures(context)[at] or not _takes_fixtures(context)[below]:
        return
    if context.job.of_pack("storm", "combined_sewer") is True:
        yield _into_combined(piece, elements[below], context)
        return
    yield violation(
        message=f"{piece.element.label} leads ground water into {elements[below].label} of the "
        "sanitary drainage.",
        remedy="Lead this water to the storm drainage, or outdoors to where the authority allows.",
        elements=(piece.element.guid, elements[below].guid),
    )


@derived
def _takes_fixtures(context: Context) -> list[bool]:
    """Of each element, whether any fixture drains through it."""
    return context.plumbing.drainage.passed_by(f.index for f in context.plumbing.fixtures)


def _places(element: Element) -> list[Point]:
    found = [end.position for end in element.ends] or [element.position]
    return [p for p in found if p is not None]


def _brings_sewage(drain: Element, context: Context) -> bool:
    return sewage_stops_at(context.plumbing.network.of_guid[drain.guid][-1], context)


def _into_combined(piece: Piece, drain: Element, context: Context) -> Answer:
    """Storm drainage joins the sanitary on the way to a combined sewer, outside the walls."""
    footprint, ids = context.plumbing.surroundings.footprint, (piece.element.guid, drain.guid)
    own = _places(piece.element)
    where = [p for p in _places(drain) if p in own] or _places(drain)
    if footprint is None or not where:
        return not_known(MEET, piece.element, drain, elements=ids, about=drain.guid)
    return require(
        not any(footprint.holds(p) for p in where),
        message=f"{piece.element.label} leads storm water into {drain.label} of the sanitary "
        "drainage within the building.",
        remedy="Join the storm drainage to the combined sewer outside the walls.",
        elements=ids,
        about=drain.guid,
    )


def _takes_rain(piece: Piece, vent: Element, context: Context) -> bool:
    """Whether the water of a roof comes to where a piece meets a vent: pipe of a vent that is in a
    storm system by mistake has vents on both sides."""
    storm, elements = context.plumbing.storm, context.plumbing.network.elements
    if storm is None:
        return False
    return any(
        inlet.is_roof_drain
        or not any(
            elements[i].system is System.VENT and elements[i] is not vent
            for i in context.plumbing.network.neighbours(inlet.index)
        )
        for inlet in storm.above.get(context.plumbing.network.of_guid[piece.element.guid][-1], ())
    )


def _is_drain_pipe(element: Element) -> bool:
    return element.system is System.SANITARY and element.role is Role.PIPE


@derived
def _outlets(context: Context) -> frozenset[str]:
    """Where drainage leaves the model: beyond it both may come to a combined sewer."""
    return frozenset(p.key for p in context.plumbing.pieces if p.is_outlet)


def _joined(piece: Piece, context: Context) -> list[Element]:
    network = context.plumbing.network
    at = network.of_guid[piece.element.guid][-1]
    joined = [network.elements[i] for i in network.neighbours(at)]
    return joined + [e for e in _meeting(piece, context) if e.role in (Role.FITTING, Role.CHAMBER)]


def _meeting(piece: Piece, context: Context) -> list[Element]:
    """What is drawn to meet a piece and was not joined to it, as the systems differ."""
    return _ends_met(context).get(piece.element.guid, [])


@derived
def _ends_met(context: Context) -> dict[str, list[Element]]:
    network, met = context.plumbing.network, dict[str, list[Element]]()
    for a, b in network.meeting_ends:
        one, other = network.elements[a], network.elements[b]
        if one.system is not other.system:
            met.setdefault(one.guid, []).append(other)
            met.setdefault(other.guid, []).append(one)
    return met
