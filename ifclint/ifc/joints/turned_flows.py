"""Flows that a file states the wrong way round, as where a program reverses all its ports, and
those that contradict each other.

A meter stands between the street and those who take: where all who take water or gas lie on the
side of its inlet, and nobody on that of its outlet, its flow is stated the wrong way. Where the
pipes behind it say the same, all flows of the file are turned.
"""

from collections import deque

from ifclint.ifc.elements import Element, End, Model, Note, Role, ends_joined

USERS = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER})
TURNED = {"in": "out", "out": "in"}
STATE_FLOW = "Set FlowDirection: SINK where water or gas enters, SOURCE where it leaves."
Ends = dict[int, list[tuple[int, tuple[int, int]]]]  # own end, other element and its end
STAYS_OUT = frozenset({Role.TRAP, Role.VENT_TERMINAL, Role.OTHER, Role.METER})


def turn_flows(model: Model) -> None:
    """Turn the flows of meters, and of whole files, that are stated the wrong way round."""
    meters = [i for i, e in enumerate(model.elements) if e.role is Role.METER and _has_inlet(e)]
    if not meters:
        return
    joined = ends_joined(model.joints, range(len(model.elements)))
    wrong = [meter for meter in meters if _is_reversed(model, joined, meter)]
    for number in sorted({model.elements[meter].model for meter in wrong}):
        own = [meter for meter in wrong if model.elements[meter].model == number]
        whole = _agree(model, joined, own)
        turned = [e for e in model.elements if e.model == number] if whole else [
            model.elements[meter] for meter in own
        ]  # fmt: skip
        _turn(turned)
        first = model.elements[own[0]]
        of = "all ports of its file were turned" if whole else "it was turned"
        what = (
            f"{first.label} is stated to flow (FlowDirection of its ports) from the side where "
            f"all fixtures and appliances lie; {of}."
        )
        model.notes.append(Note(what, STATE_FLOW, first.guid, "flow"))


def forget_contradictions(model: Model) -> None:
    """Ends that are joined and both stated to be inlets, or both outlets, tell no flow, but those
    of elements that state both: a check valve is stated to be turned."""
    elements, found, forgotten = model.elements, list[Element](), list[End]()
    for a, a_end, b, b_end, *_ in model.joints:
        one, other = elements[a], elements[b]
        ends = one.ends[a_end], other.ends[b_end]
        if ends[0].flow != ends[1].flow or ends[0].flow not in TURNED:
            continue
        untold = [end for e, end in zip((one, other), ends, strict=True) if not _tells(e)]
        found += [one] if untold else []
        forgotten += untold
    for end in forgotten:
        end.flow = ""
    if found:
        what = (
            f"At {len(found)} joints, as at {found[0].label}, both ports are stated to take in or "
            "both to give out (FlowDirection): those that state nothing else were not believed."
        )
        model.notes.append(Note(what, STATE_FLOW, found[0].guid, "flow"))


def _tells(element: Element) -> bool:
    """Whether an element is stated to have an inlet and an outlet."""
    return {"in", "out"} <= {end.flow for end in element.ends}


def _has_inlet(element: Element) -> bool:
    """Whether one of its one or two ends is stated to be its inlet."""
    return len(element.ends) < 3 and [end.flow for end in element.ends].count("in") == 1


def _has_both(element: Element) -> bool:
    return sorted(end.flow for end in element.ends) == ["in", "out"]


def _turn(elements: list[Element]) -> None:
    for element in elements:
        for end in element.ends:
            end.flow = TURNED.get(end.flow, end.flow)


def _is_reversed(model: Model, joined: Ends, meter: int) -> bool:
    before = _side(model, joined, meter, "in")
    if not _takes(model, before):
        return False
    return not _takes(model, _side(model, joined, meter, "out"))


def _takes(model: Model, side: dict[int, int]) -> bool:
    return any(model.elements[i].role in USERS for i in side)


def _side(model: Model, joined: Ends, meter: int, flow: str) -> dict[int, int]:
    """What lies on the side of an end of a meter, up to those who take and to other meters, each
    with the number of the end by which it is entered."""
    ends = model.elements[meter].ends
    waiting = deque(other for own, other in joined[meter] if ends[own].flow == flow)
    found: dict[int, int] = {}
    while waiting:
        index, entered = waiting.popleft()
        if index in found or index == meter or model.elements[index].role in STAYS_OUT:
            continue
        found[index] = entered
        if model.elements[index].role not in USERS:
            waiting += [other for _, other in joined[index]]
    return found


def _agree(model: Model, joined: Ends, meters: list[int]) -> bool:
    """Whether most pipes behind meters that are stated the wrong way round are so too."""
    said = {"in": 0, "out": 0}
    for meter in meters:
        for index, entered in _side(model, joined, meter, "in").items():
            element = model.elements[index]
            if element.role is Role.PIPE and _has_both(element):
                said[element.ends[entered].flow] += 1
    return said["out"] > said["in"]
