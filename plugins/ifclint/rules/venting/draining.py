"""Where the water that stands or condenses in a vent can run back to a drain."""

from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_most
from ifclint.packs import Context, derived
from ifclint.plumbing import VentTree

LEVEL_M = 0.002  # a pipe that rises no more is level
STUB_M = 0.01  # an upright that falls no more is a joint drawn inexactly. Ours, no source


@derived
def drained_places(context: Context) -> set[int]:
    """The places of the vents from which water runs, level or falling, to a drain; an existing vent
    that one is joined to leads there."""
    return set().union(*map(_of_tree, context.plumbing.venting.trees))


def _of_tree(tree: VentTree) -> set[int]:
    drainage, members = tree.piping.drainage, set(tree.members)
    drained: set[int] = set()
    frontier = [joint.place for joint in tree.joints]
    frontier += [place for tie_in in tree.tie_ins for place in drainage.ends_at[tie_in]]
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


@derived
def sags(context: Context, tree: VentTree) -> dict[int, int]:
    """The vertical pipes that fall on the path to the open air to where no water runs off, each
    with the place at its foot; of several in line the last."""
    drained = drained_places(context)
    low = {i: foot for i in tree.to_air_m if (foot := _falls_to(i, tree)) is not None}
    return {
        index: foot
        for index, foot in low.items()
        if foot not in drained and _next_pipe(index, tree) not in low
    }


@derived
def after_sags(context: Context) -> set[int]:
    """The pipes in which vents go on from the foot of a sag toward the open air."""
    trees = context.plumbing.venting.trees
    return {_next_pipe(index, tree) for tree in trees for index in sags(context, tree)}


def _falls_to(index: int, tree: VentTree) -> int | None:
    """The lower place of a vertical pipe that falls on its path to the open air, else None."""
    piping, following = tree.piping, tree.toward.get(index)
    if following is None or not piping.is_vertical(index):
        return None
    places = piping.drainage.places
    known = [(p[2], place) for place in piping.drainage.ends_at[index] if (p := places[place])]
    if not known or at_most(max(known)[0] - min(known)[0], STUB_M, "m"):
        return None
    foot = min(known)[1]
    return foot if foot in piping.drainage.ends_at[following] else None


def _next_pipe(index: int, tree: VentTree) -> int:
    """The next pipe toward the open air, -1 where there is none."""
    following = tree.toward.get(index, NONE)
    while following != NONE and not tree.piping.is_pipe(following):
        following = tree.toward.get(following, NONE)
    return following
