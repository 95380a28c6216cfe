"""What rooms are for, by their names, and which lie beside each other."""

from __future__ import annotations

from math import prod

from ifclint.engineering.extents import shared_m
from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Element, Space
from ifclint.packs import Context
from ifclint.plumbing.surroundings.doorways import are_beside, spaces
from ifclint.plumbing.words import says_text

SAME = 0.01  # of the volume of two boxes
_MACHINES = (
    "heater*", "mech", "mechanical", "furnace", "boiler", "utility", "wh", "hwt", "hvac", "plant",
    "equipment", "tech*", "heizung*", "chaufferie", "caldera*",
)  # fmt: skip
_CLOSET = ("closet", "cupboard", "wardrobe", "wic", "placard", "armario", "schrank", "kast")
_STORAGE = (
    "storage closet", "linen closet", "linen", "coat closet", "coats", "clothes closet",
    "walk in closet", "walk in", "wic", "wardrobe", "pantry closet", "broom closet",
    "master closet", "bedroom closet",
)  # fmt: skip
_USES = {
    "bedroom": (
        "bedroom", "bed room", "master bed", "sleeping*", "dormitory", "dorm room", "guest room",
        "nursery", "bunk room", "chambre", "schlafzimmer", "slaapkamer", "dormitorio",
        "habitacion", "habitación", "soverom", "спальн*",
    ),
    "bathroom": (
        "bath", "bathroom", "shower room", "ensuite", "en suite", "badezimmer", "bad",
        "salle de bain", "salle d eau", "baño", "bano", "badkamer", "ванн*",
    ),
    "toilet-room": (
        "toilet", "toilet room", "powder room", "powder", "restroom", "rest room", "washroom",
        "water closet", "wc", "half bath", "aseo", "toilette", "туалет*",
    ),
    "surgery": ("surgery", "surgical*", "operating room", "operating theatre"),
}  # fmt: skip
REFUSED = frozenset({"bedroom", "bathroom", "toilet-room", "surgery"})


def use_of(name: str) -> str:
    """ "bedroom", "bathroom", "toilet-room", "surgery", "storage-closet", "closet" (for what is not
    told), "" for any other use."""
    if says_text(name, _MACHINES):
        return ""
    if says_text(name, _STORAGE):
        return "storage-closet"
    if says_text(name, _CLOSET):
        return "closet"
    return next((use for use, words in _USES.items() if says_text(name, words)), "")


def space_of(element: Element, context: Context) -> Space | None:
    """The room an element stands in: of its space's name, and around it where several are."""
    named = [s for s in spaces(context) if s.name == element.space]
    at = element.position
    here = context.plumbing.surroundings.rooms_around(at) if at is not None else []
    around = [s for s in here if s.name == element.space]
    on_storey = [s for s in named if s.storey == element.storey]
    return next(iter([*around, *on_storey, *named]), None)


def rooms_named(name: str, storey: str, context: Context) -> list[Space]:
    """The rooms of a name, on a storey where there are several."""
    named = [s for s in spaces(context) if s.name == name]
    return [s for s in named if s.storey == storey] or named


def volume_ft3(space: Space, context: Context) -> tuple[float, float]:
    """Between what volumes a room lies: no more than its box, less what other rooms have of it."""
    own = _common_m3(space, space)
    common = (_common_m3(space, s) for s in spaces(context) if s is not space)
    others = sum(c for c in common if c < own * (1 - SAME))  # one that holds it all is a zone
    return max(own - others, 0.0) / M_PER_FT**3, own / M_PER_FT**3


def touching(space: Space, context: Context) -> list[Space]:
    """The rooms beside a room, on its storey."""
    return [s for s in spaces(context) if s is not space and are_beside(space, s)]


def _common_m3(a: Space, b: Space) -> float:
    sides = shared_m((a.low, a.high), (b.low, b.high))
    return prod(sides) if min(sides) > 0.0 else 0.0
