"""Hoses: how an appliance that pumps its water out is led to a drain, drawn or not.

A washing machine hangs its hose into a standpipe, mostly without either being joined to the other
in a model. What is pumped may climb.
"""

from collections.abc import Iterable
from dataclasses import replace
from math import dist

from ifclint.engineering.joined import by_steps
from ifclint.engineering.near import NearPlaces
from ifclint.engineering.tolerance import at_most, lies_above
from ifclint.ifc.elements import DRAINAGE, Element, End, Joint, Point, Role, System
from ifclint.network import Network, connect
from ifclint.plumbing.drainage.receptors import STANDPIPE, receptor_under

WASHER = "clothes-washer-appliance"
PUMPING = frozenset({WASHER, "dishwasher-appliance"})
REACH_M = 2.0  # a washer's hose, level; ours, no source
HOSE_MOST_IN = 1.25  # pipe larger than this is no hose; ours, no source


def hung(network: Network) -> Network:
    """The network with every washer that is joined to no drain hung into the standpipe beside it.

    Each washer takes the nearest standpipe that no other takes: a pipe open at its top above a
    trap, else an upright one without a trap. What is added is an end of the washer there, joined
    as inferred.
    """
    pairs = [(i, at) for i, at in _beside(network) if isinstance(at, tuple)]
    if not pairs:
        return network
    elements, joints = list(network.elements), list(network.joints)
    for washer, (pipe, end) in pairs:
        element, top = elements[washer], elements[pipe].ends[end]
        hose = End(top.position, top.size_in, name="drain hose", flow="out")
        elements[washer] = replace(element, ends=[*element.ends, hose])
        joints.append(Joint(washer, len(element.ends), pipe, end, inferred=True))
    return connect(replace(network.model, elements=elements, joints=joints))


def drains_into_receptor(network: Network) -> set[int]:
    """Washers that empty into a standpipe or box drawn as a fixture, by hose or beside it."""
    found = {i for i, at in _beside(network) if isinstance(at, int)}
    for index in _washers(network):
        hose = _hose(network, index)
        met = {n for i in [index, *hose] for n in network.neighbours(i)}
        met |= {n for i in met for n in network.neighbours(i)}  # of three that meet at one place
        if any(_is_receptor(network.elements[n]) for n in met) or _hangs_in(network, hose):
            found.add(index)
    return found


def _hangs_in(network: Network, hose: list[int]) -> bool:
    """Whether a hose ends in the open, over or in a standpipe drawn as a fixture."""
    ends = (
        end.position
        for i in hose
        for number, end in enumerate(network.elements[i].ends)
        if (i, number) not in network.taken_ends
    )
    under = (receptor_under(network, end) for end in ends)
    return any(found is not None and _is_receptor(found) for found in under)


def hoses(network: Network) -> set[int]:
    """The elements of hoses: from what pumps to the first trap, fixture, branch or larger pipe."""
    return {i for index in network.of_kinds(*PUMPING) for i in _hose(network, index)}


def _hose(network: Network, index: int) -> list[int]:
    def beside(at: int) -> list[int]:
        return [i for i in network.neighbours(at) if i != index and _is_hose(network, i)]

    found = list(by_steps(beside(index), beside))
    return found if any(network.elements[i].role is Role.PIPE for i in found) else []


def _is_hose(network: Network, index: int) -> bool:
    element = network.elements[index]
    if element.role not in (Role.PIPE, Role.FITTING, Role.VALVE):
        return False
    of_drain = element.system is None or element.system in DRAINAGE
    return of_drain and is_as_small(element) and len(element.ends) <= 2


def is_as_small(element: Element) -> bool:
    """Whether an element may be of a hose by its size."""
    return element.size_in is None or at_most(element.size_in, HOSE_MOST_IN)


def _washers(network: Network) -> list[int]:
    return network.of_kinds(WASHER)


def _is_receptor(element: Element) -> bool:
    return element.role is Role.FIXTURE and element.kind == STANDPIPE


def _beside(network: Network) -> list[tuple[int, int | tuple[int, int]]]:
    """Each washer joined to no drain, with what it empties into: a fixture, or (pipe, end)."""
    lone = [i for i in _washers(network) if not _is_drained(network, i)]
    if not lone:
        return []
    elements = network.elements
    places: list[tuple[int | tuple[int, int], Point]] = [
        *((i, p) for i, e in enumerate(elements) if _is_receptor(e) and (p := _at(e))),
        *_open_standpipes(network),
    ]
    trapped = len(places)
    places += _open_risers(network, {at for at, _ in places})
    near = NearPlaces([place for _, place in places])
    pairs = sorted(
        (number >= trapped, apart, elements[washer].guid, number, washer)
        for washer in lone
        if (here := _at(elements[washer])) is not None
        for number in near.around([here], 1.5 * REACH_M)[0]
        for there in [places[number][1]]
        if at_most(abs(here[2] - there[2]), REACH_M, "m")
        and at_most(apart := dist(here[:2], there[:2]), REACH_M, "m")
    )
    found: dict[int, int] = {}
    for *_, number, washer in pairs:
        if washer not in found and number not in found.values():
            found[washer] = number
    return [(washer, places[number][0]) for washer, number in sorted(found.items())]


def _is_drained(network: Network, index: int) -> bool:
    """Whether anything of the drainage is joined to a washer."""
    return any(
        e.system in DRAINAGE or (e.system is None and e.role in (Role.TRAP, Role.PIPE))
        for e in (network.elements[i] for i in network.neighbours(index))
    )


def _at(element: Element) -> Point | None:
    """Where an element stands: its place, else its first end."""
    return element.position or next(iter(element.places), None)


def _open_standpipes(network: Network) -> Iterable[tuple[tuple[int, int], Point]]:
    """Pipes that rise from a trap and are open at their top: (pipe, end) with the place of it."""
    taken = network.taken_ends
    for index, element in enumerate(network.elements):
        if element.role is not Role.TRAP:
            continue
        before, at = index, index
        while len(above := _rising(network, at, before)) == 1:
            before, at = at, above[0]
        pipe = network.elements[at]
        if pipe.role is not Role.PIPE:
            continue
        for number, end in enumerate(pipe.ends):
            if (at, number) not in taken and end.position is not None:
                yield (at, number), end.position


def _open_risers(
    network: Network, known: set[int | tuple[int, int]]
) -> Iterable[tuple[tuple[int, int], Point]]:
    """Upright sanitary pipes without a trap that are open at their top: a standpipe made badly."""
    taken = network.taken_ends
    for index, element in enumerate(network.elements):
        if element.role is not Role.PIPE or element.system is not System.SANITARY:
            continue
        ends = [(n, e.position) for n, e in enumerate(element.ends) if e.position is not None]
        if len(ends) != 2:
            continue
        (_, low), (top, high) = sorted(ends, key=lambda end: end[1][2])
        upright = high[2] - low[2] > dist(low[:2], high[:2])
        if upright and (index, top) not in taken and (index, top) not in known:
            yield (index, top), high


def _rising(network: Network, at: int, before: int) -> list[int]:
    """What rises from an element, but for where one came from."""
    return [i for i in network.neighbours(at) if i != before and _rises(network, i, at)]


def _rises(network: Network, index: int, below: int) -> bool:
    """Whether a pipe or fitting rises above the element below it, and branches nowhere."""
    element = network.elements[index]
    if element.role not in (Role.PIPE, Role.FITTING) or len(network.neighbours(index)) > 2:
        return False
    heights = [z for _, _, z in element.places]
    bottom = [z for _, _, z in network.elements[below].places]
    return bool(heights and bottom) and lies_above(max(heights), max(bottom))
