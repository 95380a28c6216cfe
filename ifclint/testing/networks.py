"""Tiny networks written as text, for the cases of rules.

A network is one line an element: what it is, its nominal size where it has one, its name, facts,
and its ends in feet (x y z), with ">" between. Ends at the same point are joined. A line may name
the system, else it is sanitary drainage:

    water-closet         WC    0 0 0
    pipe 3               P1    0 0 0 > 0 0 -1
    long-sweep 3         B1    0 0 -1 > 0.2 0 -1.2
    pipe 3               P2    0.2 0 -1.2 > 10 0 -1.404
    sewer-connection     SEWER 10 0 -1.404

Facts are written key=value: material=PVC space=Bath storey=Upper system=vent flush_volume_gal=1.28.
A line of facts alone holds for all lines after it that say nothing else:

    system=cold_water material=copper
    water-meter 0.75     M     in 0 0 0 > out 1 0 0
    pipe 0.75            P1    1 0 0 > 20 0 0
    water-heater         WH    cold 20 0 0 > hot 20 1 0
    lavatory             L     hot 30 1 0 > cold 30 0 0

Words before an end's place tell its flow ("in", "out") and service ("cold", "hot", "gas", "flue",
"vent", "relief"). Walls, slabs, roofs, windows, doors, studs, joists, chimneys, chutes, ducts,
casework, an air-intake and an air-unit are lines too, from their low to their high corner: wall W
exterior=yes bears=no 0 0 0 > 9 1 9; a pitched roof, one foot thick, tells along which side it
rises: roof R rises=y 0 0 20 > 30 20 31; a door which ways it swings: door D swings=+x,-x 0 0 0 > 3
0.2 7; a wall or duct that it stands or lies aslant: duct D shape=aslant 0 0 8 > 9 9 9. So are
rooms: room Bath_2 storey=Upper 0 0 10 > 8 6 18; and storeys, with their elevation: storey Upper 10.
The fact called=Seismic_strap gives a name of several words; a "thing" is nothing of the plumbing,
nor are a "hanger", a "nail-plate", a "gutter" and a "scupper". The facts at=1,2,3 and
box=0,0,0,1,1,3 give the place of an element and its low and high corner, turned=30 how far it is
turned in plan (degrees); via=1,2,3;4,5,6 where the axis of a pipe bends; leads=Part_7 what else,
which is not read as plumbing, it is joined to. Of a line with unplaced=yes the places tell only
what is joined: the model does not say where it is."""

from collections import defaultdict
from collections.abc import Callable, Mapping
from functools import cache
from itertools import product
from math import dist, isfinite
from typing import TypeVar

from ifclint import network
from ifclint.codes.changes import near
from ifclint.engineering.extents import mean
from ifclint.errors import InputError
from ifclint.ifc.elements import (
    Element,
    End,
    Joint,
    Leaf,
    Model,
    Note,
    Place,
    Point,
    Role,
    Space,
    Storey,
    Surface,
    System,
)
from ifclint.ifc.facts.vocabulary import kinds_of
from ifclint.ifc.joints.flue_ducts import tell_flue_ends
from ifclint.ifc.joints.relief_lines import tell_relief_lines
from ifclint.network import Network

