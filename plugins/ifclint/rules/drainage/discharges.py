"""Rules about the discharge of ejectors: its valves, and where it joins a drain that runs by
gravity."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    known,
    missing,
    not_known,
    require,
    violation,
)
from ifclint.engineering.directions import direction, rise_deg
from ifclint.engineering.joined import NONE, by_steps
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.drainage.outlets import Outlet
from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.pumped import discharge, discharge_of, discharges_of, ejectors
from ifclint.plumbing.facts import fact
from ifclint.plumbing.words import says

NOT_FULL_WAY = ("globe valve", "angle valve", "needle valve", "needle", "globe")
CHECKS = frozenset({"check", "backwater"})
FROM_ABOVE_DEG = 5.0  # above level; a discharge that falls less steeply comes from the side. Ours
IN_DISCHARGE = Fact("whether a valve in the discharge of {} is a {}", fact("valve_kind").remedy)
SIZE = Fact("the size of the drain at {} is not known.", fact("size_in").remedy)
ENDS = Fact("from where {} comes into {}", "Give the pipe and the fitting placed ports.")


DISCHARGE_VALVES = PartKind(
    "valves in the discharge of ejectors",
    drawn=lambda context: any(
        e.role is Role.VALVE for o in ejectors(context).values() for e in discharge_of(o, context)
    ),
    remedy="Model the check valve and the gate or ball valve in the discharge pipe.",
)


@rule(
    title="Ejector with a check valve and a gate valve in its discharge",
    clauses={"upc": "710.4", "ipc": "712.2", "irc": "P3007.2"},
    severity=Severity.HIGH,
    applies=lambda piece: piece.element.role in (Role.CHAMBER, Role.PUMP),
)
def ejector_valves(piece: Piece, context: Context) -> Iterator[Answer]:
    """Without a check valve the riser falls back at every stop; without a gate valve nobody can
    mend the pump.

    A check (or backwater) valve, and a valve that shuts, in the pipe from a sump or ejector that
    fixtures drain into to the drain it discharges into, the valve that shuts beyond the check
    valve: before it, it holds no water back from whoever mends it. Each of several pumps has a
    check valve before its discharge meets another's: through one that stands still the other would
    pump in a ring. A valve that by its name opens
    no full way (globe, angle, needle) stops what is pumped. A discharge that is not drawn is
    asked for by the rule about fixtures.
    """
    outlet = ejectors(context).get(piece.element.guid)
    if outlet is None or not any(e.role is Role.PIPE for e in discharge_of(outlet, context)):
        return
    discharge = discharge_of(outlet, context)
    for valve in (v for v in _valves_in(discharge) if says(v, NOT_FULL_WAY)):
        yield violation(
            message=f"{valve.label} in the discharge of {piece.label} opens no full way.",
            remedy="Set a gate or ball valve in its place.",
            elements=(valve.guid, piece.element.guid),
            about=valve.guid,
        )
    for pumped in _each_pumped(piece, outlet, context):
        yield from _valves_of(pumped)


@dataclass(frozen=True)
class _Pumped:
    """What one pump presses up."""

    label: str
    about: str  # which of several
    elements: tuple[str, ...]
    own: list[Element]  # the valves before its discharge meets another's
    valves: list[Element]


def _each_pumped(piece: Piece, outlet: Outlet, context: Context) -> Iterator[_Pumped]:
    """The valves in the discharge of each pump of a sump; of the sump, where none is drawn."""
    piping = context.plumbing.venting.piping
    found = discharges_of(piping, outlet.element)
    if len(found) < 2:
        valves = _valves_in(discharge_of(outlet, context))
        yield _Pumped(piece.label, "", (piece.element.guid,), valves, valves)
        return
    passed = Counter(i for one in found for i in one.path)
    for one in found:
        pump, path = piping.elements[one.pump], [piping.elements[i] for i in one.path]
        own = [piping.elements[i] for i in one.path if passed[i] == 1]
        ids = (pump.guid, piece.element.guid)
        yield _Pumped(pump.label, f" {pump.guid}", ids, _valves_in(own), _valves_in(path))


def _valves_in(elements: list[Element]) -> list[Element]:
    return [e for e in elements if e.role is Role.VALVE]


def _valves_of(pumped: _Pumped) -> Iterator[Answer]:
    unnamed = [v.guid for v in pumped.valves if not v.kind]
    wanted = {
        "check valve": any(v.kind in CHECKS for v in pumped.own),
        "gate or ball valve": any(v.kind == "isolating" for v in pumped.valves),
    }
    if all(wanted.values()) and not unnamed:
        valves = pumped.valves
        first = next(i for i, valve in enumerate(valves) if valve.kind in CHECKS)
        gates = [valve for valve in valves if valve.kind == "isolating"]
        yield require(
            any(valve.kind == "isolating" for valve in valves[first:]),
            message=f"In the discharge of {pumped.label} {gates[0].label} stands before the check "
            "valve.",
            remedy="Set the gate or ball valve beyond the check valve.",
            elements=(gates[0].guid, *pumped.elements),
            about="gate or ball valve" + pumped.about,
        )
        return
    for name, has in wanted.items():
        about = name + pumped.about
        if has:
            yield PASS
        elif unnamed:
            yield not_known(IN_DISCHARGE, pumped, name, elements=unnamed, about=about)
        else:
            yield missing(
                DISCHARGE_VALVES,
                message=f"The discharge of {pumped.label} has no {name}{_own(pumped, name)}.",
                remedy=f"Set a {name} in the discharge pipe, where one can get at it.",
                elements=pumped.elements,
                about=about,
            )


def _own(pumped: _Pumped, name: str) -> str:
    shared = name == "check valve" and any(v.kind in CHECKS for v in pumped.valves)
    return " of its own" if shared else ""


@rule(
    title="Pumped discharge into the top of a drain",
    clauses={"upc": "710.4", "ipc": "712.3.5", "irc": "P3007.3.5"},
    applies=lambda piece: piece.element.role in (Role.CHAMBER, Role.PUMP),
)
def ejector_discharge_joins(piece: Piece, context: Context) -> Iterator[Answer]:
    """A discharge that comes in from below fills with what the drain carries, and clogs; near the
    foot of a stack it meets what falls there.

    Where the discharge of a sump or pump that fixtures drain into joins a drain that lies level:
    its last stretch must come down into it, and (IPC, IRC) not within ten diameters of the drain
    past the foot of a stack or of the drain of a fixture that comes down there. Into a stack it may
    come from the side. The sections are from memory.
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
                yield _past_the_foot(piece, drain, context)


