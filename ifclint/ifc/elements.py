"""What reading a model yields: elements, their ends, the joints between them. Plain data.

Lengths and positions are metres in the coordinate system of the (joined) model, z up.
A nominal pipe size is a designation, not a length: `size_in` is the nominal pipe size in
inches of the trade series (1.25, 1.5, 2, 3, 4 ...), whatever unit the model was written in.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple

LONGEST_MARK = 10  # characters
_MARK = re.compile(r"\b[A-Z]{1,4}-?\d{1,3}[A-Za-z]?\b")
_NUMBER = re.compile(r":\d+$")

Point = tuple[float, float, float]
Box = tuple[Point, Point]  # low and high corner
Place = tuple[float, float]  # seen from above


class Role(StrEnum):
    """What a plumber would call the element."""

    PIPE = "pipe"
    FITTING = "fitting"
    TRAP = "trap"
    CLEANOUT = "cleanout"
    FIXTURE = "fixture"
    VENT_TERMINAL = "vent terminal"
    VALVE = "valve"
    METER = "meter"
    REGULATOR = "regulator"
    PUMP = "pump"
    TANK = "tank"
    HEATER = "water heater"
    APPLIANCE = "appliance"
    CHAMBER = "chamber"
    INTERCEPTOR = "interceptor"
    OTHER = "other"


class System(StrEnum):
    """The service a pipe is in."""

    SANITARY = "sanitary drainage"
    VENT = "vent"
    STORM = "storm drainage"
    CONDENSATE = "condensate"
    COLD_WATER = "cold water"
    HOT_WATER = "hot water"
    HOT_WATER_RETURN = "hot water return"
    WATER = "water"  # potable, cold or hot not stated
    RELIEF = "relief discharge"
    GAS = "fuel gas"
    HEATING = "heating or cooling"
    FIRE = "fire protection"
    FLUE = "flue"
    NON_POTABLE = "non-potable water"  # reclaimed, rain or grey water that is led to closets
    OTHER = "other"


class Confidence(StrEnum):
    """How far a fact can be trusted."""

    STATED = "stated"  # the model says it in so many words: an enumeration, a property, a port
    WORDS = "read from words"  # the words of a name were understood
    SHAPE = "measured on the shape"
    INFERRED = "inferred"  # neither stated nor drawn: spread along joints, taken from the height


class Basis(NamedTuple):
    """Where a fact was known from, in words a BIM author can act on, and how far it can be
    trusted."""

    words: str
    confidence: Confidence = Confidence.STATED
    of_any_drain: bool = False  # of a system: "drainage", which may be that of rain

    def __str__(self) -> str:
        return self.words


class Properties(dict[str, float | str | bool]):
    """Facts of one element that property sets and words told, by name, in SI (the unit is in the
    name): numbers, texts and flags. Each is asked for as what it is; None where it is not stated,
    or told as something else."""

    __slots__ = ()

    def number(self, name: str) -> float | None:
        found = self.get(name)
        if isinstance(found, bool) or not isinstance(found, (int, float)):
            return None
        return float(found)

    def positive(self, name: str) -> float | None:
        """A number above 0; None where there is none, or one that nothing can have."""
        found = self.number(name)
        return found if found is not None and found > 0 else None

    def text(self, name: str) -> str:
        """The text in lower case, "" where there is none."""
        found = self.get(name)
        return found.lower() if isinstance(found, str) else ""

    def flag(self, name: str) -> bool | None:
        found = self.get(name)
        return found if isinstance(found, bool) else None


PASSED_DEVICE = "in-line-device"  # that is not understood, and that what flows may pass
CONNECTOR = "connector"  # the kind of a pipe that leads from a stop to what it serves alone
LONGEST_CONNECTOR_M = 1.83  # those of ranges and washers are sold up to 6 ft
SPREAD = Basis("spread along connections", Confidence.INFERRED)  # a system only joints tell
BY_PATTERN = Basis(
    "its series or pattern", Confidence.WORDS
)  # a system only DWV, a sanitary tee tell
DRAINAGE = frozenset({System.SANITARY, System.VENT})
WATER_SUPPLY = frozenset(
    {System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN, System.WATER}
)


def without_number(name: str) -> str:
    """A name without the number that programs put behind it."""
    return _NUMBER.sub("", name)


def mark_in(name: str) -> str:
    """The mark that a name holds, "WC-2"; "" where it holds none."""
    found = _MARK.search(name)
    return found[0] if found else ""


@dataclass(slots=True)
class End:
    """One place where an element can be joined: a port, or the end of an axis."""

    position: Point | None
    size_in: float | None = None
    flow: str = ""  # "in", "out", "both" or "" as the port says it
    system: System | None = None
    name: str = ""
    sized_by_pipe: bool = False  # its size is that of the pipe joined to it, which tells nothing

    @property
    def own_size_in(self) -> float | None:
        """Its size as the model states it, against which a pipe can be judged."""
        return None if self.sized_by_pipe else self.size_in


@dataclass(slots=True)
class Element:
    """One pipe, fitting, fixture ... as read, with where each fact was known from.

    `kind` refines the role in trade words: a fixture is a "water-closet", "lavatory",
    "kitchen-sink" ...; a fitting a "sanitary-tee", "wye", "bend" ...; a valve a "relief" ...
    `basis` maps a fact's name (role, kind, system, size, material, length, slope, ends,
    storey) to the place it was known from.
    """

    guid: str
    name: str = ""
    ifc_class: str = ""
    predefined_type: str = ""
    type_name: str = ""
    tag: str = ""
    model: int = 0
    role: Role = Role.OTHER
    kind: str = ""
    system: System | None = None
    system_name: str = ""
    size_in: float | None = None
    material: str = ""
    length_m: float | None = None
    slope: float | None = None  # from a property where geometry has none; rise over run
    ends: list[End] = field(default_factory=list)
    position: Point | None = None
    box: Box | None = None  # low and high corner of a fixture, appliance ...
    storey: str = ""
    space: str = ""
    properties: Properties = field(default_factory=Properties)
    basis: dict[str, Basis] = field(default_factory=dict)
    course: tuple[Point, ...] = ()  # the axis of a pipe that is not straight
    turned_deg: float = 0.0  # its own axes against those of the model, in plan: of what has a box
    piece: int = 0  # of a pipe cut where others enter its side: all pieces have its GlobalId
    object_type: str = ""  # what kind of thing it is, in the words of its author

    @property
    def key(self) -> str:
        """What tells it from every other element, in every revision of a model."""
        return f"{self.guid} piece {self.piece + 1}" if self.piece else self.guid

    def one_pipe_with(self, other: Element) -> bool:
        """Whether two elements are pieces of one pipe."""
        return self.piece != other.piece and self.guid == other.guid

    @property
    def label(self) -> str:
        """What to call it in a sentence: its name. Where that tells nothing, being a number or the
        word of its class, what it is by its type or kind stands before or for it."""
        if any(map(str.isalpha, self.name)) and not self._has_name_of_class:
            return self.name
        what = self.type_name or self.kind or self.role.value
        return what if self._has_name_of_class else f"{what} {self.name}".rstrip()

    @property
    def _has_name_of_class(self) -> bool:
        return self.name.lower().removeprefix("ifc") == self.ifc_class.lower().removeprefix("ifc")

    @property
    def is_existing(self) -> bool:
        """Whether the model says that it is there already."""
        return self.properties.get("status") == "existing"

    @property
    def called(self) -> str:
        """All that it is called: its name, its type's, and its object type."""
        return f"{self.name} {self.type_name} {self.object_type}"

    @property
    def line(self) -> tuple[Point, ...]:
        """The line of its axis from its first end to its second, bends and all; none where that is
        not known."""
        if len(self.ends) < 2:
            return ()
        first, last = self.ends[0].position, self.ends[1].position
        if first is None or last is None or first == last:
            return ()
        inner = self.course[1:-1]
        if inner and math.dist(first, inner[0]) > math.dist(last, inner[0]):
            straight = math.dist(first, self.course[0]) <= math.dist(last, self.course[0])
            inner = inner if straight else inner[::-1]
        return (first, *inner, last)

    @property
    def places(self) -> list[Point]:
        """Where its ends are, of those of which that is known."""
        return [end.position for end in self.ends if end.position is not None]

    @property
    def runs(self) -> list[tuple[Point, Point]]:
        """The straight parts of its axis, one after the other; of what is not bent, from the first
        of its ends to the last."""
        if self.course:
            return list(pairwise(self.line))
        placed = self.places
        return [(placed[0], placed[-1])] if len(placed) > 1 else []

    @property
    def mark(self) -> str:
        """Its mark on drawings and in schedules, "WC-2"; its name where it has no short one."""
        if found := mark_in(self.name):
            return found
        is_mark = len(self.tag) <= LONGEST_MARK and not self.tag.isdigit()
        return self.tag if self.tag and is_mark else without_number(self.label)


