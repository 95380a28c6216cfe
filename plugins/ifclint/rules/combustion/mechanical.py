"""Air for combustion that a fan supplies from outdoors."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ifclint.checks import PASS, Answer, Fact, Step, check, not_known, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text
from ifclint.packs import Context
from ifclint.rules.combustion.burners import FiredRoom
from ifclint.rules.combustion.section import AirOfRoom

CFM = M_PER_FT**3 / 60  # m3/s
JOB = "job file, combustion.rooms"
INTERLOCKED = Fact(
    "whether {} burns on when the fan that supplies its air stands still",
    f"State it in the {JOB}.interlocked.",
)


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
