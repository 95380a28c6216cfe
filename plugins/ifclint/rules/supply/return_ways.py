"""Rules about where circulated hot water leads: from the hot main back to its heater."""

from collections import Counter
from collections.abc import Iterable, Iterator

from ifclint.checks import PASS, Fact, advise, missing, not_known, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Answer, Change, Outcome, PartKind, Severity, Step
from ifclint.ifc.elements import Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import COLD
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.circulation import (
    BACK,
    Return,
    checks,
    mixes,
    returns,
    runs_astray,
    unchecked,
)
from ifclint.rules.supply.dead_legs import DEAD_LEG_FT
from ifclint.rules.supply.mixing import side_of

ENDS_WELL = frozenset({Role.VALVE, Role.PUMP, Role.TANK, Role.METER})  # an air vent, a drain
COMES_BACK = Fact(
    "whether {} comes back to a heater",
    "Model the heater, and join the return to what it comes from and leads to.",
)


CHECKS = PartKind(
    "check valves",
    drawn=lambda context: any(
        e.role is Role.VALVE and checks(e) for e in context.plumbing.supply.elements
    ),
    remedy="Draw the check valve of the return, or name the circulator as one that has its own.",
)


@rule(
    title="Check valve in the hot water return",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda service: bool(service.supply.returns),
)
def return_checked(service: WaterService, context: Context) -> Iterator[Answer]:
    """Through a return without a check valve cold water is drawn backward to the hot taps.

    On every way from the hot water along a return to what it leads back to (the heater, a mixing
    valve, the cold water before them) stands a check valve, or something that says it has one.
    Where it is not known what a return leads to, one anywhere in it is enough.
    """
    yield PASS
    supply = service.supply
    for found in returns_of(service, context):
        pipes = [e for i in found.piece if (e := supply.elements[i]).role is Role.PIPE]
        guids = tuple(e.guid for e in pipes if e.system is System.HOT_WATER_RETURN)
        if not guids:
            continue
        label = next(e.label for e in pipes if e.guid == guids[0])
        if not any(checks(supply.elements[i]) for i in found.piece):
            yield _unchecked(guids, f"The hot water return by {label} has no check valve.")
            continue
        for index in unchecked(supply, found):
            back = supply.elements[index]
            words = f"The hot water return by {label} leads to {back.label} past no check valve."
            yield _unchecked((back.guid, *guids), words)


def _unchecked(guids: tuple[str, ...], message: str) -> Answer:
    return missing(
        CHECKS,
        message=message,
        remedy=Change("part", guids, "check valve", "Set a check valve behind the circulator."),
        elements=guids,
        about=guids[0],
        wrong=Outcome.ADVISORY,
    )


@rule(
    title="Hot water return that comes back to its heater",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda service: bool(service.supply.returns),
)
def return_circulates(service: WaterService, context: Context) -> Iterator[Answer]:
    """A return that ends at nothing circulates nothing: its fixtures wait, its water goes stale.

    Circulation piping that is joined together begins at the hot water and leads back to the heater,
    its tank, a mixing valve or the cold water before them; and no stub of it longer than 2 ft lies
    on no such way. Stubs that end in a valve, pump or tank are excused. What is joined to something
    that is not understood, or drawn without a heater, is asked about.
    """
    yield PASS
    supply = service.supply
    for found in returns_of(service, context):
        pipes = [e for i in found.piece if (e := supply.elements[i]).role is Role.PIPE]
        guids = tuple(e.guid for e in pipes)
        label = f"The hot water return by {pipes[0].label}"
        if found.circulates:
            yield from _stubs(supply, found)
        elif found.strange or not supply.heaters:
            yield not_known(COMES_BACK, label[4:], elements=guids, about=guids[0])
        else:
            end = "comes back to no heater" if found.hot else "begins at no hot water"
            yield advise(
                f"{label} {end}.",
                "Join the return to the far end of the hot main, and to the cold water inlet of "
                "its heater.",
                elements=guids,
                about=guids[0],
            )


def returns_of(service: WaterService, context: Context) -> Iterable[Return]:
    """The returns of a service: those that lead back to it, and with the first all that do not."""
    for found in returns(context):
        near = min(found.back or found.hot or found.piece)
        if service.holds(near):
            yield found


