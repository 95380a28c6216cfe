"""Which rooms lie beside each other, and what they open into by the doors between them."""

from __future__ import annotations

from collections import defaultdict

from ifclint.ifc.elements import Space, Surface
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.footprint import BEYOND_M

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
    level = all(
        a.low[k] - BESIDE_M <= b.high[k] and b.low[k] <= a.high[k] + BESIDE_M for k in (0, 1)
    )
    return level and min(a.high[2], b.high[2]) > max(a.low[2], b.low[2])


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
    middle = [(low + high) / 2 for low, high in zip(door.low, door.high, strict=True)]
    across = 0 if door.high[0] - door.low[0] <= door.high[1] - door.low[1] else 1
    step = (door.high[across] - door.low[across]) / 2 + BEYOND_M
    found = []
    for way in (-step, step):
        x, y, z = (m + (way if k == across else 0.0) for k, m in enumerate(middle))
        found.append(next(iter(context.plumbing.surroundings.rooms_around((x, y, z))), None))
    return found
