"""The rooms that appliances stand in, how large they are, and which lie beside each other."""

from math import prod

from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.extents import shared_m
from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Element, Space
from ifclint.packs import Context
from ifclint.plumbing.surroundings.rooms import are_beside, spaces

SAME = 0.01  # of the volume of two boxes


def space_of(element: Element, context: Context) -> Space | None:
    """The room an element stands in: of its space's name, and around it where several are."""
    named = [s for s in spaces(context) if s.name == element.space]
    at = element.position
    here = context.plumbing.surroundings.rooms_around(at) if at is not None else []
    around = [s for s in here if s.name == element.space]
    on_storey = [s for s in named if s.storey == element.storey]
    return next(iter([*around, *on_storey, *named]), None)


def rooms_named(name: str, storey: str, context: Context) -> list[Space]:
    """The rooms of a name, on a storey where there are several."""
    named = [s for s in spaces(context) if s.name == name]
    return [s for s in named if s.storey == storey] or named


def volume_ft3(space: Space, context: Context) -> tuple[float, float]:
    """Between what volumes a room lies: no more than its box, less what other rooms have of it."""
    own = _common_m3(space, space)
    common = (_common_m3(space, s) for s in spaces(context) if s is not space)
    others = sum(c for c in common if c < own * (1 - SAME))  # one that holds it all is a zone
    return not_below_zero(own - others) / M_PER_FT**3, own / M_PER_FT**3


def touching(space: Space, context: Context) -> list[Space]:
    """The rooms beside a room, on its storey."""
    return [s for s in spaces(context) if s is not space and are_beside(space, s)]


def _common_m3(a: Space, b: Space) -> float:
    sides = shared_m((a.low, a.high), (b.low, b.high))
    return prod(map(not_below_zero, sides))
