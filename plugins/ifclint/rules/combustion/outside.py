"""Rules about gas around the building: bonding, outside shutoff, meters, appliance connectors."""

from __future__ import annotations

from collections.abc import Iterator
from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Change,
    PartKind,
    check,
    missing,
    require,
    unverified,
)
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Outcome, Severity
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import GasAppliance, GasPiping
from ifclint.plumbing.gas.connectors import CSST, is_connector, is_flexible
from ifclint.plumbing.gas.gas_piping import SHUTOFFS, is_regulator, middle_of
from ifclint.plumbing.surroundings.obstacles import Obstacle, level_distance_m
from ifclint.plumbing.words import says
from ifclint.rules.combustion.burners import Burner, burners
from ifclint.rules.combustion.section import CombustionSection

ARC_RESISTANT = ("arc resistant*",)
SKIN_M = 0.01  # boxes of walls are drawn to the centimetre

BUILDING_SHUTOFFS = PartKind(
    "gas shutoffs of the building",
    drawn=lambda context: any(_building_shutoffs(i, context)[0] for i in _sources(context)),
    remedy="Draw the valve that shuts off the gas of the building (IfcValve, GASCOCK or ISOLATING) "
    "between the meter and the first branch, or before the meter.",
)
WALLS = PartKind(
    "walls",
    drawn=lambda context: context.plumbing.surroundings.has_walls,
    remedy="Review together with the file that has the walls (IfcWall).",
)
OPENINGS = PartKind(
    "windows or doors",
    drawn=lambda context: bool(context.plumbing.surroundings.of_kind("window", "door")),
    remedy="Review together with the file that has the windows and doors.",
)


@rule(
    title="CSST gas tubing bonded against lightning",
    subject=GasPiping,
    clauses={"upc": "1211.2", "ipc": "IFGC 310.2", "irc": "G2411.2"},
    severity=Severity.HIGH,
)
def csst_bonded(piping: GasPiping, context: Context) -> Answer:
    """A stroke of lightning arcs through the thin wall of corrugated tubing and lights the gas.

    Asked once of the piping where the model has corrugated stainless tubing, by name or material,
    as models hold no bonding conductors: the job file answers. Tubing named as arc resistant is
    bonded with the rest of the piping and is excused, as is a connector of an appliance.
    """
    tubes = [e for e in piping.members if _is_csst(e)]
    stated = context.job.section(CombustionSection).csst_bonded
    if not tubes:
        return NOT_APPLICABLE
    if stated is None:
        return unverified(
            "Whether the corrugated gas tubing (CSST) is bonded to the grounding electrode system "
            "is not known.",
            "Show the bonding clamp and conductor on the gas plan, and state it in the job file "
            "(combustion.csst_bonded).",
            [e.guid for e in tubes],
        )
    return require(
        stated,
        message="The corrugated gas tubing (CSST) is not bonded to the grounding electrode system.",
        remedy="Bond the tubing with a listed clamp and conductor where the gas enters the "
        "building, by a licensed electrician.",
        elements=[e.guid for e in tubes],
    )


def _is_csst(element: Element) -> bool:
    if element.role is not Role.PIPE or says(element, ARC_RESISTANT) or is_connector(element):
        return False
    return says(element, CSST) or element.material in ("csst", "stainless steel")


