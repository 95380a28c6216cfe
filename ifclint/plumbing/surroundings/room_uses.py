"""What rooms are for, by their names."""

from __future__ import annotations

from ifclint.plumbing.words import says_text

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
    """ "bedroom", "bathroom", "toilet-room", "surgery", "storeroom", "storage-closet", "closet" (of
    what is not told), "" for any other use."""
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