T = TypeVar("T")
M_PER_FT = 0.3048
_ROLES: dict[str, Role] = {
    **dict.fromkeys(("pipe",), Role.PIPE),
    **dict.fromkeys(
        (
            "p-trap", "s-trap", "drum-trap", "floor-trap", "bottle-trap", "running-trap", "trap",
            "bell-trap", "mechanical-trap", "crown-vented-trap",
        ),
        Role.TRAP,
    ),
    **dict.fromkeys(("cleanout", "two-way"), Role.CLEANOUT),
    **dict.fromkeys(("vent-through-roof", "air-admittance-valve"), Role.VENT_TERMINAL),
    **dict.fromkeys(("sewer-connection", "septic-tank", "manhole", "sump"), Role.CHAMBER),
    **dict.fromkeys(("grease", "oil", "sand", "solids", "neutralizer", "lint"), Role.INTERCEPTOR),
    **dict.fromkeys(
        (
            "dishwasher-appliance", "clothes-washer-appliance", "furnace", "range", "dryer",
            "fireplace", "unit-heater", "pool-heater", "generator", "air-conditioner",
            "water-softener", "water-filter", "beverage-dispenser", "refrigerator",
            "coffee-machine", "irrigation", "fire-sprinklers", "chemical-dispenser",
            "pressure-washer", "cooling-tower", "swimming-pool", "sterilizer", "washer-disinfector",
            "dialysis-machine",
            "humidifier", "laboratory-outlet", "laboratory-burner", "appliance",
        ),
        Role.APPLIANCE,
    ),
    **dict.fromkeys(
        (
            "thing", "hanger", "nail-plate", "gutter", "scupper", "solar-collector",
            "fire-suppression", "heat-exchanger",
        ),
        Role.OTHER,
    ),
    **dict.fromkeys(
        (
            "isolating", "relief", "pressure-reducing", "check", "backflow-preventer", "mixing",
            "hammer-arrester", "vacuum-breaker", "vacuum-relief", "gas-shutoff", "backwater",
            "faucet", "flushometer", "valve", "drain",
        ),
        Role.VALVE,
    ),
    **dict.fromkeys(("pump",), Role.PUMP),
    **dict.fromkeys(
        (
            "fitting", "bend", "quarter-bend", "sixth-bend", "eighth-bend", "sixteenth-bend",
            "long-sweep", "short-sweep", "closet-bend", "closet-flange", "coupling", "reducer",
            "tee", "sanitary-tee", "double-sanitary-tee", "wye", "double-wye", "combination",
            "double-combination", "double-fixture-fitting", "cleanout-tee", "cross", "cap",
            "sediment-trap", "manifold", "air-gap", "heel-inlet-bend", "side-inlet-bend",
            "condensate-neutralizer", "damper", "in-line-device", "tie-in", "exit",
        ),
        Role.FITTING,
    ),
}  # fmt: skip
_NO_KIND = ("pipe", "fitting", "fixture", "valve", "trap", "appliance", "thing")
_NAMED = {
    "standpipe": (Role.FIXTURE, "clothes-washer"),
    "water-meter": (Role.METER, "water"),
    "water-heater": (Role.HEATER, "storage"),
    "tankless-heater": (Role.HEATER, "tankless"),
    "boiler": (Role.HEATER, "boiler"),
    "expansion-tank": (Role.TANK, "expansion"),
    "storage-tank": (Role.TANK, "storage"),
    "fuel-tank": (Role.TANK, "fuel"),
    "pressure-tank": (Role.TANK, "pressure"),
    "gas-meter": (Role.METER, "gas"),
    "gas-regulator": (Role.REGULATOR, "gas"),
}
SURFACES = (
    "wall", "slab", "roof", "window", "door", "stud", "joist", "terrain",
    "chimney", "chute", "duct", "air-intake", "air-unit", "casework",
)  # fmt: skip
_SERVICES = {
    "cold": System.COLD_WATER, "hot": System.HOT_WATER, "gas": System.GAS, "flue": System.FLUE,
    "vent": System.VENT, "relief": System.RELIEF,
}  # fmt: skip
_SWINGS = {"+x": (1.0, 0.0), "-x": (-1.0, 0.0), "+y": (0.0, 1.0), "-y": (0.0, -1.0)}
_PLACES = ("storey", "space", "material", "system_name")


@cache
def known_words() -> frozenset[str]:
    """The words that a line may begin with: what can be drawn in a test network."""
    fixtures = kinds_of(Role.FIXTURE) - {""}
    return frozenset(
        {*_ROLES, *_NAMED, *fixtures, "fixture", "dishwasher", *SURFACES, "storey", "room"}
    )