@rule(
    title="Gas of the building shut off from outside",
    subject=GasPiping,
    clauses={"upc": "1210.11.2.3", "ipc": "IFGC 409.2", "irc": "G2420.2"},
    severity=Severity.HIGH,
)
def gas_building_shutoff(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """Firefighters turn off the gas before they go in.

    Between each source of gas and its first branch, or before the meter: a shutoff that is not an
    appliance's own; by the UPC family outdoors, beside the outline of walls and slabs. The fuel
    gas code asks for the valve at the meter alone.
    """
    for source in _sources(context):
        element = context.plumbing.network.elements[source]
        found, doubtful = _building_shutoffs(source, context)
        if found:
            yield PASS
        elif doubtful:
            yield unverified(
                f"Whether {doubtful[0].label} stands outdoors is not known.",
                "Review together with the file that has the walls and rooms, and place the valve.",
                (doubtful[0].guid,),
                about=element.guid,
            )
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
        return valves, []
    inside = [_is_inside(middle_of(valve), context) for valve in valves]
    told = list(zip(valves, inside, strict=True))
    return [v for v, i in told if i is False], [v for v, i in told if i is None]


def _sources(context: Context) -> list[int]:
    piping, elements = context.plumbing.gas, context.plumbing.network.elements
    guids = {e.guid for e in piping.source_elements} if piping is not None else set()
    return [i for i, e in enumerate(elements) if e.guid in guids]


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
    passed |= {i for other in others for i in _line_of(other, context)}
    waiting = [i for i in joined[source] if i not in passed]
    while waiting:
        each = waiting.pop()
        if each not in passed:
            passed.add(each)
            found.append(each)
            waiting += joined[each]
    of_building = _of_building(context)
    return [network.elements[i] for i in (source, *found) if i in of_building]


def _line_of(source: int, context: Context) -> list[int]:
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
    piping = context.plumbing.gas
    assert piping is not None
    onward = piping.distribution.down()[index]
    return [i for i in onward if i in _to_appliances(context)] or onward


@derived
def _to_appliances(context: Context) -> set[int]:
    """The elements on paths from the sources to appliances."""
    piping = context.plumbing.gas
    assert piping is not None
    found = set[int]()
    for connection in piping.distribution.connections:
        index = connection.up
        while index >= 0 and index not in found:
            found.add(index)
            index = piping.distribution.up[index]
    return found


@derived
def _joined_gas(context: Context) -> dict[int, list[int]]:
    """The gas piping that each piece of gas piping is joined to."""
    network, piping = context.plumbing.network, context.plumbing.gas
    guids = {e.guid for e in piping.members} if piping is not None else set()
    gas = {i for i, e in enumerate(network.elements) if e.guid in guids}
    return {i: [other for other in network.neighbours(i) if other in gas] for i in gas}


@derived
def _of_building(context: Context) -> set[int]:
    """The shutoffs that are not an appliance's own."""
    piping = context.plumbing.gas
    own = (a.shutoff for a in piping.appliances) if piping is not None else ()
    guids = {e.guid for e in own if e is not None}
    valves = (
        (i, e) for i, e in enumerate(context.plumbing.network.elements) if e.role is Role.VALVE
    )
    return {i for i, valve in valves if valve.kind in SHUTOFFS and valve.guid not in guids}


def _is_inside(point: Point | None, context: Context) -> bool | None:
    """Whether a point lies in a room, or beside the building; None where neither is certain."""
    footprint = context.plumbing.surroundings.footprint
    if point is None or footprint is None:
        return None
    if not footprint.holds(point):
        return False
    return True if context.plumbing.surroundings.rooms_around(point) else None


@rule(
    title="Gas meter away from flames",
    subject=GasPiping,
    clauses={"upc": "1208.7.2", "ipc": "49 CFR 192.353", "irc": "49 CFR 192.353"},
    severity=Severity.HIGH,
)
def gas_meter_clearance(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """Meters and their regulators breathe a little gas, and a flame beside them lights it.

    The distance from each gas meter to the nearest appliance that burns fuel with no wall between
    them. Where no walls are drawn, one so near is a question. Electrical gear, which ignites gas
    too, is not read.
    """
    limit = context.code.limit("gas_meter_from_ignition_ft")
    for meter in (e for e in piping.members if e.role is Role.METER):
        point = middle_of(meter)
        if point is None:
            yield unverified(
                f"Where {meter.label} stands is not known.",
                "Give the gas meter a place.",
                (meter.guid,),
                about=meter.guid,
            )
            continue
        near = [(_apart_ft(point, b), b.key, b) for b in burners(context) if b.burns]
        too_near = sorted(n for n in near if n[0] < limit.value)
        open_to = (n for n in too_near if not _walled(point, n[2].element.position, context))
        if (nearest := next(open_to, None)) is None:
            yield PASS
            continue
        feet, _, burner = nearest
        answer = check(
            feet,
            at_least=limit,
            message=f"{meter.label} stands {feet_text(feet)} from {burner.label}; "
            f"{limit.value:g} ft are asked for.",
            remedy=f"Move the meter or the appliance until {limit.value:g} ft lie between, or more "
            "where the gas supplier asks for it.",
            elements=(meter.guid, *burner.element_ids),
            about=meter.guid,
        )
        if answer is not PASS and not context.plumbing.surroundings.has_walls:
            message = f"Whether a wall parts {meter.label} from {burner.label} is not known."
            clicked = (meter.guid, *burner.element_ids)
            answer = missing(
                WALLS, message=message, remedy=WALLS.remedy, elements=clicked, about=meter.guid
            )
        yield answer


def _apart_ft(point: Point, burner: Burner) -> float:
    box, at = burner.element.box, burner.element.position
    if box is not None:
        near = [min(max(point[k], box[0][k]), box[1][k]) for k in range(3)]
        return dist(point, near) / M_PER_FT
    return dist(point, at) / M_PER_FT if at is not None else float("inf")


def _walled(a: Point, b: Point | None, context: Context) -> bool:
    """Whether a wall stands between two points."""
    return b is not None and any(o.kind == "wall" for o in _crossed(a, b, context))


@rule(
    title="Gas regulator outdoors vents away from openings",
    subject=GasPiping,
    clauses={"any": "NFPA 58 6.10.1 (propane), gas suppliers' practice (natural gas)"},
    severity=Severity.MEDIUM,
)
def gas_regulator_openings(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """What a torn diaphragm blows out drifts in by the window beside it.

    The distance in plan from each regulator outdoors to windows and doors of outside walls that
    reach below it. Too near is a violation for propane; for natural gas an advisory, as there the
    supplier decides. Regulators indoors are vented through pipe, which another rule follows.
    """
    limit = context.code.limit("gas_regulator_from_opening_ft")
    is_propane = context.job.gas.name == "propane"
    for regulator in filter(is_regulator, piping.members):
        point = middle_of(regulator)
        if point is None or _is_inside(point, context) is not False:
            continue
        openings = [o for o in _openings(context) if o.low[2] < point[2]]
        if not OPENINGS.is_drawn(context):
            message = f"How far {regulator.label} is from windows and doors is not known."
            yield missing(
                OPENINGS, message=message, remedy=OPENINGS.remedy, elements=(regulator.guid,)
            )
            continue
        if not openings:
            yield PASS
            continue
        nearest = min(openings, key=lambda o: level_distance_m(point, o.low, o.high))
        feet = level_distance_m(point, nearest.low, nearest.high) / M_PER_FT
        yield check(
            feet,
            at_least=limit,
            message=f"{regulator.label} stands {feet_text(feet)} from "
            f"{nearest.name or nearest.kind}; {limit.value:g} ft are asked for.",
            remedy=f"Set the regulator, or carry its vent, {feet_text(limit.value - feet)} farther "
            f"from the {nearest.kind}.",
            elements=(regulator.guid,),
            about=regulator.guid,
            wrong=Outcome.VIOLATION if is_propane else Outcome.ADVISORY,
        )


@derived
def _openings(context: Context) -> list[Surface]:
    """Windows and doors that lie in the outline of the building."""
    around = context.plumbing.surroundings
    found, footprint = around.outdoor_openings, around.footprint
    if footprint is None:
        return []
    return [o for o in found if footprint.has_outer_face(o.low, o.high)]


@rule(
    title="Appliance connector short, and in one room",
    subject=GasAppliance,
    clauses={"upc": "1212.3", "ipc": "IFGC 411.1.3", "irc": "G2422.1.2"},
    severity=Severity.HIGH,
)
def gas_connector(appliance: GasAppliance, context: Context) -> Iterator[Answer]:
    """A thin flexible connector chafes and breaks where it passes a wall, and nobody sees it.

    The flexible connectors on the appliance's own branch, by name: the length of each, and that it
    passes no wall, slab or roof. What is called flex and no more may be corrugated tubing, and is a
    question where a connector would be wrong. None drawn is nothing asked: another rule asks for
    the union.
    """
    limit = context.code.limit("gas_connector_length_ft")
    for connector in (e for e in appliance.own if e.role is not Role.VALVE and is_flexible(e)):
        points = [end.position for end in connector.ends if end.position is not None]
        length = connector.length_m
        if length is None and len(points) == 2:
            length = dist(*points)
        clicked = (connector.guid, *appliance.element_ids)
        if length is None:
            yield unverified(
                f"The length of {connector.label} is not known.",
                "Give the appliance connector a shape, or a Length quantity.",
                clicked,
                about=connector.guid,
            )
        else:
            answer = check(
                length / M_PER_FT,
                at_most=limit,
                message=f"{connector.label} of {appliance.label} is "
                f"{feet_text(length / M_PER_FT)} long; {limit.value:g} ft is the most.",
                remedy="Carry rigid pipe or tubing closer to the appliance.",
                elements=clicked,
                about=connector.guid,
            )
            yield _unless_tubing(answer, connector)
        if len(points) == 2:
            crossed = _crossed(points[0], points[1], context)
            answer = require(
                not crossed,
                message=f"{connector.label} of {appliance.label} passes "
                f'"{crossed[0].label if crossed else ""}".',
                remedy="Pass the wall or floor with rigid pipe, and fit the connector in the room "
                "of the appliance.",
                elements=clicked,
                about=f"{connector.guid} passes",
            )
            yield _unless_tubing(answer, connector)


def _unless_tubing(answer: Answer, connector: Element) -> Answer:
    """The answer; a question where it is wrong only if this is a connector."""
    if answer is PASS or is_connector(connector):
        return answer
    return unverified(
        f"{answer.message} Whether it is an appliance connector or corrugated tubing (CSST) is not "
        "known.",
        "Name the element for what it is: appliance connector, or CSST.",
        answer.elements,
        about=answer.about,
    )


def _crossed(a: Point, b: Point, context: Context) -> list[Obstacle]:
    """The walls, slabs and roofs that a line passes from face to face."""
    low = (min(a[0], b[0]), min(a[1], b[1]), min(a[2], b[2]))
    high = (max(a[0], b[0]), max(a[1], b[1]), max(a[2], b[2]))
    around = context.plumbing.surroundings.within(
        (low[0] - SKIN_M, low[1] - SKIN_M, low[2] - SKIN_M),
        (high[0] + SKIN_M, high[1] + SKIN_M, high[2] + SKIN_M),
    )
    return [o for o in around if o.kind in ("wall", "slab", "roof") and _passes(a, b, o)]


def _passes(a: Point, b: Point, obstacle: Obstacle) -> bool:
    """Whether a line passes through the thickness of an obstacle, within its other sides."""
    axes = range(3)
    thick = min(axes, key=lambda k: obstacle.high[k] - obstacle.low[k])
    low, high = sorted((a[thick], b[thick]))
    if low > obstacle.low[thick] + SKIN_M or high < obstacle.high[thick] - SKIN_M or low == high:
        return False
    middle = (obstacle.low[thick] + obstacle.high[thick]) / 2
    share = (middle - a[thick]) / (b[thick] - a[thick])
    at = [p + share * (q - p) for p, q in zip(a, b, strict=True)]
    return all(obstacle.low[k] <= at[k] <= obstacle.high[k] for k in axes if k != thick)


RULES = (
    csst_bonded, gas_building_shutoff, gas_meter_clearance, gas_regulator_openings, gas_connector,
)  # fmt: skip
