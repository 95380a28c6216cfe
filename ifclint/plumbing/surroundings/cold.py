"""Where it is cold around what holds water: outside walls, and rooms that nobody heats."""

from dataclasses import dataclass
from functools import lru_cache

from ifclint.engineering.extents import middle
from ifclint.ifc.elements import Element, Point, Surface
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.facts import Fact

COLD_SPACES = ("attic", "crawl", "garage", "unheated", "unconditioned", "exterior", "outdoor")
COLD_STOREYS = ("attic", "crawl")  # what is drawn as a storey of its own and not as a room
FREEZES = Fact(
    "{}; whether it freezes there is not stated.",
    "Give the job file [building] freezing = true or false.",
    asked_once=True,
)


@dataclass(frozen=True)
class ColdPlace:
    """Where it is cold around an element: in words, and whether the model says so for certain."""

    words: str
    is_certain: bool = True


def middle_of_pipe(pipe: Element) -> Point | None:
    """Between its two ends; its place where fewer are known."""
    ends = pipe.places
    return middle(ends[0], ends[-1]) if len(ends) > 1 else pipe.position


def cold_place(element: Element, point: Point | None, context: Context) -> ColdPlace | None:
    """Where it is cold around a point of an element; None where it is not."""
    if _names(element.space, COLD_SPACES):
        return ColdPlace(element.space)
    if not element.space and _names(element.storey, COLD_STOREYS):
        return ColdPlace(element.storey)
    if point is not None and _is_above_roof(point, context):
        return ColdPlace("the open air above the roof")
    walls = _outer_walls(context)
    if point is None or not walls:
        return None
    around = context.plumbing.surroundings.within(point, point)
    wall = next((walls[o.guid] for o in around if o.guid in walls), None)
    if wall is None:
        return None
    known = "exterior" if wall.exterior else "not stated to be interior or exterior"
    return ColdPlace(f'the wall "{wall.name}", {known}', bool(wall.exterior))


@lru_cache(maxsize=10_000)  # many elements stand in one space
def _names(place: str, words: tuple[str, ...]) -> bool:
    return any(word in place.lower() for word in words)


def _is_above_roof(point: Point, context: Context) -> bool:
    around = context.plumbing.surroundings
    is_over = around.footprint is not None and around.footprint.holds(point)
    return is_over and around.is_above_roof(point)


@derived
def _outer_walls(context: Context) -> dict[str, Surface]:
    """The walls that are, or may be, exterior."""
    surfaces = context.plumbing.network.model.surfaces
    return {s.guid: s for s in surfaces if s.kind == "wall" and s.exterior is not False}
