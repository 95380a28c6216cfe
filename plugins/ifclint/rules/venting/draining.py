"""Where the water that stands or condenses in a vent can run back to a drain."""

from __future__ import annotations

from ifclint.packs import Context, derived
from ifclint.plumbing import VentTree

LEVEL_M = 0.002  # a pipe that rises no more is level


@derived
def drained_places(context: Context) -> set[int]:
    """The places of the vents from which water runs, level or falling, to a drain."""
    return set().union(*map(_of_tree, context.plumbing.venting.trees))


def _of_tree(tree: VentTree) -> set[int]:
    drainage, members = tree.piping.drainage, set(tree.members)
    drained: set[int] = set()
    frontier = [joint.place for joint in tree.joints]
    while frontier:
        place = frontier.pop()
        if place in drained:
            continue
        drained.add(place)
        here = drainage.places[place]
        for index in tree.piping.at_place[place]:
            for above in drainage.ends_at[index] if index in members else ():
                there = drainage.places[above]
                if here is None or there is None or there[2] >= here[2] - LEVEL_M:
                    frontier.append(above)
    return drained
