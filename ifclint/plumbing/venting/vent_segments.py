"""Vents as runs of one size: each with the tree it is of."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ifclint.ifc.elements import Element, Point
from ifclint.plumbing.drainage.segments import DrainSegment
from ifclint.plumbing.flow.segment import Segment
from ifclint.plumbing.venting.vents import VentJoint, VentTree


@dataclass(eq=False)
class VentSegment(Segment):
    """Dry vent of one size and orientation, with what it lets breathe."""

    segment: DrainSegment
    tree: VentTree
    serves: int  # how many joints with the drains breathe through it
    farthest_m: float | None  # from the open air to the farthest of them
    rims_m: tuple[float, float] | None = None  # the highest rim served: at least, at most
    rim_of: str = ""
    island: bool = False  # part of an island vent, below the rim it serves

    system = "vent"
    words = "vent"

    @property
    def pipe_elements(self) -> list[Element]:
        return self.segment.pipe_elements

    @property
    def point(self) -> Point | None:
        return self.segment.point

    @property
    def slope(self) -> float | None:
        return self.segment.slope

    @property
    def orientation(self) -> str | None:
        return self.segment.orientation

    @property
    def developed_m(self) -> float | None:
        return self.farthest_m

    def lacking(self, fact: str) -> tuple[str, ...]:
        return self.segment.lacking(fact)


def find_vent_segments(
    segments: Iterable[DrainSegment],
    trees: list[VentTree],
    rims_of: Callable[[VentJoint], tuple[float, float, str] | None],
    island: set[int],
) -> list[VentSegment]:
    """The vent runs, with how many joints breathe through each, how far off, and how high."""
    tree_of = {i: tree for tree in trees for i in tree.members}
    counts: dict[VentTree, dict[int, int]] = {}
    far: dict[VentTree, dict[int, float]] = {}
    lows: dict[VentTree, dict[int, float]] = {}
    highs: dict[VentTree, dict[int, float]] = {}
    names: dict[float, str] = {}
    for tree in trees:
        counts[tree] = tree.gather(dict.fromkeys(tree.joints, 1), lambda a, b: a + b)
        lengths = {j: j.to_air_m for j in tree.joints if j.to_air_m is not None}
        far[tree] = tree.gather(lengths, max)
        rims = {j: r for j in tree.joints if (r := rims_of(j)) is not None}
        names.update({low: name for low, _, name in rims.values()})
        lows[tree] = tree.gather({j: r[0] for j, r in rims.items()}, max)
        highs[tree] = tree.gather({j: r[1] for j, r in rims.items()}, max)
    found = []
    for segment in segments:
        if segment.indexes[0] not in tree_of:
            continue
        tree = tree_of[segment.indexes[0]]
        serves = max(counts[tree].get(i, 0) for i in segment.indexes)
        farthest = max((far[tree][i] for i in segment.indexes if i in far[tree]), default=None)
        low = max((lows[tree][i] for i in segment.indexes if i in lows[tree]), default=None)
        high = max((highs[tree][i] for i in segment.indexes if i in highs[tree]), default=None)
        rims_m = (low, high) if low is not None and high is not None else None
        name = names.get(low, "") if low is not None else ""
        is_island = any(i in island for i in segment.indexes)
        found.append(VentSegment(segment, tree, serves, farthest, rims_m, name, is_island))
    return found
