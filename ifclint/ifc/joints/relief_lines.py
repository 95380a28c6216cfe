"""What hangs on the outlet of a relief valve is its discharge line, whatever it is drawn as."""

from ifclint.ifc.elements import (
    DRAINAGE,
    WATER_SUPPLY,
    Basis,
    Confidence,
    Element,
    Joint,
    Role,
    System,
    ends_joined,
)
from ifclint.ifc.joints.free_ends import RELIEF
from ifclint.ifc.joints.touching import RECEPTORS

HANGS = Basis("the relief valve that it hangs on", Confidence.INFERRED)
ENDS_OVER = RECEPTORS | {"pan-drain"}
PIPED = frozenset({Role.PIPE, Role.FITTING, Role.VALVE})
RELIEVED = frozenset({Role.HEATER, Role.TANK})
DRAWN_AS = DRAINAGE | WATER_SUPPLY | {System.CONDENSATE, System.STORM, System.RELIEF, None}
Beside = dict[int, list[tuple[int, str]]]  # what is joined to an element, and the flow of its end


def tell_relief_lines(elements: list[Element], joints: list[Joint]) -> None:
    """Make relief discharge of the piping that leads from a relief valve to open ends, receptors,
    air gaps or caps and to nothing else: no fixture or trap is on it. That a valve is, is for the
    rules to tell.

    So is the nipple between the valve and a heater or tank, where it is drawn as drainage; one
    between the valve and a line of water is of that water. The side of the valve that leads to what
    it relieves is the other one; where none does, the flow of its end or the drainage the line is
    drawn as tells. Of water, it has no branch or valve.
    """
    valves = [i for i, e in enumerate(elements) if e.role is Role.VALVE and e.kind == RELIEF]
    if not valves:
        return
    beside: Beside = {
        i: [(other, elements[i].ends[own].flow) for own, (other, _) in met]
        for i, met in ends_joined(joints, range(len(elements))).items()
    }
    for valve in valves:
        sides = [(_line(elements, beside, valve, n), flow) for n, flow in beside.get(valve, ())]
        relieves = any(not line for line, _ in sides)
        for line, flow in sides:
            drains = bool(line) and elements[line[0]].system in DRAINAGE
            if line and (relieves or flow == "out" or drains):
                _tell(elements, [i for i in (valve, *line) if elements[i].system in DRAWN_AS])
        for first, _ in beside.get(valve, ()):
            nipple, system = _nipple(elements, beside, valve, first)
            _tell(elements, nipple, system)


def _line(elements: list[Element], beside: Beside, valve: int, first: int) -> list[int]:
    """The piping that leads on from a valve; none where it is no discharge line."""
    line, waiting, seen = list[int](), [first], {valve, first}
    branches = valved = False
    while waiting:
        at = waiting.pop()
        element = elements[at]
        if at != first and (element.kind in ENDS_OVER or element.kind in (RELIEF, "air-gap")):
            continue
        if element.role not in PIPED or element.system not in DRAWN_AS:
            return []
        line.append(at)
        joined = [n for n, _ in beside.get(at, ()) if n not in seen]
        onward = [n for n in joined if not _enters_a_drain(elements, beside, at, n)]
        branches = branches or len(onward) > 1
        valved = valved or element.role is Role.VALVE
        seen.update(onward)
        waiting += onward
    is_water = any(elements[i].system in WATER_SUPPLY for i in line)
    return [] if is_water and (branches or valved) else line


def _nipple(
    elements: list[Element], beside: Beside, valve: int, first: int
) -> tuple[list[int], System]:
    """The unbranched piping drawn as drainage between a valve and the heater, tank or line of water
    it relieves, and what it is of; none where it leads elsewhere."""
    passed, at = [valve], first
    while elements[at].role not in RELIEVED:
        system = elements[at].system
        if system in WATER_SUPPLY and elements[at].role in PIPED:
            return passed[1:], system
        passed.append(at)
        onward = [n for n, _ in beside[at] if n not in passed]
        is_piping = elements[at].role in (Role.PIPE, Role.FITTING)
        if not is_piping or elements[at].system not in DRAINAGE or len(onward) != 1:
            return [], System.RELIEF
        at = onward[0]
    return passed[1:], System.RELIEF


def _enters_a_drain(elements: list[Element], beside: Beside, at: int, onward: int) -> bool:
    """Whether piping that is stated to be a relief line is joined to what is stated to drain: a
    fitting that other piping is joined to than of relief lines."""
    if elements[at].system is not System.RELIEF or elements[onward].system not in DRAINAGE:
        return False
    if elements[onward].role is Role.FITTING:
        joined = [elements[n].system for n, _ in beside[onward]]
        if len(joined) > 1 and all(system is System.RELIEF for system in joined):
            return False
    return _is_stated(elements[at]) and _is_stated(elements[onward])


def _is_stated(element: Element) -> bool:
    basis = element.basis.get("system")
    return basis is None or basis.confidence is Confidence.STATED


def _tell(elements: list[Element], line: list[int], system: System = System.RELIEF) -> None:
    for i in line:
        if elements[i].system is not system:
            elements[i].system, elements[i].basis["system"] = system, HANGS
