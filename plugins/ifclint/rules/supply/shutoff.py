"""Valves that close the water: the main shutoff, and the stops at the fixtures."""

from __future__ import annotations

from ifclint.engineering.units import M_PER_FT
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Outcome, Severity
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_supply import Tap, WaterFixture, WaterService

ISOLATES = frozenset({"isolating", "stop", "ball", "gate"})
BURIED_M = 0.5  # a valve so far below the lowest floor is reached only through a box
NO_STOP = frozenset({"bathtub", "shower", "hose-bibb", "floor-drain", "floor-sink", "ice-maker"})


def first_lines(service: WaterService) -> list[WaterSegment]:
    """The lines from the source to the first branch."""
    segment = next((x for x in service.supply.segments if x.indexes[0] == service.head), None)
    found: list[WaterSegment] = []
    while segment is not None:
        found.append(segment)
        below = [b for b in segment.below if isinstance(b, WaterSegment)]
        segment = below[0] if len(below) == 1 else None
    return found


def main_shutoff(service: WaterService) -> int | None:
    """The first valve that closes the whole building, before any branch."""
    for segment in first_lines(service):
        for index in segment.indexes:
            element = service.supply.elements[index]
            if element.role is Role.VALVE and element.kind in ISOLATES:
                return index
    return None


@rule(
    title="Main shutoff before any branch, and within reach",
    subject=WaterService,
    clauses={"upc": "606.2", "ipc": "606.1", "irc": "P2903.9.1"},
    severity=Severity.HIGH,
    needs=("source_known",),
)
def main_shutoff_valve(service: WaterService, context: Context) -> Answer:
    """When a pipe bursts someone must close the water in seconds, all of it.

    An isolating valve on the way from the source to the first branch. One drawn well below the
    lowest floor is taken as buried, and wants a box.
    """
    index = main_shutoff(service)
    if index is None:
        segments = first_lines(service)
        unknown = [
            service.supply.elements[i]
            for segment in segments
            for i in segment.indexes
            if service.supply.elements[i].role is Role.VALVE and not service.supply.elements[i].kind
        ]
        if unknown:
            return Answer(
                Outcome.UNVERIFIED,
                f"Whether {unknown[0].label} closes the water of the building is not known.",
                remedy="Set the PredefinedType of the valve, or name it in trade words.",
                elements=(unknown[0].guid,),
            )
        return Answer(
            Outcome.VIOLATION,
            f"No valve closes the {service.label} before its first branch.",
            remedy="Put a full-open shutoff valve where the supply enters, before any branch.",
        )
    valve = service.supply.elements[index]
    floors = [s.elevation_m for s in context.plumbing.network.model.storeys]
    if floors and valve.position is not None and valve.position[2] < min(floors) - BURIED_M:
        depth = (min(floors) - valve.position[2]) / M_PER_FT
        return Answer(
            Outcome.ADVISORY,
            f"{valve.label} lies {depth:.1f} ft below the lowest floor.",
            remedy="Set the valve where it can be reached, or in a box with a cover.",
            elements=(valve.guid,),
        )
    return PASS


def has_stop(fixture: WaterFixture, tap: Tap) -> bool:
    """Whether a valve on the branch closes the connection."""
    if tap.segment is None:
        return False
    elements = tap.segment.distribution.elements
    return any(
        elements[i].role is Role.VALVE and elements[i].kind in ISOLATES
        for i in _own_lines(tap.segment)
    )


def _own_lines(segment: WaterSegment) -> list[int]:
    """The elements of a branch back to the last junction."""
    found = list(segment.indexes)
    while (
        segment.inlet < 0
        and isinstance(segment.above, WaterSegment)
        and len(segment.above.below) == 1
    ):
        segment = segment.above
        found += segment.indexes
    return found


@rule(
    title="A stop valve at every fixture",
    subject=WaterFixture,
    clauses={"upc": "606.5", "ipc": "606.2", "irc": "P2903.9.3"},
    severity=Severity.LOW,
    applies=lambda fixture: fixture.kind not in NO_STOP,
)
def fixture_stop(fixture: WaterFixture, context: Context) -> Answer:
    """Without a stop the whole house is dry while one faucet is repaired.

    A valve in each branch between its last junction and the fixture. Tubs, showers and hose bibbs
    are excused. Stops are often left out of a model: where it shows none at all, nothing is said
    to be wrong.
    """
    lacking = [
        tap for tap in fixture.taps if tap.segment is not None and not has_stop(fixture, tap)
    ]
    if not lacking:
        return PASS if any(t.segment is not None for t in fixture.taps) else NOT_APPLICABLE
    sides = " and ".join(sorted({tap.service for tap in lacking}))
    if not _stops_modelled(context):
        return Answer(
            Outcome.UNVERIFIED,
            f"The model shows no stop valve at {fixture.label}, nor at any other fixture.",
            remedy="Model the stops (IfcValve, ISOLATING or STOPCOCK) at the fixtures, or have "
            "them checked on site.",
        )
    return Answer(
        Outcome.ADVISORY,
        f"{fixture.label} has no stop valve in its {sides} branch.",
        remedy=f"Put a stop in the {sides} branch, at the fixture.",
        elements=(fixture.element.guid, *(t.segment.key for t in lacking if t.segment is not None)),
    )


def _stops_modelled(context: Context) -> bool:
    return any(has_stop(f, t) for f in context.plumbing.supply.fixtures for t in f.taps)


RULES = (main_shutoff_valve, fixture_stop)
