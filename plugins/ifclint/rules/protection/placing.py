"""Rules about where a device against backflow stands, and where its own water goes."""

from collections.abc import Iterator
from math import dist

from ifclint.checks import PASS, Fact, check, not_known, violation
from ifclint.engineering.tolerance import at_least, at_most, lies_above
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Change, Outcome, Severity
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing import Piece
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.words import says
from ifclint.rules.protection.devices import Device, device_of
from ifclint.rules.protection.hazards import IRRIGATION, Hazard

RECEIVES = frozenset({"floor-drain", "floor-sink", "mop-sink"})
NEAR_M = 3.0  # level; a drain so near takes the spill of a relief port. Ours, no source
RUNS_OFF = frozenset({System.SANITARY, System.RELIEF})  # the line of a relief port
HEADS = ("head", "emitter", "bubbler", "rotor", "sprinkler", "pop up", "dripper", "nozzle",
    "regner", "versenkregner", "aspersor", "gotero", "arroseur", "goutteur", "sproeier",
    "druppelaar")  # fmt: skip
OPEN_ENDED = frozenset({"faucet", "drain", "check"})  # hold nothing before them under pressure
BREAKERS = frozenset(
    {Device.PRESSURE_VACUUM_BREAKER, Device.ATMOSPHERIC_VACUUM_BREAKER, Device.VACUUM_BREAKER}
)
DISCHARGES = Fact(
    "where the relief port of {} discharges",
    "Draw the floor drain or receptor under each reduced-pressure device.",
)
TYPE = Fact(
    "{} stands {} in above what it feeds: enough for an atmospheric vacuum breaker, too little for "
    "a pressure vacuum breaker.",
    "Name the type of vacuum breakers: atmospheric or pressure.",
)
HEIGHT = Fact(
    "how high {} stands above what it feeds",
    "Give the vacuum breaker and what it feeds placed ports or shapes.",
)


@rule(
    title="Vacuum breaker above what it feeds",
    clauses={"upc": "603.4.3", "ipc": "608.14", "irc": "P2902.3"},
    severity=Severity.HIGH,
    applies=lambda hazard: hazard.kind in IRRIGATION or bool(_breakers(hazard)),
)
def vacuum_breaker_height(hazard: Hazard, context: Context) -> Iterator[Answer]:
    """Water that stands higher than a vacuum breaker keeps it from opening, and flows back.

    The place of each vacuum breaker of irrigation and equipment above the connection it feeds, as
    high as that is drawn, and above the top of a head that sprays: more for a pressure vacuum
    breaker than for an atmospheric one. Where the kind is not told and its height would do for one
    of them only, or the line ends in what is not understood, it is asked.
    """
    heights = _heights(hazard)
    for element, device in _breakers(hazard):
        if element.position is None or not heights:
            yield not_known(HEIGHT, element, about=element.guid)
            continue
        above_m = element.position[2] - max(heights)
        answer = _height(element, device, above_m / M_PER_IN, context)
        beyond = hazard.called and answer.outcome is Outcome.PASS  # what is fed is not in the model
        yield not_known(HEIGHT, element, about=element.guid) if beyond else answer


def _heights(hazard: Hazard) -> list[float]:
    """How high the connections of a hazard lie, and the top of a head; of a pipe, its far end."""
    element = hazard.element
    places = element.places
    before = next((e.position for path in hazard.paths for e in path if e is not element), None)
    if element.role is Role.PIPE and before is not None and places:
        places = [max(places, key=lambda place: dist(place, before))]
    tops = [element.box[1][2]] if element.box is not None and says(element, HEADS) else []
    return [place[2] for place in places] + tops


def _breakers(hazard: Hazard) -> list[tuple[Element, Device]]:
    """The vacuum breakers before a hazard, each once; not those that are built into it."""
    found = {e.guid: (e, d) for devices in hazard.devices for e, d in devices if d in BREAKERS}
    return [each for guid, each in found.items() if guid != hazard.element.guid]


def _height(element: Element, device: Device, above_in: float, context: Context) -> Answer:
    low = context.code.limit("atmospheric_breaker_above_in")
    high = context.code.limit("pressure_breaker_above_in")
    unstated = device is Device.VACUUM_BREAKER
    is_between = at_least(above_in, low.value, "in") and not at_least(above_in, high.value, "in")
    if unstated and is_between:
        return not_known(TYPE, element, number_text(above_in), about=element.guid)
    limit = high if device is Device.PRESSURE_VACUUM_BREAKER else low
    where = above_or_below(above_in)
    return check(
        above_in,
        at_least=limit,
        message=f"{element.label} stands {number_text(abs(above_in))} in {where} the highest point "
        f"it feeds; {number_text(limit.value)} in above is asked for.",
        remedy=Change(
            "move",
            (element.guid,),
            (limit.value - above_in) * M_PER_IN,
            f"Set the device at least {number_text(limit.value)} in above all that it feeds.",
        ),
        limit_step="Least height of a vacuum breaker",
        elements=(element.guid,),
        about=element.guid,
    )


