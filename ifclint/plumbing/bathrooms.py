"""Which fixtures stand together in a bathroom: by their room, or near one another where the model
draws no rooms."""

from collections import defaultdict
from collections.abc import Hashable, Iterable
from math import dist

from ifclint.engineering.near import NearPlaces
from ifclint.engineering.tolerance import at_most, slack
from ifclint.ifc.elements import Element
from ifclint.plumbing.context import Context

CLOSET = "water-closet"
BESIDE = (frozenset({"lavatory"}), frozenset({"bathtub", "shower"}))
NEAR_M = 3.0  # from a closet: so near they stand in one bathroom. Ours, no source
REACH_M = NEAR_M + 2 * slack(NEAR_M, "m")  # what is searched for those so near


def rooms(context: Context, fixtures: Iterable[tuple[Element, str]]) -> dict[str, Hashable]:
    """The room of every fixture, given with its kind, by GlobalId: its space; without one that of
    the closet near which it stands, for each of which one of each kind is taken, the nearest
    first."""
    level_of = context.plumbing.surroundings.floors.level_of
    found: dict[str, Hashable] = {}
    floors: dict[float | str, list[tuple[Element, str]]] = defaultdict(list)
    for element, kind in fixtures:
        level = level_of(element)
        if element.space:
            found[element.guid] = level, element.space
        else:
            floors[level].append((element, kind))
    for members in floors.values():
        for kinds in BESIDE:
            found |= _by_closets(members, kinds)
    return found


def _by_closets(members: list[tuple[Element, str]], kinds: frozenset[str]) -> dict[str, Hashable]:
    """The fixtures of some kinds on one floor, each with a closet near it, and these closets."""
    closets = [(e, at) for e, kind in members if kind == CLOSET and (at := _place(e))]
    others = [(e, at) for e, kind in members if kind in kinds and (at := _place(e))]
    places = NearPlaces([(*at, 0.0) for _, at in others])
    near = places.around([(*at, 0.0) for _, at in closets], REACH_M)
    pairs = sorted(
        (away, closet.guid, others[n][0].guid)
        for (closet, there), found in zip(closets, near, strict=True)
        for n in found
        if at_most(away := dist(there, others[n][1]), NEAR_M, "m")
    )
    taken, full = dict[str, Hashable](), set[str]()
    for _, closet_id, other_id in pairs:
        if other_id not in taken and closet_id not in full:
            taken[other_id] = "", closet_id
            full.add(closet_id)
    return taken | {closet.guid: ("", closet.guid) for closet, _ in closets}


def _place(element: Element) -> tuple[float, float] | None:
    """Where it stands in plan."""
    if element.box is not None:
        (x0, y0, _), (x1, y1, _) = element.box
        return (x0 + x1) / 2, (y0 + y1) / 2
    return element.position[:2] if element.position is not None else None
