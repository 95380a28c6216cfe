"""Sinks of no stated kind that stand alone in a kitchen."""

from __future__ import annotations

from collections import Counter

from ifclint.ifc.elements import Basis, Confidence, Element, Model, Role
from ifclint.ifc.facts.vocabulary import phrases_of

SINK, KITCHEN_SINK = "sink", "kitchen-sink"
ALONE_IN_A_KITCHEN = Basis("a sink alone in its room, a kitchen by its name", Confidence.INFERRED)
KITCHENS = (
    "kitchen", "kitchenette", "kitchen dining", "kuche", "küche", "kochnische", "cuisine", "cocina",
    "keuken", "cucina", "cozinha", "kuchnia", "kjokken", "kök", "keittiö", "кухня",
)  # fmt: skip
NO_HOUSEHOLDS = (
    "commercial", "restaurant", "catering", "production", "main kitchen", "servery", "cafe",
    "canteen", "school", "hotel", "grosskuche", "großküche", "gewerbekuche", "professionnelle",
    "collective", "industrial", "grootkeuken", "bedrijfskeuken",
)  # fmt: skip
OF_OTHER_USE = (
    "prep", "preparation", "hand", "pot", "pots", "scullery", "bar", "lab", "laboratory", "mop",
    "service", "utility", "slop", "compartment", "clinical", "janitor", "cleaner",
)  # fmt: skip
BASINS = frozenset({SINK, KITCHEN_SINK, "lavatory", "bar-sink", "mop-sink", "laundry-sink"})


def tell_kitchen_sinks(model: Model) -> None:
    """Make a kitchen sink of a sink that is told to be one of no kind, where a household's kitchen
    holds it and no other basin: several are those of a restaurant."""
    basins = [e for e in model.elements if e.role is Role.FIXTURE and e.kind in BASINS and e.space]
    many = Counter(_room(e) for e in basins)
    for element in basins:
        if element.kind != SINK or many[_room(element)] > 1 or not _is_kitchen(element.space):
            continue
        other = phrases_of(OF_OTHER_USE)
        if not any(map(other.find, (element.name, element.type_name))):
            element.kind, element.basis["kind"] = KITCHEN_SINK, ALONE_IN_A_KITCHEN


def _room(element: Element) -> tuple[str, str]:
    return element.storey, element.space


def _is_kitchen(room: str) -> bool:
    return bool(phrases_of(KITCHENS).find(room)) and not phrases_of(NO_HOUSEHOLDS).find(room)
