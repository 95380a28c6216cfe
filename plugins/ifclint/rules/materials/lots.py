"""The pipe of a building by service, material and place: what a code allows or refuses at once."""

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import takewhile

from ifclint.codes import Row, Table
from ifclint.ifc.elements import CONNECTOR, Element, Location, Point, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing.drainage.chemical import called_acid, in_systems, neutralized
from ifclint.plumbing.drainage.hoses import hoses
from ifclint.plumbing.flow.subject import place_of
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import copper_type, material_words, says_text
from ifclint.rules.materials.service_entry import service_piping

SERVICES = {
    System.COLD_WATER: "cold", System.WATER: "cold", System.HOT_WATER: "hot",
    System.HOT_WATER_RETURN: "hot", System.SANITARY: "drain", System.VENT: "vent",
    System.STORM: "storm", System.RELIEF: "relief",
}  # fmt: skip
PAN = "pan drain"  # of a water heater: by the IPC and IRC of the materials of water distribution
WORDS = {
    "cold": "cold water", "hot": "hot water", "drain": "drain", "vent": "vent",
    "storm": "storm drain", "relief": "relief discharge", "acid waste": "acid waste",
    "acid vent": "vent of acid waste", PAN: "the drain of a heater's pan",
}  # fmt: skip
ACID = {  # what of a service that is called so carries acid before it is neutralized, and its vents
    "drain": "acid waste", "vent": "acid vent",
}  # fmt: skip
PLACES = {
    "above": "above ground in the building",
    "below": "in the ground under the building",
    "outside": "outside the building",
}
BURIED = "buried"  # outside, where the table has a word for the ground alone
IN_FLOOR_M = 0.05  # pipe no deeper than this below the lowest floor lies in it
INITIALS = frozenset({"pvc", "cpvc", "abs", "pex", "pe-rt"})
SHOWN = 500  # elements listed of one lot
_CLOSER = {  # what the name says of a material: words -> what the table calls it
    ("steel", ("black steel", "black iron", "black pipe")): "black steel",
    ("polyethylene", ("pe rt", "pert", "raised temperature")): "pe-rt",
    ("cast iron", ("high silicon", "silicon iron", "acid resistant")): "silicon iron",
}
NOT_POTABLE = (
    "non potable", "nonpotable", "reclaimed", "recycled water", "irrigation", "sprinkler*",
    "rainwater", "rain water", "grey water", "greywater", "gray water", "graywater",
)  # fmt: skip


@dataclass(eq=False)
class Lot:
    """All pipe of one service and material in one place; of no material, that of all services.

    `places` holds every place in which it may lie, as far as walls and floors tell.
    """

    sized_by = frozenset[System]()  # no size bears on it

    service: str
    material: str
    places: tuple[str, ...]
    pipes: list[Element]
    what = "pipe"

    @property
    def key(self) -> str:
        return self.pipes[0].key if self.material else "pipe of unknown material"

    @property
    def label(self) -> str:
        count = f"{len(self.pipes)} {self.what}{'s' if len(self.pipes) > 1 else ''}"
        if not self.material:
            return f"{count} of unknown material"
        where = f" {self.where}" if self.where else ""
        return f"{count} of {told(self.material)} for {WORDS[self.service]}{where}"

    @property
    def where(self) -> str:
        """The one place in which it lies, in words; "" where it may be one of several."""
        words = {**PLACES, BURIED: "in the ground outside the building"}
        return words[self.places[0]] if len(self.places) == 1 else ""

    def allowed_by(self, row: Row) -> set[str]:
        """What a row of the table says of every place in which it may lie; of what is listed for
        pan drains, wherever they lie."""
        if self.service == PAN:
            return {row.text("above")}
        return {row.text("below" if place == BURIED else place) for place in self.places}

    @property
    def system(self) -> str:
        first = self.pipes[0].system
        return first.value if first is not None else "not known"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(pipe.guid for pipe in self.pipes[:SHOWN]))

    @property
    def location(self) -> Location:
        first = self.pipes[0]
        return place_of(first, middle_of(first))


@derived
def lots(context: Context) -> list[Lot]:
    """The pipe of all services that the code's table of materials knows, in the model's order."""
    table = context.code.table("material_uses")
    found = defaultdict[tuple[str, str, tuple[str, ...]], list[Element]](list)
    for index, pipe in enumerate(context.plumbing.network.elements):
        service = service_of(index, context) if pipe.role is Role.PIPE else ""
        if not service or index in not_potable(context):
            continue
        if is_product(index, context):
            continue
        if pipe.material:
            material = _as_listed(pipe, service, table)
            found[service, material, places_for(pipe, service, material, context)].append(pipe)
        else:
            found["", "", ()].append(pipe)
    return [Lot(*key, pipes) for key, pipes in found.items()]


def is_product(index: int, context: Context) -> bool:
    """Whether an element is of a hose that comes with its appliance, or a connector, and of no
    material that the code lists or refuses: it is a product of its own."""
    element = context.plumbing.network.elements[index]
    is_connector = element.kind == CONNECTOR
    if not is_connector and not (element.material and index in _hoses(context)):
        return False
    return not context.code.table("material_uses").where(material=material_of(element))


