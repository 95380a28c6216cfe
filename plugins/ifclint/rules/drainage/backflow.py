"""Rules about what may come into the sanitary drains, or come back up them: storm water, the sewer
that is full."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, known, not_known, require, violation
from ifclint.engineering.joined import NONE, onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Change, Measure, Severity, Step
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Fixture, Piece
from ifclint.plumbing.drainage.ground_water import lifted_from_elevators, lifted_ground_water
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.plumbing.facts import fact
from ifclint.rules.drainage.into_storm import sewage_stops_at

FROM_THE_SKY = frozenset({"roof-drain"})
LIFTING = frozenset({Role.PUMP, Role.CHAMBER})
CHECKS = frozenset({"check", "backwater"})
NAME_VALVES = "Set the PredefinedType of the valve, or name it in trade words."
SAY_COVER = (
    "Give the height of the cover of the next upstream manhole in the job file "
    "(drainage.upstream_manhole)."
)
FLOOR = Fact(
    "on what floor {} stands is not known, nor whether the sewer can back up into it.",
    "Give the fixture its storey or its place, or the height of the cover of the next upstream "
    "manhole in the job file (drainage.upstream_manhole).",
)
BACKS_UP = Fact(
    "{} stands below the ground; whether the sewer can back up into it is not known.", SAY_COVER
)
THROUGH = Fact(
    "whether {} lies above the upstream manhole, and may not drain through {}, is not known.",
    SAY_COVER,
)
HEIGHT = Fact("height of the floor and rim", "Give the fixture its storey and its shape.")
IS_BACKWATER = Fact(
    "whether a valve that {} drains through is a backwater valve", fact("valve_kind").remedy
)
SET = "Set a backwater valve in the drain that serves only such fixtures, or pump it up."
PAST = "Set {} where only what lies below the manhole drains through it, or lead the rest past it."
MEET = Fact(
    "whether {} and {}, which lead to a combined sewer, meet outside the walls is not known.",
    "Add the walls to the model, or the architect's file to the review.",
)
JOINED = Fact(
    "{} of the storm drainage ends where {} of the sanitary drainage does; whether they are joined "
    "is not stated.",
    "Join what is joined by ports, or draw the two apart.",
)


@rule(
    title="No storm or ground water into the sanitary drains",
    subject=Piece,
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
    A pump that empties a pit of ground water into the drain does the same, whatever system its
    discharge is drawn in; under the IPC that of an elevator's pit ends through the air (301.6, from
    memory).
    """
    if piece.element.system is not System.STORM and piece.element.role in LIFTING:
        yield from _lifted(piece, context)
        return
    for other in _meeting(piece, context):
        if _is_drain_pipe(other) and other.guid not in _outlets(context):
            yield not_known(JOINED, piece.element, other, about=other.guid)
    for other in _joined(piece, context):
        piping = other.role in (Role.PIPE, Role.FITTING)
        into_drain = piping and other.system is System.SANITARY
        if into_drain and _brings_sewage(other, context):
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
    return joined + [e for e in _meeting(piece, context) if e.role is Role.FITTING]


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


@rule(
    title="Fixtures below the upstream manhole kept from the sewer's backflow, and no others",
    subject=Fixture,
    clauses={"upc": "710.1", "ipc": "714.1", "irc": "P3008.1"},
    severity=Severity.HIGH,
    applies=lambda f: f.connected and f.outlet is not None and f.outlet.kind != PUMPED,
)
def backwater_valve(fixture: Fixture, context: Context) -> Answer:
    """A sewer that is stopped in the street rises to the next manhole, and to what lies lower.

    UPC and IPC: the floor of a fixture, IRC: its flood-level rim, against the cover of the next
    upstream manhole of the sewer (job file, drainage.upstream_manhole). What lies lower drains
    through a backwater valve or by a pump, what lies higher does not drain through one. Where the
    job file does not tell the manhole, fixtures on floors below the ground, and those whose floor
    is not known, are asked about. The
    drain is drawn from the fixture to the sewer, so that a valve that is not in it is missing.
    """
    cover, height = context.job.drainage.upstream_manhole, _height_m(fixture, context)
    valve = _backwater_valve(fixture, context)
    if cover is None:
        return _without_manhole(fixture, _below_ground(fixture, context), valve)
    height = known(height, HEIGHT)
    return _against_the_manhole(fixture, context, valve, height, cover)


def _without_manhole(fixture: Fixture, below: bool | None, valve: Element | None) -> Answer:
    """Where no manhole is told, what stands on a side of the ground that asks for the other."""
    if valve is not None:
        return NOT_APPLICABLE if below else not_known(THROUGH, fixture, valve)
    if below is False:
        return NOT_APPLICABLE
    return not_known(FLOOR if below is None else BACKS_UP, fixture)


