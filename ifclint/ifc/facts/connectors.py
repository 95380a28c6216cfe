"""Pipes that are no piping: what connects a fixture or appliance to its stop or shutoff.

Hoses, flexible tubes and risers are made to what they connect, and sold to a length. They are known
by where they are; what one is called is seldom said.
"""

from math import dist

from ifclint.ifc.elements import (
    CONNECTOR,
    LONGEST_CONNECTOR_M,
    WATER_SUPPLY,
    Basis,
    Confidence,
    Element,
    Joint,
    Role,
    System,
    joined_to,
)

BY_PLACE = Basis("between a stop and what it serves", Confidence.INFERRED)
STOPS = frozenset({"isolating", "gas-shutoff", "hammer-arrester"})
SERVED = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
MOST_PIECES = 16  # pipes and fittings between a stop and what it serves
MADE_OF_TUBE = frozenset({"stainless steel", ""})  # of gas connectors; "": not stated


def tell_connectors(elements: list[Element], joints: list[Joint]) -> None:
    """Mark the pipes that lead from a stop to what it serves, and nowhere else, as its connector.

    In gas piping only what is of corrugated steel: a rigid pipe behind the shutoff is piping.
    """
    if not any(e.role is Role.VALVE and e.kind in STOPS for e in elements):
        return
    beside = joined_to(joints)
    for served, near in beside.items():
        if elements[served].role in SERVED:
            for first in near:
                for i in _to_a_stop(first, served, elements, beside):
                    elements[i].kind, elements[i].basis["kind"] = CONNECTOR, BY_PLACE


def _to_a_stop(
    first: int, served: int, elements: list[Element], beside: dict[int, list[int]]
) -> list[int]:
    """The pipes between what is served and its stop; none where they are too long, branch, or are
    piping."""
    pipes: list[int] = []
    before, here, length_m = served, first, 0.0
    for _ in range(MOST_PIECES):
        element = elements[here]
        if element.role is Role.VALVE and element.kind in STOPS:
            return pipes
        if element.role is Role.PIPE and _may_be(element):
            length_m += _length_m(element)
            pipes.append(here)
        elif element.role is not Role.FITTING:
            return []
        further = [n for n in beside[here] if n != before]
        if len(further) != 1 or length_m > LONGEST_CONNECTOR_M:
            return []
        before, here = here, further[0]
    return []


def _may_be(element: Element) -> bool:
    if element.system is System.GAS:
        is_steel = element.material == "stainless steel"
        return is_steel or (element.kind == "flexible" and element.material in MADE_OF_TUBE)
    return element.system in WATER_SUPPLY


def _length_m(element: Element) -> float:
    if element.length_m is not None:
        return element.length_m
    places = element.places
    return dist(places[0], places[-1]) if len(places) > 1 else float("inf")
