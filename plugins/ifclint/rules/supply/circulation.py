"""What circulates hot water: returns, where they begin and lead to, and what checks their flow."""

from collections.abc import Iterator
from dataclasses import dataclass

from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import COLD, HOT
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.mixing import side_of

BACK = frozenset({Role.HEATER, Role.TANK})
CHECK_WORDS = ("check", "non-return", "nonreturn")


@dataclass(frozen=True)
class Return:
    """Circulation piping that is joined together, and the piping beyond its ends, by what that is:
    hot water, the way back to the heater, or what is not understood."""

    piece: tuple[int, ...]
    hot: frozenset[int]
    back: frozenset[int]
    strange: bool
    dead: tuple[int, ...]  # what lies on no way from hot water back

    @property
    def circulates(self) -> bool:
        return bool(self.hot and self.back)


@derived
def returns(context: Context) -> list[Return]:
    """Every return of the building, with pipe in it."""
    supply = context.plumbing.supply
    found = [_return(supply, piece) for piece in pieces(supply)]
    return [r for r in found if any(supply.elements[i].role is Role.PIPE for i in r.piece)]


def _return(supply: Supply, piece: list[int]) -> Return:
    inside, network = set(piece), supply.network
    beyond = dict.fromkeys(n for i in piece for n in network.neighbours(i) if n not in inside)
    hot = {n for n in beyond if _brings_hot(supply, n)}
    back = {n for n in beyond if n not in hot and _leads_back(supply, n)}
    names = (supply.elements[i] for i in piece)
    strange = len(beyond) > len(hot | back) or any(
        e.guid in network.model.leads_elsewhere for e in names
    )
    kept = _between(supply, inside, hot, back)
    dead = tuple(i for i in piece if i not in kept)
    return Return(tuple(piece), frozenset(hot), frozenset(back), strange, dead)


def _brings_hot(supply: Supply, index: int) -> bool:
    element = supply.elements[index]
    if element.role in (Role.FIXTURE, Role.APPLIANCE):
        return True
    return not (element.role in BACK or element.kind == "mixing") and side_of(supply, index) == HOT


def _leads_back(supply: Supply, index: int) -> bool:
    element = supply.elements[index]
    return element.role in BACK or element.kind == "mixing" or side_of(supply, index) == COLD


def _between(supply: Supply, inside: set[int], hot: set[int], back: set[int]) -> set[int]:
    """What lies on a way from hot water back to the heater: without what leads to nothing."""
    import networkx as nx

    if not (hot and back):
        return set()
    on_it = {*inside, *hot, *back}
    graph = nx.Graph((i, n) for i in on_it for n in supply.network.beside(i) if n in on_it)
    graph.add_edges_from(("ends", i) for i in (*hot, *back))
    loops = nx.biconnected_components(graph)
    return {i for loop in loops if len(loop) > 2 for i in loop if i != "ends"}


def runs_astray(supply: Supply, found: Return) -> bool:
    """Whether a return that nothing pumps runs into cold water which leads to no heater or valve
    that mixes."""
    takes = [i for i in found.back if supply.elements[i].role in BACK or mixes(supply, i)]
    pumped = any(supply.elements[i].role is Role.PUMP for i in found.piece)
    leads = supply.distribution.how_many(
        [*supply.heaters, *(i for i in supply.distribution.members if mixes(supply, i))]
    )
    return found.circulates and not takes and not pumped and not any(leads[i] for i in found.back)


def mixes(supply: Supply, index: int) -> bool:
    return supply.elements[index].role is Role.VALVE and supply.elements[index].kind == "mixing"


def checks(element: Element) -> bool:
    """Whether a valve or pump lets water pass one way only: a check valve, or one that has one."""
    said = element.called.lower()
    is_check = element.kind == "check" or any(word in said for word in CHECK_WORDS)
    return is_check and element.role in (Role.VALVE, Role.PUMP)


def unchecked(supply: Supply, found: Return) -> list[int]:
    """What a return leads back to on a way from hot water without a check valve."""
    network, ways = supply.network, list[int]()
    for part in network.pieces([i for i in found.piece if not checks(supply.elements[i])]):
        beside = {n for i in part for n in network.neighbours(i)}
        if beside & found.hot:
            ways += beside & found.back
    return sorted(i for i in set(ways) if not checks(supply.elements[i]))


def pieces(supply: Supply) -> Iterator[list[int]]:
    """Circulation piping that is joined together, with what is in one line with it,
    valves and pumps, as far as the next junction."""
    left = dict.fromkeys(supply.returns)
    while left:
        open_ones, piece = [next(iter(left))], dict[int, None]()
        while open_ones:
            index = open_ones.pop()
            if index in piece:
                continue
            piece[index] = None
            is_return = left.pop(index, 0) is None
            if is_return or _leads_on(supply, index):
                near = supply.network.neighbours(index)
                open_ones += [i for i in near if i in left or _leads_on(supply, i)]
        yield list(piece)


def _leads_on(supply: Supply, index: int) -> bool:
    """A valve, a pump, and what of any name lies in one line with the return: no junction."""
    element, ways = supply.elements[index], len(supply.network.neighbours(index))
    in_line = (Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP)
    return element.role in in_line and ways <= 2 and element.kind != "mixing"
