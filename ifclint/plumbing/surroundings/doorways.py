"""Which rooms lie beside each other, and what they open into by the doors between them."""

from __future__ import annotations

from collections import defaultdict

from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import Space, Surface
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.footprint import beyond_faces

BESIDE_M = 0.5  # rooms no farther apart share a wall. Ours, no source


@derived
def spaces(context: Context) -> list[Space]:
    """The rooms of the model."""
    return context.plumbing.network.model.spaces


def opens_into(space: Space, context: Context) -> list[str] | None:
    """The names of the rooms behind its doors, "" for what is no room; None where none is drawn."""
    found: list[str] = []
    for both in _doors(context).get(id(space), ()):
        found += [s.name if s is not None else "" for s in both if s is not space]
    return found or None


def are_beside(a: Space, b: Space) -> bool:
    """Whether a wall at most lies between two rooms, at one height."""
    gaps = (max(a.low[k] - b.high[k], b.low[k] - a.high[k]) for k in (0, 1))
    level = all(at_most(gap, BESIDE_M, "m") for gap in gaps)
    return level and lies_above(min(a.high[2], b.high[2]), max(a.low[2], b.low[2]))


@derived
def _doors(context: Context) -> dict[int, list[list[Space | None]]]:
    """The rooms on both sides of every door of each room, by its identity."""
    found = defaultdict[int, list[list[Space | None]]](list)
    for door in context.plumbing.surroundings.of_kind("door"):
        both = _sides(door, context)
        for room in {id(s) for s in both if s is not None}:
            found[room].append(both)
    return found


def _sides(door: Surface, context: Context) -> list[Space | None]:
    """The rooms on both sides of a door; None for a side on which there is none."""
    places = beyond_faces(door.low, door.high)
    rooms_around = context.plumbing.surroundings.rooms_around
    return [next(iter(rooms_around(place)), None) for place in places]
