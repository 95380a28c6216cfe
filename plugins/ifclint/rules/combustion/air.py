"""The rule on air for combustion: the volume of the room, or the openings it gets its air by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import pi
from typing import TypeAlias

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Fact,
    PartKind,
    Step,
    check,
    drawn,
    known,
    not_known,
)
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Outcome, Severity
from ifclint.packs import Context, rule
from ifclint.rules.combustion.burners import FiredRoom
from ifclint.rules.combustion.mechanical import from_fan
from ifclint.rules.combustion.room_uses import rooms_named, volume_ft3
from ifclint.rules.combustion.section import AirOfRoom, CombustionSection, Opening

PER = "btu_h_per_in2"
Range: TypeAlias = tuple[float, float]  # what is sure, and what may be
INDOOR = frozenset({"indoors", "other-storey"})
ROOMS = PartKind(
    "rooms",
    drawn=lambda context: bool(context.plumbing.network.model.spaces),
    remedy="Draw the rooms (IfcSpace) in which fuel is burned, or review together with the file "
    "that has them; or state the rooms' volume or openings in the job file ([combustion]).",
)
TELL_OPENINGS = (
    "State the room's openings for combustion air in the job file ([[combustion.rooms]]), or that "
    "the appliance is direct vent."
)
DOUBTFUL_VOLUME = "Whether {} has air enough is not known: other rooms lie within its box."
TELL_VOLUME = "State the room's volume in the job file (combustion.rooms.volume)."
BEGINS = Fact(
    "how near the {} of the room an opening for {} begins",
    "State it in the job file (combustion.rooms.openings.from_{0}).",
)
INPUT = Fact(
    "the input of what burns fuel ({}) is not known.",
    "Give every appliance its input (InputRating), or state it in the job file (gas.loads).",
)
NOT_STATED = Fact(
    "whether {} has air enough is not known: it has with the least inputs listed for what burns "
    "there, and too little with the largest.",
    INPUT.remedy,
)
VOLUME = Fact(
    "whether {} has air enough is not known: other rooms lie within its box.",
    "State the room's volume in the job file (combustion.rooms.volume).",
)
VENT_SIZES = Fact(
    "whether the one opening for {} is as large as all vent connectors",
    "Draw the vent connectors with their sizes.",
)
NO_ROOM = Fact("how much air {} has is not known: no such room is drawn.", ROOMS.remedy)
LED_TO = Fact(
    "{} Its openings lead indoors; into which rooms is not stated.",
    "Name the rooms it shares air with in the job file (combustion.rooms.open_to).",
)
OPENINGS = Fact("{} What openings bring more is not known.", TELL_OPENINGS)


@rule(
    title="Air enough for what burns fuel in a room",
    subject=FiredRoom,
    clauses={"upc": "506.1", "ipc": "IFGC 304.1", "irc": "G2407.1"},
    severity=Severity.HIGH,
)
def combustion_air(room: FiredRoom, context: Context) -> Iterator[Answer]:
    """A flame that starves makes carbon monoxide, and a starved draft hood spills it into the room.

    Input of all heaters, furnaces and ranges of a room against its volume: that of its box, less
    what other rooms take of it, with the rooms that the job file says share its air. The volume
    asked for follows from the input alone or, where the job file tells the infiltration, from that,
    as it must in a tight building; elsewhere the lesser of the two will do. Where there is too
    little, the free area and height of the openings of the job file, two or one from outdoors,
    smaller by the share of the air that the volume gives; or the air that a fan supplies, which
    must be interlocked with the burners. Where it names none of these, that is a question, as no
    model shows them, and so are openings to rooms that it does not name. Excused are direct-vent,
    condensing and power-vented appliances, whose makers say what they take, dryers and fireplaces,
    and rooms whose air the job file says a designer has settled.
    """
    stated = context.job.section(CombustionSection).of(room.name) if room.name else None
    if stated is not None and stated.designed:
        yield NOT_APPLICABLE
        return
    known(room.kbtuh, INPUT)
    volume = _volume_ft3(room, stated, context)
    if volume is None:
        drawn(ROOMS, context, NO_ROOM.words, room)
    volume = known(volume, NO_ROOM, room)
    answers = [*_judged(room, stated, volume, context)]
    if _faults(answers) > _faults([*_judged(room.with_least, stated, volume, context)]):
        yield not_known(NOT_STATED, room, steps=room.inputs)
    else:
        yield from answers


def _judged(
    room: FiredRoom, stated: AirOfRoom | None, volume: Range, context: Context
) -> Iterator[Answer]:
    """By whichever way of the code the room meets: indoors, from outdoors, or by both together."""
    needed, steps = _needed_ft3(room, stated, context)
    low, high = volume
    openings = stated.openings if stated is not None else None
    indoor = [o for o in openings or () if o.to in INDOOR]
    outdoor = [o for o in openings or () if o.to not in INDOOR]
    steps = (*steps, Step("Volume of the room, with those whose air it shares", high, "ft³"))
    ways: list[list[Answer]] = []
    if at_least(low, needed.value, "ft³"):
        ways.append([*_from_indoors(room, indoor, steps, context)] if indoor else [PASS])
    if outdoor:
        ways.append([*_from_outdoors(room, outdoor, steps, context)])
    if outdoor and context.code.limit("combustion_combined").value:
        own = volume_ft3(room.space, context) if room.space is not None else volume
        for indoors, shared in (([], own), (indoor, volume)):
            parts = tuple(1.0 - min(v / needed.value, 1.0) for v in reversed(shared))
            ways.append([*_combined(room, indoors, outdoor, parts, steps, context)])
    if stated is not None and stated.fan is not None:
        ways.append([*from_fan(room, stated, steps, context)])
    if ways:
        yield from min(reversed(ways), key=_faults)
        return
    btu = number_text(or_zero(room.kbtuh) * 1000)
    message = (
        f"{room.label}: {number_text(high)} ft³ of air for {btu} Btu/h; "
        f"{number_text(needed.value)} ft³ are asked for."
    )
    if at_least(high, needed.value, "ft³"):
        yield not_known(VOLUME, room, steps=steps)
    elif openings is None or room.doubtful:
        yield not_known(OPENINGS, message, steps=steps, clause=needed.clause)
    elif indoor and stated is not None and not stated.open_to:
        yield from (a for a in _from_indoors(room, indoor, steps, context) if a is not PASS)
        yield not_known(LED_TO, message, steps=steps, clause=needed.clause)
    else:
        yield check(
            high,
            at_least=needed,
            message=message,
            remedy="Give the room two openings from outdoors, or take direct-vent appliances.",
            steps=steps,
            limit_step="Volume asked for",
        )


def _faults(answers: Sequence[Answer]) -> tuple[int, int]:
    """How many answers are wrong, and how many are not sure."""
    wrong = sum(a.outcome is Outcome.VIOLATION for a in answers)
    return wrong, sum(a.outcome is Outcome.UNVERIFIED for a in answers)


def _combined(
    room: FiredRoom,
    indoor: Sequence[Opening],
    outdoor: Sequence[Opening],
    parts: tuple[float, ...],
    steps: Sequence[Step],
    context: Context,
) -> Iterator[Answer]:
    """Openings from outdoors smaller by what the volume gives of the air; `parts` of their full
    size, least and most, are left for them."""
    if indoor:
        yield from _from_indoors(room, indoor, steps, context)
    source = context.code.limit("combustion_combined").source
    share = "Share of the air that the volume does not give"
    least, most = (
        [*_from_outdoors(room, outdoor, (*steps, Step(share, part, "", source)), context, part)]
        for part in parts
    )
    if _faults(least) == _faults(most):
        yield from least
    else:
        yield not_known(VOLUME, room, steps=steps)


def _volume_ft3(room: FiredRoom, stated: AirOfRoom | None, context: Context) -> Range | None:
    """Of the room with those whose air it shares, between what is sure and what may be."""
    if stated is not None and stated.volume is not None:
        low = high = stated.volume / M_PER_FT**3
    elif room.space is not None:
        low, high = volume_ft3(room.space, context)
    else:
        return None
    for name in stated.open_to if stated is not None else ():
        there = rooms_named(name, room.burners[0].element.storey, context)
        said = context.job.section(CombustionSection).of(name)
        volumes = [volume_ft3(space, context) for space in there]
        if said is not None and said.volume is not None:
            volumes = [(said.volume / M_PER_FT**3,) * 2]
        low += sum(v[0] for v in volumes)
        high += sum(v[1] for v in volumes)
    return low, high


Volume: TypeAlias = tuple[Limit, tuple[Step, ...]]  # that the code asks for, and why


def _needed_ft3(room: FiredRoom, stated: AirOfRoom | None, context: Context) -> Volume:
    """Either method of the code where the infiltration is known; of a tight building, only that."""
    changes = stated.air_changes if stated is not None else None
    if changes is None:
        return _by_input(room, context)
    known_rate = _by_infiltration(room, changes, context)
    if not at_least(changes, context.code.limit("combustion_standard_ach").value):
        return known_rate
    return min(_by_input(room, context), known_rate, key=lambda volume: volume[0].value)


def _by_input(room: FiredRoom, context: Context) -> Volume:
    standard = context.code.limit("combustion_volume_ft3_per_kbtuh")
    step = Step("Standard method", standard.value, standard.unit, standard.source)
    return _as_limit(standard, standard.value * or_zero(room.kbtuh)), (*room.inputs, step)


def _by_infiltration(room: FiredRoom, changes: float, context: Context) -> Volume:
    code = context.code
    natural = code.limit("combustion_ach_natural_ft3")
    fan = code.limit("combustion_ach_fan_ft3")
    most = code.limit("combustion_most_ach")
    counted, said_by = min(changes, most.value), natural
    by_fan = (
        sum(or_zero(b.input.value) for b in room.burners if b.input and b.is_fan_assisted) / 1000
    )
    needed = (natural.value * (or_zero(room.kbtuh) - by_fan) + fan.value * by_fan) / counted
    words = "Known infiltration, job file"
    if counted < changes:
        words, said_by = f"{words} ({number_text(changes)}), of which are counted", most
    step = Step(words, counted, "air changes per hour", said_by.source)
    return _as_limit(natural, needed), (*room.inputs, step)


def _as_limit(of: Limit, needed_ft3: float) -> Limit:
    return replace(of, key="volume_ft3", value=needed_ft3, unit="ft³")


def _from_outdoors(
    room: FiredRoom,
    openings: Sequence[Opening],
    steps: Sequence[Step],
    context: Context,
    part: float = 1.0,
) -> Iterator[Answer]:
    """Two openings, one high and one low, or one that is larger; `part` of their full size."""
    if len(openings) == 1:
        yield from _single(room, openings[0], steps, context, part)
    else:
        yield from _sized(room, openings, steps, context, part)
        yield _high_and_low(room, openings, context)


def _from_indoors(
    room: FiredRoom, openings: Sequence[Opening], steps: Sequence[Step], context: Context
) -> Iterator[Answer]:
    """Two openings to rooms of the storey, or one or more to those of another."""
    here = [o for o in openings if o.to == "indoors"]
    if here:
        yield from _sized(room, here, steps, context)
        yield _high_and_low(room, here, context)
        return
    row = context.code.table("combustion_openings").one(air_from="other-storey")
    if row is not None:
        area = sum(o.area for o in openings) / M_PER_IN**2
        yield _area(room, "openings to the other storey", area, row.limit(PER, ""), 0.0, steps)


def _sized(
    room: FiredRoom,
    openings: Sequence[Opening],
    steps: Sequence[Step],
    context: Context,
    part: float = 1.0,
) -> Iterator[Answer]:
    """The free area of each opening."""
    table = context.code.table("combustion_openings")
    for number, opening in enumerate(openings, 1):
        row = table.one(air_from=opening.to)
        if row is None:
            continue
        least = or_zero(row.number_or_none("least_in2"))
        name, area = f"opening {number} ({opening.to})", opening.area / M_PER_IN**2
        yield _area(room, name, area, row.limit(PER, ""), least, steps, str(number), part)
        yield from _side(room, opening, name, context)


def _single(
    room: FiredRoom, opening: Opening, steps: Sequence[Step], context: Context, part: float
) -> Iterator[Answer]:
    row = context.code.table("combustion_openings").one(air_from="outdoors-single")
    if row is None:
        return
    sizes = [b.connector.size_in if b.connector is not None else None for b in room.burners]
    known = [size for size in sizes if size is not None]
    vents = sum(pi / 4 * size**2 for size in known)
    area = opening.area / M_PER_IN**2
    yield _area(room, "the one opening", area, row.limit(PER, ""), vents, steps, part=part)
    yield from _side(room, opening, "the one opening", context)
    if len(known) < len(sizes):
        yield not_known(VENT_SIZES, room, about="vents", clause=row.clause)
    yield _reaches(room, [opening.from_top], "top", context)


def _area(
    room: FiredRoom,
    name: str,
    area_in2: float,
    per: Limit,
    least_in2: float,
    steps: Sequence[Step],
    about: str = "",
    part: float = 1.0,
) -> Answer:
    asked = max(or_zero(room.kbtuh) * 1000 / per.value, least_in2) * part
    text = f"{number_text(area_in2)} in²; {number_text(asked)} in² are asked for"
    return check(
        area_in2,
        at_least=replace(per, key="area_in2", value=asked, unit="in²"),
        message=f"{room.label}: {name} has a free area of {text}.",
        remedy=f"Enlarge the opening to {number_text(asked)} in² of free area, counted behind "
        "louvers and screens.",
        steps=(*steps, Step("Input for each in² of free area", per.value, "Btu/h", per.source)),
        limit_step="Free area asked for",
        about=about,
    )


def _side(room: FiredRoom, opening: Opening, name: str, context: Context) -> Iterator[Answer]:
    if opening.least_side is not None:
        inches = opening.least_side / M_PER_IN
        limit = context.code.limit("combustion_opening_side_in")
        yield check(
            inches,
            at_least=limit,
            message=f"{room.label}: {name} is {number_text(inches)} in across at its narrowest.",
            remedy=f"Make the opening {limit.value:g} in or more each way.",
            about=f"side of {name}",
        )


def _high_and_low(room: FiredRoom, openings: Sequence[Opening], context: Context) -> Answer:
    """One of the openings begins near the top of the room and another near its bottom."""
    high = _reaches(room, [o.from_top for o in openings], "top", context)
    return (
        high
        if high is not PASS
        else _reaches(room, [o.from_bottom for o in openings], "bottom", context)
    )


def _reaches(
    room: FiredRoom, distances_m: Sequence[float | None], end: str, context: Context
) -> Answer:
    """Whether an opening begins near enough to the top or the bottom of the room."""
    limit = context.code.limit("combustion_opening_reach_in")
    known = [d / M_PER_IN for d in distances_m if d is not None]
    if not known:
        return not_known(BEGINS, end, room.label, about=end, clause=limit.clause)
    return check(
        min(known),
        at_most=limit,
        message=f"{room.label}: the opening nearest the {end} of the room begins "
        f"{number_text(min(known))} in from it; {limit.value:g} in is the most.",
        remedy=f"Begin one opening within {limit.value:g} in of the {end} of the room.",
        about=end,
    )


RULES = (combustion_air,)
