"""Known systems passed along joints to what has none."""

from ifclint.ifc.elements import SPREAD, Element, Joint, Role, System, joined_to
from ifclint.ifc.facts.service.kinds_of_service import NOT_POTABLE, single_of
from ifclint.ifc.facts.service.systems import MIXES, PARTS, PIPED

ENDS_SPREAD = frozenset(
    {Role.FIXTURE, Role.HEATER, Role.TRAP, Role.APPLIANCE, Role.TANK, Role.PUMP, Role.METER}
)
HOLD_WATER = frozenset({Role.TRAP, Role.INTERCEPTOR, Role.CHAMBER})
NOT_SPREAD_TO = frozenset({Role.FIXTURE, Role.OTHER})


def spread(elements: list[Element], joints: list[Joint]) -> None:
    """Pass known systems along joints to elements that have none, nearest first.

    Never across a fixture, heater, trap, appliance, tank, pump, meter, faucet or mixing valve, not
    onto an element that is known already or is in a system of another name that is not understood,
    and no further where different systems meet; what is not potable goes past no device against
    backflow, and to no meter. What is joined to a trap drains, whatever vent it meets; a trap,
    interceptor or chamber is of no vent.
    """
    unknown = {
        i for i, e in enumerate(elements) if e.system is None and e.role not in NOT_SPREAD_TO
    }
    if not unknown:
        return
    neighbours = joined_to(j for j in joints if j.a in unknown or j.b in unknown)
    front = {i: s for i in neighbours if (s := elements[i].system) is not None}
    settled = set(front)
    for i, e in enumerate(elements):
        if e.role is Role.TRAP and (e.system is None or e.system is System.SANITARY):
            drains = [
                n for n in neighbours.get(i, ()) if n in unknown and elements[n].role in PIPED
            ]
            _settle(elements, dict.fromkeys(drains, System.SANITARY))
            front |= dict.fromkeys(drains, System.SANITARY)
            settled.update(drains)
    while front:
        claims: dict[int, set[System]] = {}
        for i, system in front.items():
            if elements[i].role not in ENDS_SPREAD and elements[i].kind not in MIXES:
                for other in neighbours[i]:
                    if other not in settled and _may_be_of(system, elements[i], elements[other]):
                        claims.setdefault(other, set()).add(system)
        settled |= claims.keys()
        front = {i: s for i, found in claims.items() if (s := single_of(list(found))) is not None}
        _settle(elements, front)


def _may_be_of(system: System, known: Element, other: Element) -> bool:
    """Whether an element may have the service of one beside it, by what it is and the systems the
    two are in. Water that nobody drinks ends at a device against backflow and at a meter."""
    names = {known.system_name, other.system_name} - {""}
    if other.role in NOT_SPREAD_TO or len(names) > 1:
        return False
    return system not in NOT_POTABLE or (other.kind not in PARTS and other.role is not Role.METER)


def _settle(elements: list[Element], found: dict[int, System]) -> None:
    for i, system in found.items():
        holds_water = system is System.VENT and elements[i].role in HOLD_WATER
        elements[i].system = System.SANITARY if holds_water else system
        elements[i].basis["system"] = SPREAD
