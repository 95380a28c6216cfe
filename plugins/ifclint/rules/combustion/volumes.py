"""The volume of a room with those whose air it shares, what the code asks for, and air brought in
by machines."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias

from ifclint.checks import PASS, Answer, Fact, Step, check, not_known, violation
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text
from ifclint.packs import Context
from ifclint.rules.combustion.burners import FiredRoom
from ifclint.rules.combustion.room_uses import rooms_named, volume_ft3
from ifclint.rules.combustion.section import AirOfRoom, CombustionSection

CFM = M_PER_FT**3 / 60  # m3/s
JOB = "job file, combustion.rooms"
INTERLOCKED = Fact(
    "whether {} burns on when the fan that supplies its air stands still",
    f"State it in the {JOB}.interlocked.",
)
Range: TypeAlias = tuple[float, float]  # what is sure, and what may be


def volume_with_shared_ft3(
    room: FiredRoom, stated: AirOfRoom | None, context: Context
) -> Range | None:
    """Of the room with those whose air it shares, between what is sure and what may be."""
    if stated is not None and stated.volume is not None:
        low = high = stated.volume / M_PER_FT**3
    elif room.space is not None:
        low, high = volume_ft3(room.space, context)
    else:
        return None
    for name in sorted({*stated.open_to} - {stated.room}) if stated is not None else ():
        there = rooms_named(name, room.burners[0].element.storey, context)
        said = context.job.section(CombustionSection).of(name)
        volumes = [volume_ft3(space, context) for space in there]
        if said is not None and said.volume is not None:
            volumes = [(said.volume / M_PER_FT**3,) * 2]
        low += sum(v[0] for v in volumes)
        high += sum(v[1] for v in volumes)
    return low, high


Volume: TypeAlias = tuple[Limit, tuple[Step, ...]]  # that the code asks for, and why


def needed_ft3(room: FiredRoom, stated: AirOfRoom | None, context: Context) -> Volume:
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


def from_fan(
    room: FiredRoom, stated: AirOfRoom, steps: Sequence[Step], context: Context
) -> Iterator[Answer]:
    """What the fan supplies, besides what exhaust fans take out again; and that nothing burns
    while it stands still."""
    per = context.code.limit("combustion_fan_cfm_per_kbtuh")
    exhausted, supplied = stated.exhausted / CFM, or_zero(stated.fan) / CFM
    asked = per.value * or_zero(room.kbtuh) + exhausted
    yield check(
        supplied,
        at_least=replace(per, key="fan_cfm", value=asked, unit="cfm"),
        message=f"{room.label}: a fan supplies {number_text(supplied)} cfm of outdoor air; "
        f"{number_text(asked)} cfm are asked for.",
        remedy=f"Take a fan of {number_text(asked)} cfm, or direct-vent appliances.",
        steps=(
            *steps,
            Step("Air for each 1,000 Btu/h", per.value, "cfm", per.source),
            Step("Taken out by exhaust fans", exhausted, "cfm", f"{JOB}.exhausted"),
        ),
        limit_step="Air asked for",
        about="fan",
    )
    yield _interlocked(room, stated, per.clause)


def _interlocked(room: FiredRoom, stated: AirOfRoom, clause: str) -> Answer:
    if stated.interlocked:
        return PASS
    if stated.interlocked is None:
        return not_known(INTERLOCKED, room, about="interlock", clause=clause)
    return violation(
        message=f"{room.label} burns on when the fan that supplies its air stands still.",
        remedy="Interlock every appliance with the fan, so that no burner fires without it.",
        about="interlock",
    )
