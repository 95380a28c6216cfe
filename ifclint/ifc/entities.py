"""Entities of the library beside the text they stand for."""

from __future__ import annotations

from typing import Any

from ifclint.ifc.elements import Point
from ifclint.ifc.placement import Frame, Placements
from ifclint.ifc.spf import Ref


def ref(entity: Any) -> Ref:
    """The reference of an entity, b"$" for none."""
    return b"$" if entity is None else b"#%d" % entity.id()


class EntityPlacements:
    """`Placements` for whoever holds entities instead of references."""

    def __init__(self, placements: Placements) -> None:
        self._placements = placements

    def frame(self, placement: Any) -> Frame | None:
        return self._placements.frame(ref(placement))

    def axis_placement(self, placement: Any) -> Frame | None:
        return self._placements.axis_placement(ref(placement))

    def point(self, point: Any) -> Point | None:
        return self._placements.point(ref(point))

    def direction(self, direction: Any) -> Point | None:
        return self._placements.direction(ref(direction))