@dataclass(frozen=True, slots=True)
class PropertyFact:
    """A fact of elements that a rule pack reads from property sets, standard or a vendor's.

    It stands in `Element.properties` under its `name`, and in `Element.basis` where it was read.
    `reads` is how a value is read: "length" (m), "ratio", "area" (m2), "volume" (m3), "flow"
    (m3/s), "power" (W), "pressure" (Pa), "angle" (rad), "number", "text" or "flag". `names` are
    the properties that tell it, the best first: "Set.Property", or "Property" in any set.
    """

    name: str
    reads: str
    names: tuple[str, ...]
    zero: bool = True  # 0 is a value; else it stands for "not filled in"


class Joint(NamedTuple):
    """Two ends that meet. `a` and `b` index `Model.elements`, the ends index their `ends`."""

    a: int
    a_end: int
    b: int
    b_end: int
    inferred: bool = False  # joined because the ends meet, not because the model says so
    gap_m: float = 0.0  # between what is joined, where it lies farther apart than the tolerance


def joined_to(joints: Iterable[Joint]) -> dict[int, list[int]]:
    """Element -> what each joint joins to it; of what is joined to nothing an empty list."""
    beside = defaultdict[int, list[int]](list)
    for a, _, b, *_ in joints:
        beside[a].append(b)
        beside[b].append(a)
    return beside