def read_network(text: str, storeys: tuple[Storey, ...] = ()) -> Network:
    """The network of a text. Raises InputError for a line that cannot be read."""
    model = Model(storeys=list(storeys))
    stated: dict[str, str] = {}
    for line in filter(None, (line.partition("#")[0].strip() for line in text.splitlines())):
        words = line.split()
        if all("=" in word for word in words):
            stated |= dict(word.split("=", 1) for word in words)
            continue
        if words[0] == "storey":
            model.storeys.append(Storey(words[1], float(words[2]) * M_PER_FT))
            continue
        if words[0] == "room":
            model.spaces.append(_read(_room, line))
            continue
        if words[0] in SURFACES:
            model.surfaces.append(_read(_surface, line))
            continue
        element = _read(_parse, line, stated)
        model.elements.append(element)
        if "note" in element.properties:
            what = str(element.properties.pop("note")).replace("_", " ")
            model.notes.append(Note(what, "Mend the model.", element.guid))
        if "leads" in element.properties:
            model.leads_elsewhere[element.guid] = str(element.properties.pop("leads"))
    model.joints = _joints(model.elements)
    tell_relief_lines(model.elements, model.joints)
    tell_flue_ends(model.elements, model.joints)
    for element in model.elements:
        if element.properties.pop("unplaced", False):
            element.position, element.course = None, ()
            for end in element.ends:
                end.position = None
    return network.connect(model)


def _read(parse: Callable[..., T], line: str, *stated: Mapping[str, str]) -> T:
    try:
        return parse(line, *stated)
    except (ValueError, IndexError):
        raise InputError(f'Test network: cannot read the line "{line}".') from None


def _surface(line: str) -> Surface:
    """wall W1 exterior=yes 0 0 0 > 10 0.5 9"""
    kind, name, facts, low, high = _boxed(line)
    exterior = {"yes": True, "no": False}.get(facts.get("exterior", ""))
    leaves = tuple(_leaf(_SWINGS[w], low, high) for w in facts.get("swings", "").split(",") if w)
    called = facts.get("called", name).replace("_", " ")
    bears = {"yes": True, "no": False}.get(facts.get("bears", ""))
    corners = _pitched(facts, low, high)
    if kind in ("chimney", "chute", "duct") and "shape" not in facts:
        xs, ys, zs = zip(low, high, strict=True)
        corners = tuple(product(xs, ys, zs))
    outline = _plan_corners(low, high) if "shape" in facts else ()
    kind = kind.replace("-", " ")
    return Surface(name, kind, called, low, high, exterior, outline, corners, leaves, bears)


def _plan_corners(low: Point, high: Point) -> tuple[Place, ...]:
    (x1, y1, _), (x2, y2, _) = low, high
    return (x1, y1), (x2, y1), (x2, y2), (x1, y2)


def _leaf(way: Place, low: Point, high: Point) -> Leaf:
    """The leaf of a door, hinged at the low corner of its box, that swings one way."""
    along = 0 if way[0] == 0.0 else 1
    wide = high[along] - low[along]
    x, y = (low[k] if k == along or way[k] < 0 else high[k] for k in (0, 1))
    shut = (x + wide, y) if along == 0 else (x, y + wide)
    return (x, y), shut, (x + way[0] * wide, y + way[1] * wide)


def _pitched(facts: Mapping[str, str], low: Point, high: Point) -> tuple[Point, ...]:
    """The corners of a roof one foot thick that rises along one side of its box."""
    if "rises" not in facts:
        return ()
    along = "xy".index(facts["rises"])
    return tuple(
        (x, y, high[2] - up if (x, y)[along] == high[along] else low[2] + M_PER_FT - up)
        for x in (low[0], high[0])
        for y in (low[1], high[1])
        for up in (0.0, M_PER_FT)
    )


def _room(line: str) -> Space:
    """room Bath_2 storey=Upper 0 0 10 > 8 6 18"""
    _, name, facts, low, high = _boxed(line)
    return Space(name.replace("_", " "), facts.get("storey", ""), low, high)


