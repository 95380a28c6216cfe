"""Straight pipes as a framer meets them: where they run, and how thick they are."""

from dataclasses import dataclass
from functools import cached_property
from math import dist

from ifclint.engineering.data import outside_diameter_m
from ifclint.ifc.elements import DRAINAGE, Element, Point, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing.flow.subject import OfElement

LEAST_M = 0.05  # what is shorter runs nowhere
ALONG = 0.1  # of its length a pipe may lean, and still run along an axis
OUT = frozenset({System.HEATING, System.FIRE, System.FLUE, System.OTHER})
LISTED = (
    ("cpvc", "cpvc"), ("pvc", "pvc"), ("abs", "abs"), ("cast iron", "cast-iron"), ("pex", "pex"),
    ("pe-rt", "pex"), ("polybutylene", "pex"), ("steel", "steel"),
)  # fmt: skip


@dataclass(eq=False)
class Straight(OfElement):
    """A straight pipe of the plumbing, from `a` to `b`."""

    element: Element
    a: Point
    b: Point
    service = None

    @cached_property
    def length_m(self) -> float:
        return dist(self.a, self.b)

    @cached_property
    def axis(self) -> int | None:
        """The axis of the model it runs along (0: x, 1: y, 2: z), None where it runs otherwise."""
        off = [abs(q - p) for p, q in zip(self.a, self.b, strict=True)]
        _, rest, most = sorted(off)
        return off.index(most) if rest <= ALONG * most else None

    @property
    def outside_m(self) -> float | None:
        """Its outside diameter: stated, or that of its material and size; None where neither is."""
        stated = self.element.properties.get("outside_diameter_m")
        if isinstance(stated, float):
            return stated
        name, size = self.element.material.lower(), self.element.size_in
        listed = next((key for word, key in LISTED if word in name), None)
        if "copper" in name:
            listed = "copper-dwv" if self.element.system in DRAINAGE else "copper-l"
        return outside_diameter_m(listed, size) if listed and size else None

    def at(self, axis: int, value: float) -> Point:
        """The point of its line at a coordinate."""
        share = (value - self.a[axis]) / (self.b[axis] - self.a[axis])
        x, y, z = (p + share * (q - p) for p, q in zip(self.a, self.b, strict=True))
        return (x, y, z)


@derived
def straights(context: Context) -> list[Straight]:
    """Every straight pipe whose ends have places, in the order of the model."""
    found = []
    for element in context.plumbing.network.of_role[Role.PIPE]:
        if element.system in OUT or element.course:
            continue
        points = element.places
        if len(points) == 2 and dist(*points) >= LEAST_M:
            found.append(Straight(element, points[0], points[1]))
    return found
