"""Which elements the water supply is made of."""

from ifclint.engineering.joined import NONE
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Element, End, Role, System
from ifclint.network import Network
from ifclint.plumbing.supply.segments import mixes
from ifclint.plumbing.supply.water_fixtures import OUTLET_VALVES, USERS
from ifclint.plumbing.words import says_text

PASSED_IN = DRAINAGE | {System.RELIEF, System.HEATING}  # of tanks that water passes
BIBB = "hose-bibb"
NIPPLES = 6  # elements between a vessel and its drain cock, at most
WATER_DEVICES = frozenset({Role.METER, Role.HEATER, Role.TANK, Role.PUMP})


def supply_members(network: Network, drained: set[int]) -> list[int]:
    """Piping of the water supply, what is joined to it, and its devices; circulation and the drains
    of tanks left out."""
    elements = network.elements
    inside = [
        (e.system in WATER_SUPPLY and e.system is not System.HOT_WATER_RETURN)
        or e.role is Role.HEATER
        or (e.role is Role.METER and e.kind in ("water", "") and e.system in (None, System.WATER))
        for e in elements
    ]
    found = {i for i, is_member in enumerate(inside) if is_member}
    for member in sorted(found):
        beside = (i for i in network.beside(member) if not inside[i])
        found.update(i for i in beside if _belongs(elements[i]))
    found.update(i for i in network.of_roles(Role.TANK) if _is_in_line(network, i))
    for mixer in [i for i in found if mixes(elements[i])]:  # what it fills
        found.update(i for i in network.neighbours(mixer) if elements[i].role in USERS)
    return sorted(i for i in found if i not in drained and not _is_past_a_bibb(network, i))


def tank_drains(network: Network) -> set[int]:
    """The drain cocks of heaters and tanks, with what leads to them from there: no outlets, and
    nothing draws from them."""
    found: set[int] = set()
    for index, element in enumerate(network.elements):
        if (element.role is Role.VALVE and element.kind in OUTLET_VALVES) or element.kind == BIBB:
            found.update(_from_a_vessel(network, index))
    return found


def _from_a_vessel(network: Network, outlet: int) -> list[int]:
    """An outlet and the fittings before it, where they lead to the drain of a heater or tank, or to
    the side of it that takes cold water, and to nothing else; none where they do not."""
    elements, line, before = network.elements, [outlet], NONE
    for _ in range(NIPPLES):
        further = [(n, joint) for n, joint in network.joined[line[-1]] if n != before]
        if len(further) != 1:
            return []
        (at, number), before = further[0], line[-1]
        if elements[at].role in (Role.HEATER, Role.TANK):
            joint = network.joints[number]
            end = elements[at].ends[joint.a_end if joint.a == at else joint.b_end]
            is_drain = any(says_text(name, ("drain",)) for name in _names(elements, line, end))
            takes_cold = end.system is System.COLD_WATER and elements[at].role is Role.HEATER
            return line if is_drain or takes_cold else []
        line.append(at)
    return []


def _names(elements: list[Element], line: list[int], end: End) -> list[str]:
    return [end.name, *(elements[i].called for i in line)]


def _is_in_line(network: Network, index: int) -> bool:
    """Whether water passes a tank: piping of the supply is joined to it twice, whatever system of
    its other lines it is assigned to."""
    beside = [network.elements[i] for i in network.neighbours(index)]
    supply = [e for e in beside if e.system in WATER_SUPPLY - {System.HOT_WATER_RETURN}]
    return network.elements[index].system in PASSED_IN and len(supply) > 1


def _is_past_a_bibb(network: Network, index: int) -> bool:
    """Whether it is a vacuum breaker screwed on the outlet of a hose bibb, which is fed besides."""
    element, beside = network.elements[index], network.neighbours(index)
    bibbs = [i for i in beside if network.elements[i].kind == "hose-bibb"]
    return (
        element.role is Role.VALVE
        and element.kind in ("vacuum-breaker", "backflow-preventer")
        and len(bibbs) == len(beside) == 1
        and len(network.neighbours(bibbs[0])) > 1
    )


def _belongs(element: Element) -> bool:
    """Whether an element joined to supply piping is of the supply: a user, or a device."""
    is_device = element.role in WATER_DEVICES or element.role is Role.VALVE
    return element.role in USERS or (element.system is None and is_device)
