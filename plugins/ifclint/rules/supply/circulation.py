"""The rule about what keeps circulated hot water from running backward."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import PASS, missing
from ifclint.findings import Answer, Change, Outcome, PartKind, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.water_supply import Supply, WaterService

CHECK_WORDS = ("check", "non-return", "nonreturn")

CHECKS = PartKind(
    "check valves",
    drawn=lambda context: any(
        e.role is Role.VALVE and _checks(e) for e in context.plumbing.supply.elements
    ),
    remedy="Draw the check valve of the return, or name the circulator as one that has its own.",
)


@rule(
    title="Check valve in the hot water return",
    subject=WaterService,
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda service: bool(service.supply.returns),
)
def return_checked(service: WaterService, context: Context) -> Iterator[Answer]:
    """Through a return without a check valve cold water is drawn backward to the hot taps.

    Each piece of circulation piping that is joined together, with the valves and pumps in it and
    on to the junctions at its ends: one is a check valve, or says that it has one.
    """
    yield PASS
    supply = service.supply
    for indexes in pieces(supply):
        piece = [supply.elements[i] for i in indexes]
        pipes = [e for e in piece if e.role is Role.PIPE and e.system is System.HOT_WATER_RETURN]
        if not pipes or not service.holds(indexes[0]):
            continue
        if any(_checks(e) for e in piece if e.role in (Role.VALVE, Role.PUMP)):
            continue
        yield _unchecked(pipes)


def _unchecked(pipes: list[Element]) -> Answer:
    guids = tuple(e.guid for e in pipes)
    return missing(
        CHECKS,
        message=f"The hot water return by {pipes[0].label} has no check valve.",
        remedy=Change("part", guids, "check valve", "Set a check valve behind the circulator."),
        elements=guids,
        about=pipes[0].guid,
        wrong=Outcome.ADVISORY,
    )


def _checks(element: Element) -> bool:
    said = element.called.lower()
    return element.kind == "check" or any(word in said for word in CHECK_WORDS)


def pieces(supply: Supply) -> Iterator[list[int]]:
    """Circulation piping that is joined together, with what is in one line with it,
    valves and pumps, as far as the next junction."""
    left = dict.fromkeys(supply.returns)
    while left:
        open_ones, piece = [next(iter(left))], dict[int, None]()
        while open_ones:
            index = open_ones.pop()
            if index in piece:
                continue
            piece[index] = None
            is_return = left.pop(index, 0) is None
            if is_return or _leads_on(supply, index):
                near = supply.network.neighbours(index)
                open_ones += [i for i in near if i in left or _leads_on(supply, i)]
        yield list(piece)


def _leads_on(supply: Supply, index: int) -> bool:
    """A valve, a pump, and what of any name lies in one line with the return: no junction."""
    element, ways = supply.elements[index], len(supply.network.neighbours(index))
    in_line = (Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP)
    return element.role in in_line and ways <= 2 and element.kind != "mixing"


RULES = (return_checked,)
