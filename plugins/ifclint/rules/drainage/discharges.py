"""The rule about where a pumped discharge joins a drain that runs by gravity."""

from __future__ import annotations

from collections.abc import Iterator
from math import dist

from ifclint.checks import PASS, Fact, known, violation
from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.findings import Answer
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.drainage.pumped import discharge, ejectors

FROM_ABOVE_DEG = 5.0  # above level; a discharge that falls less steeply comes from the side. Ours
ENDS = Fact("from where {} comes into {}", "Give the pipe and the fitting placed ports.")


@rule(
    title="Pumped discharge into the top of a drain",
    subject=Piece,
    clauses={"upc": "710.4", "ipc": "712.3.5", "irc": "P3007.3.5"},
    applies=lambda piece: piece.element.role in (Role.CHAMBER, Role.PUMP),
)
def ejector_discharge_joins(piece: Piece, context: Context) -> Iterator[Answer]:
    """A discharge that comes in from below fills with what the drain carries, and clogs.

    Where the discharge of a sump or pump that fixtures drain into joins a drain that lies level:
    its last stretch must come down into it. Into a stack it may come from the side. The sections
    are from memory.
    """
    outlet = ejectors(context).get(piece.element.guid)
    if outlet is None:
        return
    piping = context.plumbing.venting.piping
    for last in discharge(piping, outlet.element):
        for drain in piping.network.neighbours(last):
            is_gravity = piping.is_wet(drain) and drain not in piping.wet_above[outlet.element]
            below = piping.next_pipe(drain) if is_gravity else NONE
            if below != NONE and piping.is_horizontal(below):
                yield _from_above(piece, last, drain, context)


def _from_above(piece: Piece, last: int, drain: int, context: Context) -> Answer:
    piping = context.plumbing.venting.piping
    discharge, joined = piping.elements[last], piping.elements[drain]
    middle = known(piping.middle(drain), ENDS, discharge, joined)
    ends = [end.position for end in discharge.ends if end.position is not None]
    enters = min(ends, key=lambda p: dist(p, middle), default=None)
    back = known(direction(enters, piping.middle(last)), ENDS, discharge, joined)
    if at_least(rise_deg(back), FROM_ABOVE_DEG, "deg"):
        return PASS
    side = "side" if rise_deg(back) > -FROM_ABOVE_DEG else "underside"
    return violation(
        message=f"The discharge of {piece.label} comes into the {side} of {joined.label}, which "
        "lies level.",
        remedy="Bring it from above into the top of the drain, through a wye.",
        elements=(joined.guid, discharge.guid),
        about=joined.guid,
    )


RULES = (ejector_discharge_joins,)