def _boxed(line: str) -> tuple[str, str, dict[str, str], Point, Point]:
    kind, name, *rest = line.split()
    facts = dict(rest.pop(0).split("=", 1) for _ in list(rest) if "=" in rest[0])
    return kind, name, facts, *_box(*" ".join(rest).split(">"))


def _box(low_corner: str, high_corner: str) -> tuple[Point, Point]:
    low, high = _point(low_corner), _point(high_corner)
    if any(a > b for a, b in zip(low, high, strict=True)):
        raise ValueError("the low corner of a box lies above the high one")
    return low, high


def _parse(line: str, stated: Mapping[str, str]) -> Element:
    words = line.split()
    kind = words.pop(0)
    if kind not in (known := known_words()):
        raise InputError(f'Test network: there is no "{kind}" ({line}): {near(kind, known)}.')
    size = float(words.pop(0)) if _is_number(words[0]) else None
    name = words.pop(0)
    role = _ROLES.get(kind, Role.FIXTURE)
    element = Element(name, name=name, role=role, kind="" if kind in _NO_KIND else kind)
    if kind in _NAMED:
        element.role, element.kind = _NAMED[kind]
    element.size_in = size
    element.system = System.SANITARY
    for key, value in stated.items():
        _set(element, key, value)
    while words and "=" in words[0]:
        _set(element, *words.pop(0).split("=", 1))
    parts = [part.split() for part in " ".join(words).split(">") if part.strip()]
    points = [_point(" ".join(part[-3:])) for part in parts]
    element.ends = [_end(point, size, part[:-3]) for point, part in zip(points, parts, strict=True)]
    if role is Role.PIPE and len(points) == 2:
        if element.course:
            element.course = (points[0], *element.course, points[1])
        element.length_m = sum(dist(a, b) for a, b in element.runs)
    if element.position is None:
        by_ends = role is not Role.FITTING or len(points) < 3
        element.position = (mean(points) if points else None) if by_ends else points[1]
    return element


def _end(point: Point, size: float | None, words: list[str]) -> End:
    end = End(point, size)
    for word in words:
        if word in _SERVICES:
            end.system, end.name = _SERVICES[word], word
        elif word in ("in", "out"):
            end.flow = word
        else:
            raise ValueError(word)
    return end


def _set(element: Element, key: str, value: str) -> None:
    if key == "system":
        element.system = None if value == "none" else System(value.replace("_", " "))
    elif key in _PLACES:
        setattr(element, key, value.replace("_", " "))
    elif key == "slope":
        element.slope = float(value)
    elif key == "called":
        element.name = value.replace("_", " ")
    elif key == "kind":  # one that no code knows
        element.kind = value
    elif key == "object_type":
        element.object_type = value.replace("_", " ")
    elif key == "turned":
        element.turned_deg = float(value)
    elif key == "at":
        element.position = _point(value.replace(",", " "))
    elif key == "via":
        element.course = tuple(_point(place.replace(",", " ")) for place in value.split(";"))
    elif key == "box":
        numbers = value.split(",")
        element.box = _box(" ".join(numbers[:3]), " ".join(numbers[3:]))
    else:
        said = {"yes": True, "no": False}.get(value, value)
        element.properties[key] = float(value) if _is_number(value) else said


def _is_number(word: str) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def _point(text: str) -> Point:
    x, y, z = (float(word) * M_PER_FT for word in text.split())
    if not isfinite(x + y + z):
        raise ValueError(text)
    return (x, y, z)


def _joints(elements: list[Element]) -> list[Joint]:
    at: dict[tuple[int, ...], list[tuple[int, int]]] = defaultdict(list)
    for index, element in enumerate(elements):
        for number, end in enumerate(element.ends):
            if end.position is not None:
                at[tuple(round(x * 1e5) for x in end.position)].append((index, number))
    return [Joint(*first, *other) for first, *others in at.values() for other in others]
