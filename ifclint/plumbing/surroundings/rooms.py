"""Rooms: what they are for by their names, which lie beside each other, what is hollow and what
passes through it."""

from collections import defaultdict
from dataclasses import replace
from itertools import product
from math import sqrt

from ifclint.engineering.extents import sides_m
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Point, Space, Surface
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.footprint import beyond_faces
from ifclint.plumbing.words import says_text

ROUND_EDGE = (1 - sqrt(0.5)) / 2  # of the side of a box lies beside the square in a round body
ELEVATORS = ("elevator", "elevator shaft", "hoistway", "lift shaft", "dumbwaiter")
BESIDE_M = 0.5  # rooms no farther apart share a wall. Ours, no source
_MACHINES = (
    "heater*", "mech", "mechanical", "furnace", "boiler", "utility", "wh", "hwt", "hvac", "plant",
    "equipment", "tech*", "heizung*", "chaufferie", "caldera*", "laundry", "washer",
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
    "storeroom": ("storeroom", "store room", "storage", "storage room", "stock room", "stockroom"),
    "gathering": (
        "classroom*", "class room", "lecture hall", "auditorium", "sanctuary", "gymnasium",
        "patient room", "ward", "day care", "daycare", "kindergarten",
    ),
    "surgery": ("surgery", "surgical*", "operating room", "operating theatre"),
}  # fmt: skip
_GARAGES = (
    "garage*", "carport", "car park*", "parking", "service bay", "repair bay", "vehicle bay",
    "truck bay", "lube bay", "auto bay", "auto repair*", "auto service", "auto shop",
    "repair garage", "apparatus bay", "vehicle maintenance", "motor pool", "kfz werkstatt",
    "autowerkstatt", "parkhaus", "atelier mecanique", "atelier auto*", "taller mecanico",
    "taller automotriz", "taller mecánico", "garaje*", "cochera*", "estacionamiento*",
    "autowerkplaats", "werkplaats voertuigen",
)  # fmt: skip
REFUSED = frozenset({"bedroom", "bathroom", "toilet-room", "surgery"})


def use_of(name: str) -> str:
    """ "bedroom", "bathroom", "toilet-room", "surgery", "gathering" (of a school, ward or hall),
    "storeroom", "storage-closet", "closet" (of what is not told), "" for any other use."""
    if says_text(name, _MACHINES):
        return ""
    if says_text(name, _STORAGE):
        return "storage-closet"
    if says_text(name, _CLOSET):
        return "closet"
    return next((use for use, words in _USES.items() if says_text(name, words)), "")


def closet_of(name: str) -> str:
    """The use of the room that a closet is one of by its name ("Bedroom Closet"); "" of any other,
    and of a room that is no closet."""
    if use_of(name) not in ("closet", "storage-closet"):
        return ""
    return next((u for u in ("bedroom", "bathroom") if says_text(name, _USES[u])), "")


def is_garage(name: str) -> bool:
    """Whether vehicles stand, or are serviced, in a room, by its name: "Doppelgarage" is one."""
    return says_text(name, _GARAGES) or "garage" in name.lower()


@derived
def spaces(context: Context) -> list[Space]:
    """The rooms of the model."""
    return context.plumbing.network.model.spaces


def opens_into(space: Space, context: Context) -> list[str] | None:
    """The names of the rooms behind its doors, "" for what is no room; None where none is drawn."""
    found: list[str] = []
    for both in _doors(context).get(id(space), ()):
        found += [s.name if s is not None else "" for s in both if s is not space]
    return found or None


def are_beside(a: Space, b: Space) -> bool:
    """Whether a wall at most lies between two rooms, at one height."""
    gaps = (max(a.low[k] - b.high[k], b.low[k] - a.high[k]) for k in (0, 1))
    level = all(at_most(gap, BESIDE_M, "m") for gap in gaps)
    return level and lies_above(min(a.high[2], b.high[2]), max(a.low[2], b.low[2]))


@derived
def _doors(context: Context) -> dict[int, list[list[Space | None]]]:
    """The rooms on both sides of every door of each room, by its identity."""
    found = defaultdict[int, list[list[Space | None]]](list)
    for door in context.plumbing.surroundings.of_kind("door"):
        both = _sides(door, context)
        for room in {id(s) for s in both if s is not None}:
            found[room].append(both)
    return found


def _sides(door: Surface, context: Context) -> list[Space | None]:
    """The rooms on both sides of a door; None for a side on which there is none."""
    places = beyond_faces(door.low, door.high)
    rooms_around = context.plumbing.surroundings.rooms_around
    return [next(iter(rooms_around(place)), None) for place in places]


def rooms_called(words: tuple[str, ...], but: tuple[str, ...], context: Context) -> list[Space]:
    """The rooms whose names say one of some words, and none of others."""
    rooms = spaces(context)
    return [s for s in rooms if says_text(s.name, words) and not says_text(s.name, but)]


def passes_hollow(a: Point, b: Point, hollow: Surface) -> bool | None:
    """Whether the straight line between two points lies in a chimney, chute or duct for some of its
    length; None where it lies in its box, but perhaps beside its body.

    A body that fills its box may be round: what lies within its middle, across, is surely in it.
    """
    if not passes(a, b, hollow):
        return False
    fills = set(product(*zip(hollow.low, hollow.high, strict=True))) <= set(hollow.corners)
    return True if fills and passes(a, b, _middle(hollow)) else None


def _middle(hollow: Surface) -> Surface:
    """What lies in a round body of a box, whichever its axis: all but its edges."""
    sides = sides_m(hollow.low, hollow.high)
    along = max(range(3), key=sides.__getitem__)
    x, y, z = (0.0 if k == along else side * ROUND_EDGE for k, side in enumerate(sides))
    (left, front, under), (right, back, top) = hollow.low, hollow.high
    low, high = (left + x, front + y, under + z), (right - x, back - y, top - z)
    return replace(hollow, low=low, high=high)


def passes(a: Point, b: Point, space: Space | Surface) -> bool:
    """Whether the straight line between two points lies in a box for some of its length."""
    first, last = 0.0, 1.0
    for k in range(3):
        step = b[k] - a[k]
        if step == 0.0:
            if not space.low[k] < a[k] < space.high[k]:
                return False
            continue
        near, far = sorted(((space.low[k] - a[k]) / step, (space.high[k] - a[k]) / step))
        first, last = max(first, near), min(last, far)
    return last > first
