"""A segment: pipe between junctions of one size, material and orientation.

Drains, vents, water and gas are all judged by the segment, so that nothing changes when pipe is
drawn in more or fewer pieces. What a service adds (fall, loads, where it leads) stands with it.
"""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from functools import cached_property

from ifclint.engineering.wording import of_size
from ifclint.ifc.elements import Element, Location, Point
from ifclint.plumbing.flow.subject import place_of


class Segment(ABC):
    """What every segment says of itself; `pipe_elements` are its pipes, the first to look at first.

    A segment always has an element; one without any pipe is fittings alone. What many rules ask of
    it is worked out once, when all its pipes are there.
    """

    @property
    @abstractmethod
    def pipe_elements(self) -> Sequence[Element]: ...

    @property
    @abstractmethod
    def system(self) -> str: ...

    @property
    @abstractmethod
    def words(self) -> str:
        """What such a pipe is called: "gas pipe"."""

    @property
    def first(self) -> Element:
        return self.pipe_elements[0]

    @cached_property
    def size_in(self) -> float | None:
        return self.first.size_in

    @property
    def material(self) -> str:
        return self.first.material

    @property
    def material_known(self) -> str | None:
        return self.material or None

    @cached_property
    def length_m(self) -> float | None:
        """Developed length of its pipe; None where a pipe's length is not known."""
        lengths = [pipe.length_m for pipe in self.pipe_elements]
        known = [length for length in lengths if length is not None]
        return sum(known) if len(known) == len(lengths) else None

    @property
    def key(self) -> str:
        return self.first.key

    @property
    def label(self) -> str:
        return f'{of_size(self.size_in)}{self.words} "{self.first.label}"'

    @cached_property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys([pipe.guid for pipe in self.pipe_elements]))

    @property
    def point(self) -> Point | None:
        """Where to look: at its first pipe."""
        return self.first.position

    @property
    def location(self) -> Location:
        return place_of(self.first, self.point)

    def lacking(self, fact: str) -> tuple[str, ...]:
        """The elements whose missing fact makes the segment's fact unknown."""
        attribute = fact.removesuffix("_known")
        lacking = [p.guid for p in self.pipe_elements if getattr(p, attribute, 0) in (None, "")]
        return tuple(lacking) or self.element_ids