def _stubs(supply: Supply, found: Return) -> Iterator[Answer]:
    """What leads off the way of a return to nothing, longer than a stub may be."""
    for stub in supply.network.pieces(found.dead):
        ends = {supply.elements[i].role for i in stub if len(supply.network.neighbours(i)) < 2}
        pipes = [e for i in sorted(stub) if (e := supply.elements[i]).role is Role.PIPE]
        length = sum(or_zero(e.length_m) for e in pipes) / M_PER_FT
        if ends & ENDS_WELL or at_most(length, DEAD_LEG_FT, "ft"):
            continue
        yield advise(
            f"A stub of the hot water return ends at nothing after {feet_text(length)}.",
            "Cut the stub back to its tee, or join it to the hot water that it was meant for.",
            elements=tuple(e.guid for e in pipes),
            about=pipes[0].guid,
            steps=(Step("Longest stub that is no dead leg, common practice", DEAD_LEG_FT, "ft"),),
        )


@rule(
    title="Hot water return that warms no cold tap",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda service: bool(service.supply.returns),
)
def return_past_cold(service: WaterService, context: Context) -> Iterator[Answer]:
    """Where cold taps are fed from behind a return, hot water comes out of them.

    A return that joins the cold water ahead of the heater: cold connections of fixtures fed through
    the place where it joins. One that joins behind the last of them, at the heater, is right. One
    that leads to no heater is told as hot water joined to cold.
    """
    yield PASS
    supply = service.supply
    taps = Counter(t.connection.up for f in supply.fixtures for t in f.fed if t.service == COLD)
    fed = supply.distribution.accumulate({i: float(n) for i, n in taps.items()})
    for found in returns_of(service, context):
        at = [i for i in found.back if supply.elements[i].role not in BACK and fed[i] > 0]
        at = [i for i in at if supply.elements[i].kind != "mixing"]
        if found.circulates and at and not runs_astray(supply, found):
            last = max(at, key=supply.distribution.length_m.__getitem__)
            yield _warms(found, supply, last, int(max(fed[i] for i in at)))


def _warms(found: Return, supply: Supply, at: int, count: int) -> Answer:
    """A return that joins the cold water before some cold connections."""
    joined = supply.elements[at]
    return advise(
        f"The hot water return joins the cold water at {joined.label}, from which {count} "
        f"cold connection{'s are' if count > 1 else ' is'} fed.",
        "Join the return at the cold water inlet of the heater, behind the last cold branch.",
        elements=(joined.guid, *(supply.elements[i].guid for i in found.piece)),
        about=joined.guid,
    )


@rule(
    title="Return of mixed water led to the heater and to the mixing valve",
    clauses={"ipc": "607.2.2", "irc": ""},
    applies=lambda service: bool(service.supply.returns),
)
def return_at_mixing_valve(service: WaterService, context: Context) -> Iterator[Answer]:
    """A mixing valve without cool water at its cold inlet lets the loop creep up to the heater's.

    A return of what a mixing valve behind the heater gives leads both to the cold water inlet of
    the heater and to the cold or return inlet of the valve, of several the last before the loop:
    joined to them, or to the cold water that goes on to them.
    """
    yield PASS
    supply, distribution = service.supply, service.supply.distribution
    to_heater = distribution.how_many(supply.heaters)
    for found in returns_of(service, context):
        valves = {i for h in found.hot for i in distribution.path(h) if mixes(supply, i)}
        if not (found.circulates and valves):
            continue
        valve = max(valves, key=distribution.length_m.__getitem__)  # the last before the loop
        beside = [n for n in supply.network.neighbours(valve) if side_of(supply, n) == COLD]
        to_valve = distribution.how_many(beside)
        at_valve = any(i == valve or to_valve[i] > 0 for i in found.back)
        at_heater = any(supply.elements[i].role in BACK or to_heater[i] > 0 for i in found.back)
        if at_valve and at_heater:
            continue
        yield _not_led(found, supply, valve, at_valve)


def _not_led(found: Return, supply: Supply, valve: int, at_valve: bool) -> Answer:
    label = supply.elements[valve].label
    lacks = "the heater" if at_valve else "the cold or return inlet of the valve"
    return violation(
        message=f"The return of water mixed by {label} does not lead to {lacks}.",
        remedy="Lead the return to the cold water inlet of the heater, and to the cold or "
        "return inlet of the mixing valve.",
        elements=(supply.elements[valve].guid, *(supply.elements[i].guid for i in found.piece)),
        about=supply.elements[valve].guid,
    )
