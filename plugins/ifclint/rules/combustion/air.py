"""The rule on air for combustion: the volume of the room, or the openings it gets its air by."""

from collections.abc import Iterator, Sequence

from ifclint.checks import PASS, Answer, Fact, PartKind, Step, check, drawn, known, not_known
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import number_text
from ifclint.findings import Outcome, Severity
from ifclint.packs import Context, rule
from ifclint.rules.combustion.burners import FiredRoom
from ifclint.rules.combustion.openings import from_indoors, from_outdoors
from ifclint.rules.combustion.room_uses import volume_ft3
from ifclint.rules.combustion.section import AirOfRoom, CombustionSection, Opening
from ifclint.rules.combustion.volumes import Range, from_fan, needed_ft3, volume_with_shared_ft3

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
INPUT = Fact(
    "the input of what burns fuel ({}) is not known.",
    "Give every appliance its input (InputRating), or state it in the job file (gas.loads).",
)
NOT_STATED = Fact(
    "whether {} has air enough is not known: it has too little where what burns there and states "
    "no input takes the most that is listed for it.",
    INPUT.remedy,
)
VOLUME = Fact(
    "whether {} has air enough is not known: other rooms lie within its box.",
    "State the room's volume in the job file (combustion.rooms.volume).",
)
NO_ROOM = Fact("how much air {} has is not known: no such room is drawn.", ROOMS.remedy)
OPENED = "Give the room two openings from outdoors, or take direct-vent appliances."
VENTED = "Take a smaller unvented heater, or a direct-vent one."
LED_TO = Fact(
    "{} Its openings lead indoors; into which rooms is not stated.",
    "Name the rooms it shares air with in the job file (combustion.rooms.open_to).",
)
OPENINGS = Fact("{} What openings bring more is not known.", TELL_OPENINGS)


@rule(
    title="Air enough for what burns fuel in a room",
    clauses={"upc": "506.1", "ipc": "IFGC 304.1", "irc": "G2407.1"},
    severity=Severity.HIGH,
    of_load=True,
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
    model shows them, and so are openings to rooms that it does not name. Of an unvented room heater
    the volume alone counts. Excused are direct-vent, condensing and power-vented appliances, whose
    makers say what they take, dryers and fireplaces, room heaters of no known room or in one that
    `appliance-room` judges, and rooms whose air the job file says a designer has settled.
    """
    stated = context.job.section(CombustionSection).of(room.name) if room.name else None
    if stated is not None and stated.designed:
        return
    known(room.kbtuh, INPUT)
    volume = volume_with_shared_ft3(room, stated, context)
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
    needed, steps = needed_ft3(room, stated, context)
    low, high = volume
    openings = stated.openings if stated is not None else None
    indoor = [o for o in openings or () if o.to in INDOOR]
    outdoor = [o for o in openings or () if o.to not in INDOOR and not room.is_unvented]
    steps = (*steps, Step("Volume of the room, with those whose air it shares", high, "ft³"))
    ways: list[list[Answer]] = []
    if at_least(low, needed.value, "ft³"):
        ways.append([*from_indoors(room, indoor, steps, context)] if indoor else [PASS])
    if outdoor:
        ways.append([*from_outdoors(room, outdoor, steps, context)])
    if outdoor and context.code.limit("combustion_combined").value:
        own = volume_ft3(room.space, context) if room.space is not None else volume
        for indoors, shared in (([], own), (indoor, volume)):
            parts = tuple(1.0 - min(v / needed.value, 1.0) for v in reversed(shared))
            ways.append([*_combined(room, indoors, outdoor, parts, steps, context)])
    if stated is not None and stated.fan is not None and not room.is_unvented:
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
        yield from (a for a in from_indoors(room, indoor, steps, context) if a is not PASS)
        yield not_known(LED_TO, message, steps=steps, clause=needed.clause)
    else:
        yield check(
            high,
            at_least=needed,
            message=message,
            remedy=VENTED if room.is_unvented else OPENED,
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
        yield from from_indoors(room, indoor, steps, context)
    source = context.code.limit("combustion_combined").source
    share = "Share of the air that the volume does not give"
    least, most = (
        [*from_outdoors(room, outdoor, (*steps, Step(share, part, "", source)), context, part)]
        for part in parts
    )
    if _faults(least) == _faults(most):
        yield from least
    else:
        yield not_known(VOLUME, room, steps=steps)
