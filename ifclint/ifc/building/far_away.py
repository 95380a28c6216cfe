"""What is drawn so far off, or so long, that a number in the file must be wrong."""

from collections.abc import Iterator
from itertools import chain
from math import dist

import numpy as np

from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Box, Element, Model, Note, Point, Role, Space, Surface
from ifclint.ifc.facts.notes import LABEL, about

FAR_M = 20_000.0  # no building, nor its sewer, reaches as far; own choice
REMEDY = "Draw it where it stands and as large as it is; one of its coordinates or lengths is off."


def set_far_aside(
    model: Model, boxes: dict[int, Box], first: int, surfaces: int, spaces: int
) -> None:
    """Take from what one file added, which begins at these numbers, what lies far from most of
    it: the place of elements, each noted, and what stands around."""
    added = model.elements[first:]
    points = [p for e in added for end in e.ends if (p := end.position) is not None]
    points += [e.position for e in added if e.position is not None]
    points += [p for e in added if e.course or e.box for p in (*e.course, *(e.box or ()))]
    if not points:
        return
    places = np.fromiter(chain.from_iterable(points), np.float64).reshape(-1, 3)
    x, y, z = np.sort(places, axis=0)[(len(points) - 1) // 2].tolist()
    middle = x, y, z
    is_close = float(np.linalg.norm(np.ptp(places, axis=0))) <= FAR_M
    for index, element in enumerate(added, first):
        if is_close and (element.length_m or 0.0) <= FAR_M:
            continue
        far = max((dist(p, middle) for p in _points(element)), default=0.0)
        length_m = element.length_m or 0.0
        if far <= FAR_M and length_m <= FAR_M:
            continue
        model.notes.append(_note(element, far, length_m if length_m > FAR_M else 0.0))
        boxes.pop(index, None)
        _forget_places(element, middle)
    around = len(model.surfaces) + len(model.spaces)
    model.surfaces[surfaces:] = [s for s in model.surfaces[surfaces:] if _near(s, middle)]
    model.spaces[spaces:] = [s for s in model.spaces[spaces:] if _near(s, middle)]
    if left := around - len(model.surfaces) - len(model.spaces):
        parts = how_many(left, "part of the building")
        what = f"Nothing is measured to {parts} more than {FAR_M / 1000:g} km from the piping."
        model.notes.append(Note(what, REMEDY, "", "placement"))


def far_shape(element: Element, shape: tuple[Point, ...]) -> Iterator[Note]:
    """What to say where the shape of an element lies far from its ports; one too long is told
    so elsewhere."""
    port = next(iter(element.places), None)
    far = 0.0 if port is None else min(dist(p, port) for p in shape)
    if far > FAR_M:
        yield _note(element, far, 0.0)


def _note(element: Element, far_m: float, long_m: float) -> Note:
    told = f"{long_m / 1000:,.0f} km long" if long_m else f"{far_m / 1000:,.0f} km from the rest"
    what = f"{LABEL} is drawn {told}; where it is, is not taken from that."
    topic = "placement" if element.role is Role.OTHER else "damage"
    return about(Note(what, REMEDY, "", topic), element)


def _points(element: Element) -> Iterator[Point]:
    yield from element.places
    yield from element.course
    yield from element.box or ()
    if element.position is not None:
        yield element.position


def _near(around: Surface | Space, middle: Point) -> bool:
    return dist(around.low, middle) <= FAR_M and dist(around.high, middle) <= FAR_M


def _forget_places(element: Element, middle: Point) -> None:
    """Keep of its place what is near."""
    for end in element.ends:
        if end.position is not None and dist(end.position, middle) > FAR_M:
            end.position = None
    if element.position is not None and dist(element.position, middle) > FAR_M:
        element.position = None
    if element.box is not None and any(dist(p, middle) > FAR_M for p in element.box):
        element.box = None
    if element.length_m is not None and element.length_m > FAR_M:
        element.length_m = None
        element.basis.pop("length", None)
    if any(dist(p, middle) > FAR_M for p in element.course):
        element.course = ()
