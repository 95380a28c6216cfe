"""The building around the plumbing: walls, slabs, roofs, windows, doors and spaces as boxes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from typing import NamedTuple

from ifclint.ifc.damage import DAMAGE
from ifclint.ifc.elements import Note, Point, Space, Surface
from ifclint.ifc.library import BUILDING
from ifclint.ifc.placement import IDENTITY, Placements
from ifclint.ifc.properties import PropertyReader
from ifclint.ifc.relations import Refs
from ifclint.ifc.shapes import ShapeReader
from ifclint.ifc.spatial import SPACE, space_name
from ifclint.ifc.spf import arguments, number, string
from ifclint.ifc.text import clean
from ifclint.ifc.text_index import Ref, TextIndex


class Boxed(NamedTuple):
    """An element of the building with what its own text says, and its box."""

    ref: Ref
    written: list[bytes]
    low: Point
    high: Point


class ArchitectureReader:
    """The building in one file. What has a shape but no box that can be told is noted."""

    def __init__(self, text: TextIndex, placements: Placements, shapes: ShapeReader) -> None:
        self._text = text
        self._placements = placements
        self._shapes = shapes
        self._without_box: Counter[str] = Counter()

    def surfaces(self, exterior: Callable[[Ref], bool | None]) -> list[Surface]:
        """Walls, slabs, roofs, windows and doors; `exterior` tells of one whether it is."""
        return [
            Surface(
                clean(string(of.written[0])), _kind(kind, of.written),
                clean(string(of.written[2])), of.low, of.high, exterior(of.ref),
            )
            for name, kind in BUILDING.items()
            for of in self._boxed(name, kind)
        ]  # fmt: skip

    def spaces(self, storey_of: Callable[[Ref], str]) -> list[Space]:
        """The spaces with a box; `storey_of` tells the storey a space is part of."""
        return [
            Space(space_name(of.written), storey_of(of.ref), of.low, of.high)
            for of in self._boxed(SPACE, "space")
        ]

    def notes(self) -> list[Note]:
        """What was passed over so far."""
        return [
            Note(
                f"The shape or the place of {count} {kind}(s) cannot be read; they count as not "
                f"there.",
                "Export them as solids, extruded or faceted, each with a placement.",
                topic="surroundings",
            )
            for kind, count in self._without_box.items()
        ]

    def _boxed(self, name: bytes, kind: str) -> Iterator[Boxed]:
        refs, lines = self._text.of_class(name)
        for ref, line in zip(refs.tolist(), lines, strict=True):
            written = arguments(line)
            shape = number(written[6]) if len(written) > 7 else 0
            if not shape:
                continue
            box = self._box(number(written[5]), shape)
            if box is None:
                self._without_box[kind] += 1
            else:
                yield Boxed(ref, written, *box)

    def _box(self, placement: Ref, shape: Ref) -> tuple[Point, Point] | None:
        try:
            frame = self._placements.frame(placement) if placement else IDENTITY
            return self._shapes.box(shape, frame) if frame is not None else None
        except DAMAGE:
            return None


def building_refs(text: TextIndex) -> set[Ref]:
    """The walls, slabs, roofs, windows and doors of a file."""
    return {ref for name in BUILDING for ref in text.numbers_of(name).tolist()}


def exterior_reader(
    properties: PropertyReader, sets: dict[Ref, Refs], types: dict[Ref, Ref]
) -> Callable[[Ref], bool | None]:
    """Whether an element is exterior, as its own property sets say or else those of its type."""

    def exterior(ref: Ref) -> bool | None:
        for facts in (properties.facts(sets.get(ref)), properties.of_type(types.get(ref, 0))):
            fact = facts.get("exterior")
            if fact is not None and isinstance(fact.value, bool):
                return fact.value
        return None

    return exterior


def _kind(kind: str, written: list[bytes]) -> str:
    return "roof" if kind == "slab" and written[8:9] == [b".ROOF."] else kind