@derived
def _hoses(context: Context) -> set[int]:
    return hoses(context.plumbing.network)


def service_of(index: int, context: Context) -> str:
    """What an element carries, as the table of materials calls it; "" where that knows it not."""
    element = context.plumbing.network.elements[index]
    is_of_heater = _of_pans(context).get(element.guid)
    if is_of_heater or (is_of_heater is False and _is_for_water(element, context)):
        return PAN
    known = _services(context)
    service = SERVICES.get(element.system, "") if element.system is not None else ""
    acid = ACID.get(service, "")
    if acid in known and index in called_acid(context) and not neutralized(context)[index]:
        return acid
    return service if service in known else ""


def row_of(material: str, service: str, context: Context) -> Row | None:
    """What the code's table of materials says of one for a service; of pan drains, what it says of
    hot water, which is distributed in the building alone."""
    row = context.code.table("material_uses").one(material=material, service=listed_as(service))
    if row is None or service != PAN:
        return row
    return replace(row, clause=context.code.limit("pan_drain_in").clause)


def listed_as(service: str) -> str:
    """The service by which the code's table lists what may be used for one."""
    return "hot" if service == PAN else service


@derived
def _of_pans(context: Context) -> dict[str, bool]:
    """The piping that drains pans, to where other water comes in, where the code tells of what that
    of water heaters is; whether a heater is known to stand in the pan, or nothing is."""
    pans = context.plumbing.heaters.pans if context.code.family != "upc" else []
    found: dict[str, bool] = {}
    for pan in pans:
        if pan.serves is None or pan.serves.role is Role.HEATER:
            own = takewhile(pan.line.is_alone_at, pan.line.elements)
            found |= {e.guid: pan.serves is not None for e in own}
    return found


def _is_for_water(element: Element, context: Context) -> bool:
    """Whether it is of a material that hot water may be distributed in, in every place."""
    row = row_of(material_of(element), PAN, context)
    return row is not None and {row.text(place) for place in PLACES} == {"yes"}


@derived
def _services(context: Context) -> frozenset[str]:
    """Those that the code's table of materials knows."""
    return frozenset(row.text("service") for row in context.code.table("material_uses").rows)


@derived
def not_potable(context: Context) -> frozenset[int]:
    """What is itself, or by its system, called water that nobody drinks."""
    plumbing = context.plumbing
    return in_systems(plumbing, NOT_POTABLE) | {*plumbing.numbers_saying(NOT_POTABLE)}


def told(material: str) -> str:
    """A material as the trade writes it: "PVC", "copper type M"."""
    return " ".join(word.upper() if word in INITIALS else word for word in material.split())


def material_of(element: Element) -> str:
    """The material, more closely where its own name or that of the element tells."""
    for (material, words), closer in _CLOSER.items():
        if element.material == material and says_text(material_words(element), words):
            return closer
    return "copper-dwv" if copper_type(element) == "DWV" else element.material


def _as_listed(pipe: Element, service: str, table: Table) -> str:
    """The material of a pipe, by its weight where a name tells and the table has a row of it."""
    weight = copper_type(pipe)
    by_weight = f"copper type {weight}"
    is_listed = weight and table.one(material=by_weight, service=service) is not None
    return by_weight if is_listed else material_of(pipe)


def places_for(part: Element, service: str, material: str, context: Context) -> tuple[str, ...]:
    """Where a part may lie, as its material is judged: anywhere, where the table says the same of
    every place; what leads the water to the building, of a material that is listed for it, counts
    as outside also where it ends inside."""
    if service == PAN or _is_alike_everywhere(context, material, service):
        return tuple(PLACES)
    row = row_of(material, service, context)
    if row is None:
        return places_of(part, service, context)
    if service == "cold" and row.text("outside") == "yes" and part.guid in service_piping(context):
        return ("outside",)
    places = places_of(part, service, context)
    by_ground = not row.text("outside") and row.text("below") == "no"
    is_buried = places == ("outside",) and by_ground and _is_buried(part, context)
    return (BURIED,) if is_buried else places


@derived
def _is_alike_everywhere(context: Context, material: str, service: str) -> bool:
    """Whether the table says one thing of a material for a service, wherever it lies."""
    row = row_of(material, service, context)
    said = {row.text(place) for place in PLACES} if row is not None else set[str]()
    return len(said) == 1 and "" not in said


def _is_buried(part: Element, context: Context) -> bool:
    """Whether all of a part outside the building lies in the ground."""
    ground = context.ground
    points = part.places
    return bool(points) and ground is not None and all(p[2] < ground.low_m for p in points)


def places_of(pipe: Element, service: str, context: Context) -> tuple[str, ...]:
    """Where a pipe may lie."""
    point: Point | None = middle_of(pipe)
    if point is None:
        return tuple(PLACES)
    around = context.plumbing.surroundings
    if around.footprint is not None and not around.footprint.holds(point):
        return ("outside",)
    below = context.is_in_ground((point[0], point[1], point[2] + IN_FLOOR_M))
    inside = {True: ("below",), False: ("above",), None: ("above", "below")}[below]
    if around.footprint is not None or (below is False and service not in ("cold", "hot")):
        return inside
    return (*inside, "outside")
