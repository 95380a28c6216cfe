"""Pipe as it is filled: its heights, and what it holds between two of them."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.contents import bore_m, pipe_contents_m3
from ifclint.engineering.wording import trade_size
from ifclint.fieldsheet.stages import heights, share
from ifclint.ifc.elements import DRAINAGE, Element

PLASTIC = ("pvc", "abs", "cpvc", "pex", "polyethylene", "polypropylene", "plastic", "pe-", "pp")


@dataclass(frozen=True)
class Filled:
    """One pipe: its heights (m) and contents (m3; None where size or length is not known)."""

    element: Element
    low_m: float
    high_m: float
    contents_m3: float | None
    is_listed: bool  # its inside diameter is told by the model or by a list
    is_vent: bool = False

    def within(self, from_m: float, to_m: float) -> float:
        """The share of it that lies between two heights."""
        return share(self.low_m, self.high_m, from_m, to_m)


def contents(pipe: Element) -> tuple[float | None, bool]:
    """What a pipe holds (m3), and whether its inside diameter is told; else its size is taken."""
    if pipe.size_in is None or pipe.length_m is None:
        return None, True
    stated = pipe.properties.positive("inside_diameter_m")
    if stated is not None:
        return pipe_contents_m3(stated, pipe.length_m), True
    inside, listed = bore_m(pipe.material, pipe.size_in, pipe.system in DRAINAGE)
    return pipe_contents_m3(inside, pipe.length_m), listed


def filled(pipe: Element, is_vent: bool = False) -> Filled | None:
    """A pipe to be filled; None where the model does not show how high it lies."""
    placed = heights(pipe)
    return None if placed is None else Filled(pipe, *placed, *contents(pipe), is_vent)


def underground_to_m(pipes: Iterable[Filled], level_m: float) -> float:
    """Up to which height pipes are an underground section: to the level below which some of them
    lie; -inf where they merely pass through the floor."""
    return level_m if any((p.low_m + p.high_m) / 2 < level_m for p in pipes) else -inf


def volume_m3(pipes: Iterable[Filled], from_m: float = -inf, to_m: float = inf) -> float:
    """What pipes hold between two heights."""
    return sum(or_zero(p.contents_m3) * p.within(from_m, to_m) for p in pipes)


def materials(pipes: Iterable[Filled]) -> tuple[str, ...]:
    return tuple(sorted({p.element.material or "material not known" for p in pipes}))


def is_plastic(material: str) -> bool:
    return material.lower().startswith(PLASTIC) or "plastic" in material.lower()


def crossing(elements: Iterable[Element], level_m: float) -> list[Element]:
    """What passes a height: there it is plugged or capped."""
    return [e for e in elements if (placed := heights(e)) and placed[0] < level_m <= placed[1]]


def sizes_text(elements: Sequence[Element]) -> tuple[str, ...]:
    """How many of each size: "2 of 3 in"."""
    counted = Counter(e.size_in for e in elements)
    order = sorted(counted, key=lambda size: -or_zero(size))
    return tuple(f"{counted[size]} of {trade_size(size)}" for size in order)