def _from_above(piece: Piece, last: int, drain: int, context: Context) -> Answer:
    piping = context.plumbing.venting.piping
    discharge, joined = piping.elements[last], piping.elements[drain]
    middle, ends = piping.middle(drain), discharge.places
    enters = min(ends, key=lambda p: dist(p, middle), default=None) if middle else None
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


def _past_the_foot(piece: Piece, drain: int, context: Context) -> Answer:
    """How far past the last pipe that comes down into the drain a discharge joins it."""
    piping = context.plumbing.venting.piping
    times = context.code.limit_or_none("ejector_connection_diameters")
    size = piping.elements[piping.next_pipe(drain)].size_in
    foot = _foot_above(piping, drain) if times is not None else NONE
    if times is None or foot == NONE:
        return NOT_APPLICABLE
    joined = piping.elements[drain]
    away = 0.0 if foot == drain else known(piping.developed_m(foot, drain), ENDS, joined, joined)
    size = known(size, SIZE, joined)
    least = replace(times, value=times.value * size, unit="in")
    away_in = away / M_PER_IN
    return check(
        away_in,
        at_least=least,
        message=f"The discharge of {piece.label} joins the drain {number_text(away_in)} in past "
        f"{piping.elements[foot].label}, where another drain comes down.",
        remedy=f"Join it at least {number_text(least.value)} in past there.",
        limit_step=f"{times.value:g} diameters of the drain, at least",
        elements=(joined.guid, piping.elements[foot].guid),
        about=f"{joined.guid} foot",
    )


def _foot_above(piping: Piping, drain: int) -> int:
    """The nearest place up a level drain, from where a discharge joins it, at which a pipe comes
    down into it; -1 where there is none before it branches off a stack."""

    def above(index: int) -> list[int]:
        return [i for i in piping.wet_above[index] if not piping.is_vertical(i)]

    for index in by_steps([drain], above):
        if not piping.is_pipe(index) and any(map(piping.is_vertical, piping.wet_above[index])):
            return index
    return NONE
