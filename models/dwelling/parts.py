"""What a drawing is made of: parts with ends, joints between ends, walls and rooms.

Feet, x east, y north, z up from the ground floor. A nominal size is the trade size in inches.
"""

from __future__ import annotations

from dataclasses import dataclass, field

Point = tuple[float, float, float]

IN, OUT, BOTH = "SINK", "SOURCE", "SOURCEANDSINK"


def plus(a: Point, b: Point, times: float = 1.0) -> Point:
    return (a[0] + b[0] * times, a[1] + b[1] * times, a[2] + b[2] * times)


def between(a: Point, b: Point) -> tuple[float, Point]:
    """Distance in ft from `a` to `b`, and the unit direction."""
    step = plus(b, a, -1.0)
    length = sum(c * c for c in step) ** 0.5
    if length < 1e-9:
        raise ValueError(f"two points of the layout coincide at {a}")
    return length, (step[0] / length, step[1] / length, step[2] / length)


@dataclass
class End:
    """A place where a part can be joined; `direction` points out of the part."""

    part: Part
    name: str
    at: Point
    direction: Point
    size_in: float | None
    flow: str = BOTH
    service: str = ""


@dataclass
class Part:
    """A pipe, fitting or device. `trade` is its key in the catalogue.

    `centre` is set on fittings and inline devices, whose ends lie on rays from it; `path` and
    `box` give the shape of a trap and of a fixture (corner and size in ft).
    """

    trade: str
    tag: str
    name: str
    service: str
    centre: Point
    ends: list[End] = field(default_factory=list)
    material: str = ""
    space: str = ""
    size_in: float | None = None
    path: tuple[Point, ...] = ()
    box: tuple[Point, Point] | None = None
    properties: dict[str, dict[str, object]] = field(default_factory=dict)

    def end(self, name: str) -> End:
        return next(end for end in self.ends if end.name == name)

    @property
    def sizes_in(self) -> list[float]:
        """The distinct sizes of the ends, the largest first; empty where none is stated."""
        return sorted({end.size_in for end in self.ends if end.size_in}, reverse=True)


@dataclass(frozen=True)
class Solid:
    """A wall, slab, roof, opening filler or room as a box: low corner and size in ft."""

    ifc_class: str
    predefined: str
    tag: str
    name: str
    low: Point
    size: Point
    exterior: bool = False
    host: str = ""  # tag of the wall that a window or door stands in
    storey: str = ""


@dataclass
class Plan:
    """Everything drawn."""

    parts: dict[str, Part] = field(default_factory=dict)
    joints: list[tuple[End, End]] = field(default_factory=list)
    solids: list[Solid] = field(default_factory=list)

    def add(self, part: Part) -> Part:
        if part.tag in self.parts:
            raise ValueError(f"two parts are tagged {part.tag}")
        self.parts[part.tag] = part
        return part

    def join(self, a: End, b: End) -> None:
        if max(abs(p - q) for p, q in zip(a.at, b.at, strict=True)) > 1e-6:
            raise ValueError(f"{a.part.tag} and {b.part.tag} do not meet: {a.at}, {b.at}")
        self.joints.append((a, b))
