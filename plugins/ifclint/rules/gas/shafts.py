"""The rule that gas pipe keeps out of shafts, chutes, ducts and chimneys."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, not_known, violation
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Space
from ifclint.packs import Context, derived
from ifclint.plumbing import GasSegment
from ifclint.plumbing.surroundings.shafts import ELEVATORS, passes, rooms_called
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import points_of

FORBIDDEN = (
    *ELEVATORS, "clothes chute", "laundry chute", "linen chute", "trash chute", "rubbish chute",
    "chute", "chimney", "chimney shaft", "air duct", "air shaft", "duct shaft", "ventilating duct",
)  # fmt: skip
NOT_IN_IT = ("lobby", "lobbies", "hall", "machine room", "room")
PLACE = Fact("where {} runs", "Give the pipe a shape or two placed ports.")


@gas_rule(
    title="Gas pipe outside shafts, chutes, ducts and chimneys",
    subject=GasSegment,
    clauses={"upc": "1210.2", "ipc": "IFGC 404.3", "irc": "G2415.3"},
    severity=Severity.HIGH,
)
def gas_in_shaft(segment: GasSegment, context: Context) -> Iterator[Answer]:
    """A leak in a shaft or duct is carried to every floor, and no one can reach the pipe.

    Pipe within a space named as an elevator or dumbwaiter shaft, a chute, an air duct or a chimney,
    or through one. A model without such a space is excused. The sections are from memory.
    """
    shafts = _shafts(context)
    if not shafts:
        yield NOT_APPLICABLE
    for pipe in segment.pipes if shafts else ():
        yield _keeps_out(segment, pipe, shafts)


@derived
def _shafts(context: Context) -> list[Space]:
    return rooms_called(FORBIDDEN, NOT_IN_IT, context)


def _keeps_out(segment: GasSegment, pipe: Element, shafts: list[Space]) -> Answer:
    points = points_of(pipe)
    if len(points) < 2:
        return not_known(PLACE, pipe, elements=(pipe.guid,), about=pipe.guid)
    shaft = next((s for s in shafts if passes(points[0], points[-1], s)), None)
    if shaft is None:
        return PASS
    return violation(
        message=f'{segment.label} passes through "{shaft.name}".',
        remedy=f'Lead the gas pipe around "{shaft.name}".',
        elements=(pipe.guid,),
        about=pipe.guid,
    )


RULES = (gas_in_shaft,)