@rule(
    title="No valve behind an atmospheric vacuum breaker",
    clauses={"upc": "Table 603.2", "ipc": "608.14.6", "irc": "P2902.3.2"},
    severity=Severity.HIGH,
    applies=lambda piece: device_of(piece.element) is Device.ATMOSPHERIC_VACUUM_BREAKER,
)
def atmospheric_breaker_last(piece: Piece, context: Context) -> Iterator[Answer]:
    """Under pressure that a valve behind it holds, its float sticks shut and admits no air.

    Every valve that an atmospheric vacuum breaker feeds; one with a pressure vacuum breaker may
    stand before valves. The sections are from memory.
    """
    supply = context.plumbing.supply
    below = list(supply.distribution.down()[supply.network.index_of(piece.element)])
    for index in below:
        below += supply.distribution.down()[index]
    yield PASS
    for valve in (supply.elements[i] for i in below):
        if valve.role is Role.VALVE and device_of(valve) is None and valve.kind not in OPEN_ENDED:
            yield violation(
                message=f"{valve.label} stands behind {piece.element.label}, and can hold it under "
                "pressure.",
                remedy="Set the valve before the vacuum breaker, or fit a pressure vacuum breaker.",
                elements=(valve.guid, piece.element.guid),
                about=valve.guid,
            )


@rule(
    title="The relief port of a reduced-pressure device drains through the air",
    clauses={"upc": "603.3.1", "ipc": "608.15.2.1", "irc": "P2902.3.1"},
    applies=lambda piece: (
        piece.role is Role.VALVE and device_of(piece.element) is Device.REDUCED_PRESSURE
    ),
)
def relief_port_drains(piece: Piece, context: Context) -> Answer:
    """When its checks foul, such a device pours out what a street main gives.

    A port whose line is joined to the drainage has no air gap. A floor drain or floor sink below
    and within 10 ft of the device, or of where a line drawn from its port ends, catches it;
    outdoors it runs away. Otherwise where it goes is asked.
    """
    device = piece.element
    line = _from_port(piece, context)
    joined = _joined_drain(line, context)
    if joined is not None:
        return violation(
            message=f"{device.label} is joined to {joined.label} without an air gap.",
            remedy="End the relief port through an air gap over a receptor.",
            elements=(device.guid, joined.guid),
        )
    ends = (line.end if line is not None and line.elements else None) or device.position
    fixtures = context.plumbing.network.of_role[Role.FIXTURE]
    caught = any(_catches(e, ends, device.storey) for e in fixtures)
    if caught or (ends is not None and context.plumbing.surroundings.is_outdoors(ends)):
        return PASS
    return not_known(DISCHARGES, device)


def _from_port(piece: Piece, context: Context) -> DischargeLine | None:
    """The line that leaves a device by its relief port; None where none is joined to it."""
    network = context.plumbing.network
    at = network.index_of(piece.element)
    ports = [n for n in neighbours(network, at) if network.elements[n[0]].system in RUNS_OFF]
    return follow(network, at, ports) if ports else None


def _joined_drain(line: DischargeLine | None, context: Context) -> Element | None:
    """The drain that the line of a relief port is joined to, at the device or at its end. One that
    ends in the air is the line itself, whatever system it is assigned to."""
    if line is None:
        return None
    into = (*line.elements, line.runs_into)
    drains = (e for e in into if e is not None and e.system is System.SANITARY)
    found = next((e for e in drains if e.role in (Role.PIPE, Role.FITTING, Role.TRAP)), None)
    return None if found is None or _ends_in_the_air(found, context) else found


def _ends_in_the_air(drain: Element, context: Context) -> bool:
    drainage = context.plumbing.drainage
    outlet = drainage.outlet_of(drainage.network.index_of(drain))
    return outlet is not None and (outlet.kind == RECEPTOR or not outlet.accepted)


def _catches(element: Element, spill: Point | None, storey: str) -> bool:
    """Whether a receptor stands beneath a place that spills, and near it."""
    if element.kind not in RECEIVES:
        return False
    there = element.position
    if spill is None or there is None or (element.storey and element.storey != storey):
        return False
    return at_most(dist(spill[:2], there[:2]), NEAR_M, "m") and not lies_above(there[2], spill[2])