def _against_the_manhole(
    fixture: Fixture, context: Context, valve: Element | None, height: float, cover: float
) -> Answer:
    """The height of a fixture against the cover of the next manhole upstream."""
    is_above = _is_above(height, cover)
    steps = (
        Step(
            "Flood-level rim" if _by_rim(context) else "Floor of the fixture", _feet(height), "ft"
        ),
        Step("Cover of the upstream manhole", _feet(cover), "ft", "job file, upstream_manhole"),
    )
    if is_above and valve is not None:
        return violation(
            message=f"{fixture.label} lies above the upstream manhole and drains through "
            f"{valve.label}, which then holds back its waste when it shuts.",
            remedy=Change("work", (valve.guid,), "moved", PAST.format(valve.label)),
            steps=steps,
            elements=(valve.guid, fixture.element.guid),
        )
    if is_above or valve is not None:
        return PASS
    if unnamed := [v.guid for v in _valves(fixture, context) if not v.kind]:
        return not_known(IS_BACKWATER, fixture, elements=unnamed)
    return violation(
        message=f"{fixture.label} lies {feet_text(_feet(cover - height))} below the cover of the "
        "upstream manhole, and no backwater valve keeps the sewer from it.",
        remedy=Change("part", _of_low_alone(fixture, context), "backwater valve", SET),
        steps=steps,
        measured=Measure(_feet(height), "ft"),
        required=Measure(_feet(cover), "ft", "at least"),
    )


def _of_low_alone(fixture: Fixture, context: Context) -> tuple[str]:
    """The last of the drain that no fixture above the manhole drains through: one valve there keeps
    the sewer from all that stand as low."""
    drainage, last = context.plumbing.drainage, fixture.element
    for index in onward(drainage.down[fixture.index], drainage.down):
        if _takes_high(context)[index]:
            break
        if drainage.elements[index].role is Role.PIPE:
            last = drainage.elements[index]
    return (last.guid,)


@derived
def _takes_high(context: Context) -> list[bool]:
    """Whether what lies above the upstream manhole drains through each element."""
    cover, fixtures = context.job.drainage.upstream_manhole, context.plumbing.fixtures
    heights = ((f.index, _height_m(f, context)) for f in fixtures if f.connected)
    return context.plumbing.drainage.passed_by(
        i for i, height in heights if height is None or cover is None or _is_above(height, cover)
    )


def _is_above(height: float, cover: float) -> bool:
    return at_least(height, cover, "m")


def _by_rim(context: Context) -> bool:
    return context.code.is_edition_of("irc")


def _height_m(fixture: Fixture, context: Context) -> float | None:
    """The height that counts: of the rim, at its lowest, under the IRC, else of the floor."""
    if not _by_rim(context):
        return _floor_m(fixture, context)
    rim = context.plumbing.venting.rim_m(fixture)
    return None if rim is None else rim[0]


def _floor_m(fixture: Fixture, context: Context) -> float | None:
    floor = context.plumbing.surroundings.floors.of(fixture.element)
    return None if floor is None else floor.level_m


def _below_ground(fixture: Fixture, context: Context) -> bool | None:
    """Whether its floor may lie below the ground; None where its floor is not known."""
    floors = context.plumbing.surroundings.floors
    floor, ground = floors.of(fixture.element), floors.ground(context.job.building.grade_elevation)
    if floor is None:
        return None
    if ground is None or not ground.is_told:
        return floor.may_be_cellar
    return ground.is_below(floor.level_m) is not False


def _backwater_valve(fixture: Fixture, context: Context) -> Element | None:
    """The first valve its waste passes that shuts against the sewer."""
    return next((v for v in _valves(fixture, context) if v.kind in CHECKS), None)


def _valves(fixture: Fixture, context: Context) -> Iterator[Element]:
    """The valves its waste passes."""
    elements, following = context.plumbing.network.elements, _valve_from(context)
    index = following[fixture.index]
    while index != NONE:
        yield elements[index]
        below = context.plumbing.drainage.down[index]
        index = following[below] if below != NONE else NONE


@derived
def _valve_from(context: Context) -> list[int]:
    """For every element the valve that it is, or the next below it; NONE for none."""
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    found = [NONE] * len(elements)
    for index in drainage.order:  # downstream first
        below = drainage.down[index]
        if elements[index].role is Role.VALVE:
            found[index] = index
        elif below != NONE:
            found[index] = found[below]
    return found


def _feet(metres: float) -> float:
    return metres / M_PER_FT


RULES = (storm_into_sanitary, backwater_valve)
