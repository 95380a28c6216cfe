"""Where a water supply begins: at the street, at a private source, or, failing both, guessed.

A private source is a pump, tank or well with nothing but suction before it: a pump lifts from
whatever lies on the side of it where nothing takes water, a tank on the roof gives by its height.
Pumps and tanks of the hot side and of circulation are no sources, nor are expansion tanks.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE, by_steps
from ifclint.errors import InputError
from ifclint.ifc.elements import WATER_SUPPLY, Element, Role, System, ends_joined
from ifclint.network import Network
from ifclint.plumbing.flow.meters import street_meters
from ifclint.plumbing.flow.pressure import PressurePiping, head_of
from ifclint.plumbing.flow.tie_ins import tie_ins
from ifclint.plumbing.words import SPILLS, says

GUESSED = "assumed: the largest open end of the cold water piping"
NOT_LIFTING = frozenset({"circulator", "sump-pump"})
HOT_SIDE = frozenset({System.HOT_WATER, System.HOT_WATER_RETURN, System.HEATING})
WELL_WORDS = (
    "well", "suction", "jet", "submersible", "borehole", "spring", "cistern", "brunnen*", "saug*",
    "puits", "forage", "pozo", "succion", "aspiracion", "bron", "waterput",
)  # fmt: skip
OPENS_TO_THE_STREET = frozenset({Role.PIPE, Role.VALVE})  # where an end is left open
NO_SOURCES = frozenset({"faucet", "mixing", "relief"})  # kinds of valves that water ends at
AGAINST_BACKFLOW = frozenset({"backflow-preventer", "check"})
TOLD = {"out": 1, "in": -1}  # of an end by which it is joined: what speaks for a source

Uses = Callable[[Element], bool]


@dataclass(frozen=True)
class Sources:
    """Where a supply begins, how that is known, and which of it are private: without a street."""

    heads: list[int]
    basis: str
    private: frozenset[int] = field(default_factory=frozenset)


def find_sources(
    piping: PressurePiping, members: list[int], source: str | None, uses: Uses
) -> Sources:
    """The source of the job file; else the meters, and the private sources of piping without one;
    else where it is joined to existing piping, or the largest open end.

    Raises InputError where the job file names no element of the water supply.
    """
    network, elements, inside = piping.network, piping.network.elements, set(members)
    if source is not None:
        named = [i for i in members if elements[i].guid == source]
        if not named:
            raise InputError(
                "Job file, water.source: no element of the water supply has the GlobalId "
                f'"{source}".'
            )
        heads = [_begins(piping, inside, i, uses) for i in named]
        return Sources(heads, "job file", frozenset(i for i in heads if _lifts(elements[i])))
    meters = [i for i in members if elements[i].role is Role.METER]
    street = street_meters(network, members, meters, uses) if len(meters) > 1 else meters
    heads = [_begins(piping, inside, meter, uses) for meter in street]
    basis = "model: the meter" if heads == street else "model: the pipe before the meter"
    lifted, what = _lifted(network, members, set(meters), uses)
    if lifted:
        words = f"model: {what}"
        private = frozenset(head for head, is_private in lifted.items() if is_private)
        return Sources([*heads, *lifted], f"{basis}; {words}" if heads else words, private)
    if heads:
        return Sources(heads, basis)
    if ties := tie_ins(network, members):
        return Sources(ties, "model: where it is joined to existing piping")
    guess = _largest_open_end(network, members)
    if guess is not None:
        return Sources([guess], GUESSED)
    vessels = [i for i in members if elements[i].kind == "pressure"]
    if vessels:  # the pump stands outside the model
        return Sources(vessels[:1], "model: the pressure tank", frozenset(vessels[:1]))
    return Sources([], "none found")


def _begins(piping: PressurePiping, inside: set[int], index: int, uses: Uses) -> int:
    """Where water comes to a meter, or to what is named as the source: the far end of the piping
    before it, else itself. A pump, tank or well draws what it gives."""
    network = piping.network
    element = network.elements[index]
    if _lifts(element) or _is_well(element) or element.role is Role.TANK:
        return index
    before = _before(network, inside, index, uses) if element.role is Role.METER else None
    return head_of(piping, index) if before is None else before


def _before(network: Network, inside: set[int], meter: int, uses: Uses) -> int | None:
    """The far end of what is joined to the inlet of a meter, as its ends state it, where nothing
    takes water before the meter and nothing there leads past it."""
    elements = network.elements
    inlets = [
        other
        for other, number in network.joined[meter]
        if elements[meter].ends[_end_of(network, meter, number)].flow == "in" and other in inside
    ]
    side, open_ones = {meter}, inlets[:]
    while open_ones:
        index = open_ones.pop()
        if index in side:
            continue
        busy = uses(elements[index]) or elements[index].role in (Role.HEATER, Role.METER)
        leads_past = index not in inlets and meter in network.neighbours(index)
        if busy or leads_past:
            return None
        side.add(index)
        open_ones += [i for i in network.neighbours(index) if i in inside]
    return _far_end(network, side, [meter]) if len(inlets) == 1 else None


def _end_of(network: Network, index: int, number: int) -> int:
    """The end by which an element is joined."""
    joint = network.joints[number]
    return joint.a_end if joint.a == index else joint.b_end


def _lifts(element: Element) -> bool:
    return element.role is Role.PUMP and element.kind not in NOT_LIFTING


def _stores(element: Element) -> bool:
    """A tank from which water runs by its height."""
    return element.role is Role.TANK and element.kind not in ("expansion", "pressure", "fuel")


def _is_well(element: Element) -> bool:
    return element.role is Role.CHAMBER


def _lifted(
    network: Network, members: list[int], meters: set[int], uses: Uses
) -> tuple[dict[int, bool], str]:
    """Where piping in which no meter stands begins before a pump, tank or well, and whether that is
    private; and what the first of them is."""
    elements = network.elements
    kinds = ((_lifts, "the pump"), (_stores, "the tank"), (_is_well, "the well"))
    if not any(is_one(elements[i]) for is_one, _ in kinds for i in members):
        return {}, ""
    heads: dict[int, bool] = {}
    words = ""
    for found in network.pieces(members):
        if found & meters:
            continue
        for is_one, what in kinds:
            movers = [i for i in sorted(found) if is_one(elements[i]) and _is_cold(network, i)]
            begun = _begun(network, found, movers, uses) if movers else {}
            if begun:
                heads, words = heads | begun, words or what
                break
    return dict(sorted(heads.items())), words


def _is_cold(network: Network, index: int) -> bool:
    """Whether an element stands in the cold supply: nothing hot, and no heater, is joined to it."""
    beside = [network.elements[i] for i in network.neighbours(index)]
    return network.elements[index].system not in HOT_SIDE and not any(
        e.system in HOT_SIDE or e.role is Role.HEATER for e in beside
    )


def _begun(
    network: Network, piping: set[int], movers: Sequence[int], uses: Uses
) -> dict[int, bool]:
    """Where piping begins that pumps, or tanks, divide: at their suction side, else at them; and
    whether that is private.

    A suction side is a part where nothing takes water, by the flow of the ends too, and from which
    all pumps lead to the one same part. What a pump draws from a bare pipe end may be the street's
    water; words tell a well, and so does a pressure tank.
    """
    elements = network.elements
    parts = list(network.pieces(sorted(piping - {*movers})))
    part_of = {i: number for number, part in enumerate(parts) for i in part}
    takes = [any(uses(elements[i]) or elements[i].role is Role.HEATER for i in p) for p in parts]
    if not any(takes):
        return {}
    spills = {n for n, p in enumerate(parts) if not takes[n] and _spills(network, p)}
    part_of = {i: number for i, number in part_of.items() if number not in spills}
    sides = {m: _sides(network, m, part_of) for m in movers}
    heads = {m: True for m in movers if _only_gives(sides[m])}
    pressed = any(elements[i].kind == "pressure" for i in piping)
    for number, part in enumerate(parts):
        pumps = [m for m in movers if number in sides[m]]
        beyond = {other for m in pumps for other in sides[m]} - {number}
        leaves = any("out" in sides[m][number] for m in pumps)
        if takes[number] or leaves or len(beyond) != 1 or {*pumps} & {*heads}:
            continue
        head = _far_end(network, {*part, *pumps}, pumps)
        told = any(says(elements[i], WELL_WORDS) for i in {*part, *pumps})
        heads[head] = pressed or told or elements[head].role is not Role.PIPE
    return heads


def _sides(network: Network, mover: int, part_of: dict[int, int]) -> dict[int, list[str]]:
    """The parts joined to a pump or tank, and how the flow of its ends toward each is stated."""
    found: dict[int, list[str]] = {}
    for other, number in network.joined[mover]:
        if other in part_of:
            flow = network.elements[mover].ends[_end_of(network, mover, number)].flow
            found.setdefault(part_of[other], []).append(flow)
    return found


def _spills(network: Network, part: Iterable[int]) -> bool:
    """Whether piping is called what a tank spills or is emptied through."""
    return any(says(network.elements[i], SPILLS) for i in part)


def _only_gives(sides: dict[int, list[str]]) -> bool:
    """Whether piping is joined to one end of a pump or tank alone, and not to its inlet; or to
    several that are all stated to be outlets."""
    flows = [flow for at in sides.values() for flow in at]
    return {*flows} == {"out"} or (len(flows) == 1 and flows != ["in"])


def _far_end(network: Network, side: set[int], pumps: Iterable[int]) -> int:
    """The end of a suction side at which water comes in: a tank or well first, then one that water
    leaves for the pumps as its ends tell, then one that leads on to no other service and lies
    behind the fewest devices against backflow, as a branch to fire sprinklers does; of several the
    farthest from the pumps."""
    elements, starts = network.elements, set(pumps)
    beside = {i: side & {*network.beside(i)} - {i} for i in side}
    steps, guards = dict[int, int](), dict[int, int]()
    for index, came in by_steps(starts, beside.__getitem__).items():
        steps[index] = steps[came] + 1 if came != NONE else 0
        guards[index] = guards.get(came, 0) + (elements[index].kind in AGAINST_BACKFLOW)
    ends = [i for i in side if i not in starts and len(beside[i]) <= 1]
    held = [i for i in ends if elements[i].role in (Role.TANK, Role.CHAMBER)]
    candidates = held or ends or [i for i in side if i not in starts]

    def likely(index: int) -> tuple[int, bool, int, int, int]:
        leads_on = any(i not in side for i in network.neighbours(index))
        rank = TOLD.get(_flow_into(network, index, side), 0)
        return rank, not leads_on, -guards.get(index, 0), steps.get(index, 0), -index

    return max(candidates, key=likely)


def _flow_into(network: Network, index: int, side: set[int]) -> str:
    """How the flow of the ends by which an element is joined to a side is told; "" where not, or
    both ways."""
    ends = network.elements[index].ends
    joined = (number for other, number in network.joined[index] if other in side)
    flows = {ends[_end_of(network, index, number)].flow for number in joined}
    return flows.pop() if len(flows) == 1 else ""


def _largest_open_end(network: Network, members: Iterable[int]) -> int | None:
    """The cold pipe of greatest size, then lowest, that ends in nothing; or a valve that does."""
    inside = set(members)
    among = (j for j in network.joints if j.a in inside and j.b in inside)
    joined = ends_joined(among, inside)
    ends: list[tuple[float, float, int]] = []
    for index in sorted(inside):
        element = network.elements[index]
        gives_none = element.system in WATER_SUPPLY & HOT_SIDE or element.kind in NO_SOURCES
        if element.role not in OPENS_TO_THE_STREET or gives_none or len(element.ends) < 2:
            continue
        met = {own for own, _ in joined[index]}
        for number, end in enumerate(element.ends if met else ()):
            if number not in met:
                low = -end.position[2] if end.position is not None else 0.0
                ends.append((or_zero(element.size_in), low, -index))
    return -max(ends)[2] if ends else None
