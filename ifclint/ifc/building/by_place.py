"""What a place tells of its part: drains on a roof or outside that are classed otherwise take rain,
and a sink alone in a kitchen is its kitchen sink."""

from collections import Counter

from ifclint.engineering.extents import middle
from ifclint.ifc.elements import (
    Basis,
    Confidence,
    Element,
    Model,
    Role,
    Surface,
    System,
    ends_joined,
)
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
ON_A_ROOF = Basis("it stands on a roof and drains into storm drainage", Confidence.INFERRED)
FLOOR_DRAIN, ROOF_DRAIN = "floor-drain", "roof-drain"
IN_THE_GROUND = Basis("a drain in the ground by its name", Confidence.INFERRED)
YARD = (
    "area drain", "areaway drain", "yard drain", "yard inlet", "yard gully", "catch basin",
    "grate inlet", "curb inlet", "drop inlet", "landscape drain", "courtyard drain",
    "driveway drain", "parking drain", "hofablauf", "hofeinlauf", "strassenablauf", "kolk",
    "straatkolk", "regard", "avaloir de voirie", "avaloir de cour", "sumidero de patio",
    "boca de tormenta",
)  # fmt: skip
IN_A_ROOF_M = 0.3  # its rim below the top of a slab that is the roof, at most. Ours, no source
ROOFS = frozenset({"roof", "slab"})


def tell_roof_drains(model: Model) -> None:
    """Make roof drains of floor drains that are joined to storm drainage alone and have a roof
    under their rim, and neither a room nor another roof over it."""
    drains = {
        i
        for i, e in enumerate(model.elements)
        if e.role is Role.FIXTURE and e.kind == FLOOR_DRAIN and e.box is not None
    }
    if not drains:
        return
    roofs = [s for s in model.surfaces if s.kind in ROOFS]
    for i, met in ends_joined(model.joints, drains).items():
        element = model.elements[i]
        services = {model.elements[other].system for _, (other, _) in met}
        if services == {System.STORM} and _is_on_a_roof(element, roofs, model):
            element.kind, element.basis["kind"] = ROOF_DRAIN, ON_A_ROOF


def tell_area_drains(model: Model) -> None:
    """Make floor drains of what is classed as a roof drain, but is called a drain of the yard and
    stands on no roof."""
    roofs = [s for s in model.surfaces if s.kind in ROOFS]
    for element in model.elements:
        if element.kind != ROOF_DRAIN or not is_classed_roof_drain(element):
            continue
        if _is_a_yards(element) and not (element.box and _is_on_a_roof(element, roofs, model)):
            element.kind, element.basis["kind"] = FLOOR_DRAIN, IN_THE_GROUND
            model.notes = [n for n in model.notes if (n.guid, n.topic) != (element.guid, "role")]


def is_classed_roof_drain(element: Element) -> bool:
    return element.predefined_type.upper() == "ROOFDRAIN"


def _is_a_yards(element: Element) -> bool:
    names = (element.name, element.type_name, element.object_type)
    return any(phrases_of(YARD).find(name) for name in names)


def _is_on_a_roof(drain: Element, roofs: list[Surface], model: Model) -> bool:
    assert drain.box is not None
    low, high = drain.box
    (x, y, _), rim = middle(low, high), high[2]
    over = [s for s in roofs if all(s.low[k] <= p <= s.high[k] for k, p in ((0, x), (1, y)))]
    under = [s for s in over if s.low[2] <= rim and s.high[2] - IN_A_ROOF_M <= rim]
    covered = any(s not in under for s in over)
    rooms = [s for s in model.spaces if s.holds((x, y, s.high[2]))]
    above_all = bool(rooms) and all(room.high[2] <= rim for room in rooms)
    return not covered and bool(under) and (above_all or any(s.kind == "roof" for s in under))


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
