"""The rule on the valve that shuts off the gas of a whole building."""

from collections.abc import Iterator

from ifclint.checks import PASS, Answer, Change, Fact, PartKind, given, missing, not_known
from ifclint.findings import Severity
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import GasPiping
from ifclint.plumbing.gas.gas_piping import SHUTOFFS, middle_of

OUTDOORS = Fact(
    "whether {} stands outdoors",
    "Review together with the file that has the walls and rooms, and place the valve.",
)


@derived
def _sources(context: Context) -> list[int]:
    piping, elements = context.plumbing.gas, context.plumbing.network.elements
    guids = {e.guid for e in piping.source_elements} if piping is not None else set()
    return [i for i, e in enumerate(elements) if e.guid in guids]


BUILDING_SHUTOFFS = PartKind(
    "gas shutoffs of the building",
    drawn=lambda context: any(_building_shutoffs(i, context)[0] for i in _sources(context)),
    remedy="Draw the valve that shuts off the gas of the building (IfcValve, GASCOCK or ISOLATING) "
    "between the meter and the first branch, or before the meter.",
)


@rule(
    title="Gas of the building shut off from outside",
    clauses={"upc": "1210.11.2.3", "ipc": "IFGC 409.2", "irc": "G2420.2"},
    severity=Severity.HIGH,
)
def gas_building_shutoff(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """Firefighters turn off the gas before they go in.

    Between each source of gas and its first branch, or before the meter: a shutoff that is not an
    appliance's own; by the UPC family outdoors, beside the outline of walls and slabs, or one in
    each branch that leads from outdoors into the building. The fuel
    gas code asks for the valve at the meter alone.
    """
    for source in _sources(context):
        element = context.plumbing.network.elements[source]
        found, doubtful = _building_shutoffs(source, context)
        if found:
            yield PASS
        elif doubtful:
            yield not_known(OUTDOORS, doubtful[0], about=element.guid)
        else:
            text = "Set a shutoff outdoors, where it can be reached, before the first branch."
            yield missing(
                BUILDING_SHUTOFFS,
                message=f"No valve outdoors shuts off all the gas that comes from {element.label}.",
                remedy=Change("part", (element.guid,), "gas shutoff valve", text),
                elements=(element.guid,),
                about=element.guid,
            )


def _building_shutoffs(source: int, context: Context) -> tuple[list[Element], list[Element]]:
    """The shutoffs of the building behind a source, and those that may be."""
    valves = _shutoffs(context, source)
    if not context.code.limit("gas_building_shutoff_outdoors").value:
        return valves or _at_each_branch(context, source), []
    inside = [is_inside(middle_of(valve), context) for valve in valves]
    told = list(zip(valves, inside, strict=True))
    outdoors = [v for v, i in told if i is False] or _at_each_branch(context, source)
    return outdoors, [v for v, i in told if i is None]


@derived
def _at_each_branch(context: Context, source: int) -> list[Element]:
    """Where the gas branches outdoors, as to a generator, the shutoffs outdoors in what leads into
    the building; none unless each branch that does has one."""
    elements, found, waiting = context.plumbing.network.elements, list[Element](), [source]
    while waiting:
        at = waiting.pop()
        if not _is_outdoors(elements[at], context):
            return []
        if at in _of_building(context):
            found.append(elements[at])
        else:
            waiting += _feeding(at, context)
    return found


@derived
def _shutoffs(context: Context, source: int) -> list[Element]:
    """The shutoffs before the first branch behind a source, and those that come before it; none
    that is another source's."""
    network, found, at = context.plumbing.network, list[int](), source
    seen, joined = {source}, _joined_gas(context)
    while len(after := _feeding(at, context)) == 1 and after[0] not in seen:
        at = after[0]
        seen.add(at)
        found.append(at)
    others = {i for i in _sources(context) if i != source}
    passed = seen | others | set(_feeding(source, context))
    passed |= {i for other in others for i in _line_of(context, other)}
    waiting = [i for i in joined[source] if i not in passed]
    while waiting:
        each = waiting.pop()
        if each not in passed:
            passed.add(each)
            found.append(each)
            waiting += joined[each]
    of_building = _of_building(context)
    return [network.elements[i] for i in (source, *found) if i in of_building]


def _is_outdoors(element: Element, context: Context) -> bool:
    """Whether the middle and the ends of an element lie beside the building."""
    points = [middle_of(element), *(end.position for end in element.ends)]
    return all(is_inside(point, context) is False for point in points)


@derived
def _line_of(context: Context, source: int) -> list[int]:
    """What leads to one source alone, from the junction before it."""
    joined, line = _joined_gas(context), list[int]()
    fed = {source, *_feeding(source, context)}
    onward = [i for i in joined[source] if i not in fed]
    while len(onward) == 1 and len(joined[onward[0]]) <= 2:
        line += onward
        onward = [i for i in joined[onward[0]] if i not in fed and i not in line]
    return line


def _feeding(index: int, context: Context) -> list[int]:
    """What comes next behind a piece of gas piping: where appliances are known, toward those."""
    piping = given(context.plumbing.gas)
    onward = piping.distribution.down()[index]
    return [i for i in onward if i in piping.distribution.serving] or onward


@derived
def _joined_gas(context: Context) -> dict[int, list[int]]:
    """The gas piping that each piece of gas piping is joined to."""
    network, piping = context.plumbing.network, context.plumbing.gas
    guids = {e.guid for e in piping.members} if piping is not None else set()
    gas = {i for i, e in enumerate(network.elements) if e.guid in guids}
    return {i: [other for other in network.neighbours(i) if other in gas] for i in gas}


@derived
def _of_building(context: Context) -> set[int]:
    """The shutoffs that are not an appliance's own; outdoors the last before an appliance may be
    both."""
    piping = context.plumbing.gas
    own = [a.shutoff for a in piping.appliances if a.shutoff] if piping is not None else []
    guids = {e.guid for e in own if is_inside(middle_of(e), context) is not False}
    valves = (
        (i, e) for i, e in enumerate(context.plumbing.network.elements) if e.role is Role.VALVE
    )
    return {i for i, valve in valves if valve.kind in SHUTOFFS and valve.guid not in guids}


def is_inside(point: Point | None, context: Context) -> bool | None:
    """Whether a point lies in a room, or beside the building; None where neither is certain."""
    footprint = context.plumbing.surroundings.footprint
    if point is None or footprint is None:
        return None
    if not footprint.holds(point):
        return False
    return True if context.plumbing.surroundings.rooms_around(point) else None
