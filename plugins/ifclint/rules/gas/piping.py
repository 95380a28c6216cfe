"""Rules about the gas piping as a whole: where it begins and ends, and the pressure in it."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import (
    PASS,
    Fact,
    advise,
    check,
    drawn,
    given,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import how_many, number_text
from ifclint.findings import Answer, PartKind
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import ANY_CODE, Context, derived
from ifclint.plumbing import GasPiping
from ifclint.plumbing.gas.gas_piping import GasZone
from ifclint.plumbing.gas.inputs import gas
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.near_misses import ENDS_AT, ENDS_IN, near_miss, stranger
from ifclint.rules.gas.places import is_within
from ifclint.rules.gas.sizing import plan
from ifclint.rules.gas.zone_service import zone_pressure_pa

SOURCES = PartKind(
    "gas meters or service regulators",
    drawn=lambda context: bool(context.plumbing.gas and context.plumbing.gas.source_elements),
    remedy="Model the gas meter (IfcFlowMeter, GASMETER) and join it to the piping, or name "
    "where the piping begins in the job file, gas.source.",
)
UNJOINED = PartKind(
    "gas meter or service regulator to gas piping",
    drawn=SOURCES.drawn,
    remedy="Join the gas meter to its piping (ports, or ends that meet), and give both one system.",
    lack="draws a gas meter, and joins no",
)


def _draws_fittings(context: Context) -> bool:
    """Whether any fitting that a pipe does not run straight through is drawn in the gas piping."""
    fittings = context.plumbing.network.of_role[Role.FITTING]
    return any(e.system is System.GAS and e.kind not in STRAIGHT for e in fittings)


def _draws_users(context: Context) -> bool:
    of_role = context.plumbing.network.of_role
    return bool(of_role[Role.FIXTURE] or of_role[Role.APPLIANCE])


STRAIGHT = frozenset({"coupling", "reducer"})
FITTINGS = PartKind(
    "elbows, tees or caps of gas piping",
    drawn=_draws_fittings,
    remedy="Model the caps of the ends that are closed (IfcPipeFitting).",
)
APPLIANCES = PartKind(
    "fixtures or appliances",
    drawn=_draws_users,
    remedy="Add the file that holds the appliances to the review, or cap what leads to none.",
)
SUPPLIED = ("delivery_pressure", "allowed_drop")
OF_GAS = ("heating_value", "specific_gravity")
PLACED = Fact(
    "gas is delivered at {} psi; whether that enters the building is not known.",
    "Add the walls to the model, or the architect's file to the review, place the pipe, and write "
    "the pressure behind each regulator into the job file, gas.regulators.",
)
PRESSURE = Fact(
    "the pressure behind {}, in pipe within the building, is not known.",
    "Write the pressure behind each regulator into the job file, gas.regulators.",
)
TAKER = Fact(
    "{} is joined to something that is not understood.",
    "Give what takes the gas its IFC class, or name it or its type in trade words.",
)
BEYOND = Fact(
    "what {} leads to is not known: one of its ends alone is drawn, and it is no cap.",
    "Give it a port at its other end, and join the appliance or the cap it leads to.",
)
STATED = Fact(
    "The job file does not state {}.", "Write {0} into the job file, as the gas supplier states it."
)
GIVES_NOTHING = Fact(
    "the job file gives an input of {}, which is neither a gas appliance nor a cap that gas "
    "comes to: it counts for no pipe.",
    "Write the input in gas.loads with the GlobalId of the appliance, or of the outlet's cap.",
)
DELIVERED = Fact(
    "The gas delivery pressure is not known.", "Write gas.delivery_pressure into the job file."
)
PROPANE_ENTERS = Fact(
    "Propane enters the building at {} psi: less than the {} psi to which it is limited, and more "
    "than other gas.",
    "Reduce the pressure outdoors, or have the authority agree to it.",
)


def members(context: Context) -> list[Element]:
    """All elements of the gas piping."""
    return context.plumbing.gas.members if context.plumbing.gas is not None else []


@derived
def sources(context: Context) -> PartKind:
    """What the gas begins at: where there is none, a meter may stand there that is not joined."""
    meters = context.plumbing.network.of_role[Role.METER]
    is_drawn = any(meter.kind == "gas" for meter in meters)
    return UNJOINED if is_drawn else SOURCES


@gas_rule(title="Meter, pressure and gas known", clauses=ANY_CODE)
def gas_supply_known(piping: GasPiping, context: Context) -> list[Answer]:
    """Nothing about gas pipe can be sized before it is known what is delivered, and where.

    The meter or regulator from which the piping begins, and of the job file the delivery
    pressure, the allowed drop, the heating value and the specific gravity (of propane not: the
    code's tables are made for it); and that every input it gives is of an appliance or of an
    outlet.
    """
    drawn(sources(context), context, "where the gas piping begins")
    asked = SUPPLIED if context.job.gas.kind == "propane" else (*SUPPLIED, *OF_GAS)
    absent = [f"gas.{key}" for key in asked if getattr(context.job.gas, key) is None]
    if absent:
        return [not_known(STATED, ", ".join(absent))]
    services = {zone: plan(context).services[zone] for zone in piping.zones if zone.is_first}
    unknown = [
        replace(service, about=zone.start.guid)
        for zone, service in services.items()
        if isinstance(service, Answer)
    ]
    astray = [not_known(GIVES_NOTHING, e, about=e.guid) for e in _loads_astray(piping, context)]
    return [*unknown, *astray] or [PASS]


def _loads_astray(piping: GasPiping, context: Context) -> Iterator[Element]:
    """The gas piping that the job file gives an input, and that ends at no appliance."""
    outlets = {outlet.element.guid for outlet in piping.outlets}
    loaded = {load.element for load in context.job.gas.loads} - outlets
    return (element for element in piping.members if element.guid in loaded)


@gas_rule(
    title="Gas pressure in the building within the limit",
    clauses={"upc": "1208.5", "ipc": "IFGC 402.7", "irc": "G2413.7"},
    of_load=True,
)
def gas_building_pressure(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """A leak at high pressure fills a room with gas in minutes.

    The pressure delivered, and that behind each regulator, of the piping within the outline of
    walls and slabs, against the highest the code lets into a building. Where neither the delivery
    pressure nor that of a first stage is higher, all piping passes. Undiluted propane has a limit
    of its own; between the two limits it is asked about, since authorities read them differently.
    """
    delivered = context.job.gas.delivery_pressure
    if delivered is None:
        yield not_known(DELIVERED)
    elif all(_may_enter(pa, context) for pa in (delivered, *_first_pressures(piping, context))):
        yield PASS
    else:
        by_zone = _pipes_by_zone(piping, delivered, context)
        if None in by_zone or not by_zone:
            yield _enters(None, delivered, by_zone.pop(None, []), context)
        for zone, pipes in by_zone.items():
            assert zone is not None
            yield _enters(zone.start, zone_pressure_pa(zone, context), pipes, context)


def _first_pressures(piping: GasPiping, context: Context) -> list[float]:
    """What stands where the piping begins, which may be more than is said to be delivered."""
    begun = (zone_pressure_pa(zone, context) for zone in piping.zones if zone.is_first)
    return [pressure for pressure in begun if pressure is not None]


def _pipes_by_zone(
    piping: GasPiping, delivered_pa: float, context: Context
) -> dict[GasZone | None, list[Element]]:
    """The pipes behind each regulator, under None those at the delivery pressure."""
    begins = {z for z in piping.zones if z.is_first}
    at_delivery = {z for z in begins if zone_pressure_pa(z, context) == delivered_pa}
    pipes = defaultdict[GasZone | None, list[Element]](list)
    for pipe in (e for e in piping.members if e.role is Role.PIPE):
        zone = piping.zone_of.get(pipe.guid)
        pipes[None if zone in at_delivery else zone].append(pipe)
    return pipes


def _may_enter(pressure_pa: float, context: Context) -> bool:
    limit = context.code.limit("gas_indoor_max_psi")
    return at_most(pressure_pa / PA_PER_PSI, limit.value, limit.unit)


def _enters(
    regulator: Element | None, pressure_pa: float | None, pipes: list[Element], context: Context
) -> Answer:
    """Whether pipe of a pressure (None: not known) that may not enter the building does."""
    if pressure_pa is not None and _may_enter(pressure_pa, context):
        return PASS
    within = {pipe.guid: is_within(pipe, context) for pipe in pipes}
    inside = tuple(guid for guid, is_in in within.items() if is_in)
    about = regulator.guid if regulator is not None else ""
    if not inside and pipes and None not in within.values():
        return PASS
    if not inside:
        return _not_placed(tuple(g for g, is_in in within.items() if is_in is None), about, context)
    behind = regulator.label if regulator else "the meter"
    psi = known(pressure_pa, PRESSURE, behind, elements=inside, about=about) / PA_PER_PSI
    limit = context.code.limit("gas_indoor_max_psi")
    if (supplied := gas(context)) is not None and supplied.name == "propane":
        limit = context.code.limit("gas_propane_max_psi")
        if at_most(psi, limit.value, limit.unit):
            figures = number_text(psi), number_text(limit.value)
            return not_known(
                PROPANE_ENTERS, *figures, elements=inside, about=about, clause=limit.clause
            )
    return check(
        psi,
        at_most=limit,
        message=f"Gas pipe in the building carries {number_text(psi)} psi; not more than "
        f"{number_text(limit.value)} psi may enter the building.",
        remedy="Reduce the pressure outdoors with a regulator before the building.",
        limit_step="Highest pressure indoors",
        elements=inside,
        about=about,
    )


def _not_placed(pipes: tuple[str, ...], about: str, context: Context) -> Answer:
    delivered = given(context.job.gas.delivery_pressure)
    psi = number_text(delivered / PA_PER_PSI)
    return not_known(PLACED, psi, elements=pipes, about=about)


@gas_rule(
    title="No loop and no stray pipe of gas",
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
    follows=(System.GAS,),
)
def gas_piping_whole(piping: GasPiping, context: Context) -> list[Answer]:
    """Gas that can come two ways is not shut off by one valve, and pipe fed by nothing is lost.

    Every loop of gas pipe, and every piece of gas piping that no meter or regulator feeds; one that
    ends at a part of other gas piping without being joined to it, or in something that is not
    understood, is a question. Where the source is not known, that is reported instead.
    """
    drawn(sources(context), context, "without one no gas pipe can be followed.")
    stray = [_stray(pipes, context) for pipes in _stray_pieces(piping)]
    loops = [
        advise(
            "The gas piping closes a loop; it was sized as cut where the paths meet.",
            "Open the loop, so that one valve shuts off what is behind it.",
            elements=(meeting.guid,),
            about=meeting.guid,
        )
        for meeting in piping.loops
    ]
    return [*stray, *loops] or [PASS]


def _stray(pipes: tuple[str, ...], context: Context) -> Answer:
    message = f"No meter is joined to {how_many(len(pipes), 'gas pipe')}."
    if missed := near_miss(pipes, context):
        return not_known(
            ENDS_AT, message, *missed, elements=(missed[0].guid, *pipes), about=pipes[0]
        )
    if strange := stranger(pipes, context):
        return not_known(ENDS_IN, message, *strange, elements=pipes, about=pipes[0])
    return violation(
        message=message,
        remedy="Join the pipe to the piping it is fed from, or remove it.",
        elements=pipes,
        about=pipes[0],
    )


def _stray_pieces(piping: GasPiping) -> Iterator[tuple[str, ...]]:
    """The stray pipes, by what is joined together."""
    made, stray = piping.distribution, {pipe.guid for pipe in piping.stray}
    for piece in made.network.pieces(made.not_reached()):
        guids = (made.elements[i].guid for i in sorted(piece))
        if pipes := tuple(guid for guid in guids if guid in stray):
            yield pipes


@gas_rule(
    title="Every gas outlet joined or closed gastight",
    clauses={"upc": "1210", "ipc": "IFGC 404", "irc": "G2415"},
    applies=lambda piping: bool(piping.source_elements),
    follows=(System.GAS,),
)
def gas_outlet_closed(piping: GasPiping, context: Context) -> list[Answer]:
    """An end that nothing closes lets gas out the moment its valve is opened.

    The ends of all pipe, fittings and valves that a meter or regulator feeds; each must be joined
    to an appliance or closed by a cap. A closed valve does not count as a cap. What the model joins
    to something that is not understood is asked about, and so is a line that ends at what has a
    single end and is no cap, and an end at which other gas piping ends without being joined to it.
    A model without any gas fitting draws no caps either, and one with neither fixture nor appliance
    leaves them to another file: both are questions. The sections are from memory.
    """
    unknown = [not_known(TAKER, last, about=last.guid) for last in piping.unknown_takers]
    unknown += [not_known(BEYOND, last, about=last.guid) for last in piping.ends_alone]
    near = list(filter(None, (near_miss(pipes, context) for pipes in _stray_pieces(piping))))
    opened = [
        _opened(last, [stray for stray, at in near if at is last], context)
        for last in piping.open_ends
        if last not in piping.unknown_takers
    ]
    return [*opened, *unknown] or [PASS]


def _opened(last: Element, strays: list[Element], context: Context) -> Answer:
    """An open end is wrong; it is a question where stray piping ends at every one of a part."""
    message = f"{last.label} has an end that is joined to nothing."
    if strays and len(strays) >= _open_count(last, context):
        return not_known(ENDS_AT, message, strays[0], last, elements=(last.guid,), about=last.guid)
    part = FITTINGS if APPLIANCES.is_drawn(context) else APPLIANCES
    return missing(
        part,
        message=message,
        remedy="Close the end with a cap or plug, or join it to the appliance it is meant for.",
        elements=(last.guid,),
        about=last.guid,
    )


def _open_count(element: Element, context: Context) -> int:
    network = context.plumbing.network
    index, *_ = network.of_guid[element.guid]
    return sum((index, end) not in network.taken_ends for end in range(len(element.ends)))