def ends_joined(
    joints: Iterable[Joint], some: Iterable[int]
) -> dict[int, list[tuple[int, tuple[int, int]]]]:
    """Some elements -> of each joint its own end, and the other element with its end."""
    met: dict[int, list[tuple[int, tuple[int, int]]]] = {i: [] for i in some}
    for a, a_end, b, b_end, *_ in joints if met else ():
        if a in met:
            met[a].append((a_end, (b, b_end)))
        if b in met:
            met[b].append((b_end, (a, a_end)))
    return met


def in_file(point: Point, turned_rad: float) -> Point:
    """A point along the axes of a building in the coordinates of its file, which it is turned in
    by an angle."""
    x, y, z = point
    c, s = math.cos(turned_rad), math.sin(turned_rad)
    return c * x - s * y, s * x + c * y, z


@dataclass(frozen=True, slots=True)
class Location:
    """Where something is, as a finding says it: names, and metres along the building's axes."""

    storey: str = ""
    space: str = ""
    x: float | None = None
    y: float | None = None
    z: float | None = None

    def in_file(self, turned_rad: float) -> Location:
        """The same in the coordinates of the file, whose building is turned by this."""
        if not turned_rad or self.x is None or self.y is None:
            return self
        x, y, _ = in_file((self.x, self.y, 0.0), turned_rad)
        return replace(self, x=x, y=y)


@dataclass(frozen=True, slots=True)
class Storey:
    name: str
    elevation_m: float
    stated_m: float | None = None  # its elevation as drawings count it, where the file says so


ONE_LEVEL_M = 0.05  # heights no farther apart are one. Ours, no source
Leaf = tuple[Place, Place, Place]  # of a door: its hinge, its free edge when shut, and when open


