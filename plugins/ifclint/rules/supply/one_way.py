"""The rule about which way valves look that let water pass one way only."""

from collections.abc import Iterator

from ifclint.checks import PASS, violation
from ifclint.engineering.joined import NONE
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.circulation import Return, checks
from ifclint.rules.supply.return_ways import returns_of

VALVE = Role.VALVE
ENTERED = {"in": "out", "out": "in"}  # the flow of an end, and of what is joined to it


@rule(
    title="Check valve that lets the water pass",
    clauses={"any": "common practice, no clause"},
    severity=Severity.HIGH,
)
def check_valve_turned(service: WaterService, context: Context) -> Iterator[Answer]:
    """Behind a check valve that is turned round no water flows.

    Check valves and backflow preventers of which both ends tell their flow, against the way that
    the water takes: from the source to the fixtures, and through a return from the hot water back
    to the heater. One whose ends tell no flow is not judged, nor one in a loop, through which
    water may come from either side. Where the pipes at both its ends tell the same flow as it does,
    all of the line is drawn so, and nothing is said of the valve.
    """
    if not _any_tells_its_way(context):
        return
    yield PASS
    supply = service.supply
    for index in _in_line(supply):
        if service.holds(index) and _is_turned(supply, index, supply.distribution.up[index]):
            yield _turned(supply, index, "the fixtures behind it get no water")
    for found in returns_of(service, context):
        for index in found.piece:
            if _lets_one_way(supply, index) and _blocks(supply, found, index):
                yield _turned(supply, index, "the hot water does not circulate")


@derived
def _any_tells_its_way(context: Context) -> bool:
    return any(map(_tells_its_way, context.plumbing.supply.network.of_role[VALVE]))


def _in_line(supply: Supply) -> Iterator[int]:
    """Valves of the supply that water passes one way only, and comes to from one side."""
    distribution = supply.distribution
    unsure = {
        i for loop in distribution.loops if not loop.shared
        for i in (*loop.one_path, *loop.other_path)
    }  # fmt: skip
    for index in distribution.order:
        if index not in unsure and distribution.up[index] != NONE and _lets_one_way(supply, index):
            yield index


def _lets_one_way(supply: Supply, index: int) -> bool:
    return _tells_its_way(supply.elements[index])


def _tells_its_way(element: Element) -> bool:
    """Whether it is a check valve or the like, with an end to be entered by and one to leave by."""
    passes_one_way = checks(element) or element.kind == "backflow-preventer"
    is_told = {end.flow for end in element.ends} == set(ENTERED)
    return element.role is VALVE and passes_one_way and is_told


def _is_turned(supply: Supply, index: int, before: int) -> bool:
    """Whether a valve is left where water enters it, from the element before it, and entered where
    it leaves; and what is joined to it does not say the same of its own flow."""
    joined = _joined(supply, index)
    first = [own for other, own, _ in joined if other == before]
    agree = all(met == ENTERED[own] for _, own, met in joined)
    return len(joined) == len(ENTERED) and first == ["out"] and not agree


def _joined(supply: Supply, index: int) -> list[tuple[int, str, str]]:
    """What is joined to an element, with the flow of its own end and of the other's."""
    network, found = supply.network, []
    for other, number in network.joined[index]:
        joint = network.joints[number]
        ends = (joint.a_end, joint.b_end) if joint.a == index else (joint.b_end, joint.a_end)
        own, met = (network.elements[i].ends[n] for i, n in zip((index, other), ends, strict=True))
        found.append((other, own.flow, met.flow))
    return found


def _blocks(supply: Supply, found: Return, index: int) -> bool:
    """Whether a valve of a return is turned against the way from the hot water back."""
    network = supply.network
    before = [n for n in network.neighbours(index) if _reached(supply, found, index, n) == {True}]
    return len(before) == 1 and _is_turned(supply, index, before[0])


def _reached(supply: Supply, found: Return, valve: int, start: int) -> set[bool]:
    """Whether hot water, and what a return leads back to (False), lie on one side of a valve."""
    network, ends = supply.network, {start}
    for part in network.pieces([i for i in found.piece if i != valve]):
        if start in part:
            ends = {n for i in part for n in network.neighbours(i)}
    return {True for _ in ends & found.hot} | {False for _ in ends & found.back}


def _turned(supply: Supply, index: int, what: str) -> Answer:
    valve = supply.elements[index]
    return violation(
        message=f"{valve.label} is set against the flow, by its ends: {what}.",
        remedy=Change("work", (valve.guid,), "turned round", f"Turn {valve.label} round."),
        elements=(valve.guid,),
        about=valve.guid,
    )
