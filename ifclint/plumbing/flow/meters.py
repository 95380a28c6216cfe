"""Which of several meters stand at the street, and which measure a part of the building."""

from collections.abc import Callable, Iterable, Sequence

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import pieces
from ifclint.ifc.elements import Element
from ifclint.network import Network


def street_meters(
    network: Network, members: Iterable[int], meters: Sequence[int], uses: Callable[[Element], bool]
) -> list[int]:
    """The meters that have a side on which nothing takes water and no other meter stands, or
    nothing at all.

    That side must not be the one the water leaves by, where the ends of the meter tell; where they
    do not, the largest of such meters count, since a meter whose dwelling is not drawn looks the
    same. One with nothing on a side gives to the other where its end there or what takes water
    there tells, or its size beside all others. Piping in which no meter has such a side keeps all:
    their service is drawn before them.
    """
    elements = network.elements
    piping, sides = _between(network, set(members), set(meters))
    parts = list(pieces(piping, piping.__getitem__))
    part_of = {index: number for number, part in enumerate(parts) for index in part}
    has_user = [any(uses(elements[i]) for i in part) for part in parts]
    around: list[set[int]] = [set() for _ in parts]
    for meter, _, other in sides:
        around[part_of[other]].add(meter)

    told: dict[int, set[str]] = {}  # of a meter with a free side: how its end there is told
    for meter, end, other in sides:
        number = part_of[other]
        if not has_user[number] and around[number] == {meter}:
            told.setdefault(meter, set()).add(elements[meter].ends[end].flow)
    whole: dict[int, list[int]] = {meter: [] for meter in meters}  # parts are below 0
    flows: dict[int, list[str]] = {meter: [] for meter in meters}  # of the ends that are joined
    for meter, end, other in sides:
        whole[meter].append(-1 - part_of[other])
        whole.setdefault(-1 - part_of[other], []).append(meter)
        flows[meter].append(elements[meter].ends[end].flow)
    kept: list[int] = []
    for joined in pieces(whole, whole.__getitem__):
        here = [meter for meter in meters if meter in joined]
        at_ends = {m: flows[m][0] for m in here if len(flows[m]) == 1 and flows[m] != ["in"]}
        entered = [m for m in here if "in" in told.get(m, ()) or at_ends.get(m) == "out"]
        open_to_all = [m for m in here if told.get(m, {"out"}) != {"out"}]
        to_users = [m for m in at_ends if has_user[-1 - whole[m][0]]]
        largest = _largest(elements, here)
        begins = largest if len(largest) == 1 and largest[0] in at_ends else []
        kept += (
            entered or _largest(elements, open_to_all) or _largest(elements, to_users)
            or begins or here
        )  # fmt: skip
    return sorted(kept)


def _largest(elements: Sequence[Element], meters: list[int]) -> list[int]:
    sizes = [or_zero(elements[meter].size_in) for meter in meters]
    return [m for m, size in zip(meters, sizes, strict=True) if size == max(sizes)]


def _between(
    network: Network, members: set[int], meters: set[int]
) -> tuple[dict[int, list[int]], list[tuple[int, int, int]]]:
    """What each piece of the supply is joined to, the meters left out, and each end of a meter
    with what is joined to it."""
    piping: dict[int, list[int]] = {i: [] for i in sorted(members - meters)}
    sides = []
    for joint in network.joints:
        if joint.a not in members or joint.b not in members:
            continue
        if joint.a in meters and joint.b not in meters:
            sides.append((joint.a, joint.a_end, joint.b))
        elif joint.b in meters and joint.a not in meters:
            sides.append((joint.b, joint.b_end, joint.a))
        elif joint.a not in meters:
            piping[joint.a].append(joint.b)
            piping[joint.b].append(joint.a)
    return piping, sides