@dataclass(frozen=True, slots=True)
class Surface:
    """A part of the building, or the site's terrain: its axis-aligned box (metres)."""

    guid: str
    # "wall", "slab", "roof", "window", "door", "stud", "joist", "terrain", and what is hollow:
    # "chimney", "chute", "duct", "duct fitting"; "air intake", and "air unit", which has one
    # that is not drawn by itself; and "casework", furniture that is fixed to the building
    kind: str
    name: str
    low: Point
    high: Point
    exterior: bool | None = None
    outline: tuple[Place, ...] = ()  # its corners seen from above, where it stands aslant
    corners: tuple[Point, ...] = ()  # of a roof, chimney or duct: all corners of its body
    leaves: tuple[Leaf, ...] = ()  # of a door that swings
    bears: bool | None = None  # of a wall, stud or joist: whether it is said to carry load

    @property
    def swings(self) -> tuple[Place, ...]:
        """The ways its leaves swing, as unit vectors seen from above."""
        return tuple(
            ((b[0] - a[0]) / math.dist(a, b), (b[1] - a[1]) / math.dist(a, b))
            for a, _, b in self.leaves
            if a != b
        )


@dataclass(frozen=True, slots=True)
class Space:
    """A room, as its axis-aligned bounding box (metres)."""

    name: str
    storey: str
    low: Point
    high: Point

    def holds(self, point: Point) -> bool:
        """Whether a point lies in it."""
        return all(self.low[k] <= point[k] <= self.high[k] for k in range(3))


@dataclass(frozen=True, slots=True)
class GridAxis:
    """An axis of the building's grid, seen from above; `via` are the points of one that is bent."""

    tag: str
    a: Place
    b: Place
    via: tuple[Place, ...] = ()

    @property
    def course(self) -> tuple[Place, ...]:
        return (self.a, *self.via, self.b)


@dataclass(frozen=True, slots=True)
class ModelFile:
    name: str
    sha256: str
    schema: str
    application: str
    date: str = ""  # when its header says it was written, ISO 8601 to the second


@dataclass(frozen=True, slots=True)
class Note:
    """Something met while reading that the user should know: what, on which element, what to do."""

    what: str
    remedy: str
    guid: str = ""
    topic: str = ""  # "size", "system", "joint", "ends", "duplicate", "unit" ...
    cause: str = ""  # notes of one cause differ in nothing but the element: told as one


CASEWORK = "casework"  # kind of a surface
APART = "apart"  # topic of a note on a file that meets nothing of the others
SCALE = "scale"  # topic of a note on a unit of length that is not known for sure


@dataclass(slots=True)
class Model:
    """All files of one building, read and joined."""

    files: list[ModelFile] = field(default_factory=list)
    elements: list[Element] = field(default_factory=list)
    joints: list[Joint] = field(default_factory=list)
    storeys: list[Storey] = field(default_factory=list)  # by elevation
    surfaces: list[Surface] = field(default_factory=list)
    spaces: list[Space] = field(default_factory=list)
    grid: list[GridAxis] = field(default_factory=list)
    turned_rad: float = 0.0  # of the building's axes, which all is placed along, in the first file
    north: float | None = None  # true north, radians from y toward -x; None where no file tells
    notes: list[Note] = field(default_factory=list)
    leads_elsewhere: dict[str, str] = field(default_factory=dict)  # GlobalIds of what a port of is
    # joined to something that is not read as plumbing -> what that is called
    in_touch: list[tuple[str, str]] = field(
        default_factory=list
    )  # GlobalIds: what ends on the side
    # of a pipe and was not joined to it, because of their systems
    joining_tolerance_m: float = 0.0
    set_aside: dict[str, int] = field(default_factory=dict)  # why -> how many elements

    @property
    def zero_m(self) -> float:
        """How high the zero of the storeys' stated elevations is placed; 0 where they differ."""
        zeros = [s.elevation_m - s.stated_m for s in self.storeys if s.stated_m is not None]
        agree = bool(zeros) and max(zeros) - min(zeros) < ONE_LEVEL_M
        return min(zeros) if agree else 0.0
