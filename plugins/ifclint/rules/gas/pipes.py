"""Rules about the size of gas pipe, and the pressure that arrives."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, advise, check, unverified, violation
from ifclint.codes import AdoptedCode
from ifclint.engineering.units import M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Measure, Step
from ifclint.ifc.elements import Element, Role
from ifclint.packs import ANY_CODE, Context
from ifclint.plumbing import GasAppliance, GasPiping, GasSegment
from ifclint.plumbing.gas.inputs import btu_text, inputs
from ifclint.rules.gas.around import is_within
from ifclint.rules.gas.capacity import EQUATION, Service, trade_words
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.sizing import (
    LISTED,
    Missing,
    Sized,
    amount_text,
    plan,
    plan_with,
    steps_of,
    zone_pressure_pa,
)

SIZING = {"upc": "1215.1 and 1215.2", "ipc": "IFGC 402.2 and 402.4", "irc": "G2413.2 and G2413.4"}


def lacking(missing: Missing) -> Answer:
    return unverified(missing.what, missing.remedy, missing.elements)


def size_remedy(sized: Sized) -> str:
    """The smallest size that would do, in one sentence."""
    if sized.smallest is None or sized.sizing is None:
        return (
            "No listed size carries this load over this length: divide the load, or supply a "
            "higher pressure through line regulators."
        )
    return (
        f"Make this pipe {trade_words(sized.sizing, sized.smallest)}, and none before it smaller."
    )


@gas_rule(
    title="Gas pipe large enough for the appliances it feeds",
    subject=GasSegment,
    clauses=SIZING,
)
def gas_pipe_size(segment: GasSegment, context: Context) -> Answer:
    """Pipe too small starves the burners: they soot, go out, or light late and with a bang.

    The inputs of all appliances a run feeds, divided by the heating value, against what its size
    and material may carry over the length its method counts, by the code's table or by the
    equation, as the job file chooses.
    """
    sized = plan(context).sized[segment]
    if sized.missing is not None:
        return lacking(sized.missing)
    assert sized.capacity is not None
    allowed, load = sized.capacity, sized.load
    if load > allowed.value:
        return violation(
            message=(
                f"{segment.label} feeds {amount_text(load, allowed.unit)} and may carry "
                f"{amount_text(allowed.value, allowed.unit)}."
            ),
            remedy=size_remedy(sized),
            measured=Measure(load, allowed.unit),
            required=Measure(allowed.value, allowed.unit, "at most"),
            steps=steps_of(sized, context),
            clause=allowed.clause,
        )
    if sized.unknown:
        return unverified(
            f"{segment.label} feeds {len(sized.unknown)} appliance(s) of unknown input.",
            GIVE_INPUT,
            (*segment.element_ids, *(a.element.guid for a in sized.unknown)),
            measured=Measure(load, allowed.unit, "at least"),
            required=Measure(allowed.value, allowed.unit, "at most"),
            steps=steps_of(sized, context),
        )
    return PASS


GIVE_INPUT = (
    "Give the appliance its input (a property named InputRating, or "
    "Pset_BoilerTypeCommon.NominalEnergyConsumption), or write it into the job file, gas.loads."
)


@gas_rule(
    title="Input of every gas appliance known",
    subject=GasAppliance,
    clauses=ANY_CODE,
    applies=lambda appliance: appliance.is_stated,
)
def gas_appliance_input(appliance: GasAppliance, context: Context) -> Answer:
    """Gas pipe is sized for the input on the appliance's rating plate.

    The input as the model tells it, else as the job file does. Where neither does, the code's
    usual input of such an appliance is taken, and reported here; where model and job file differ,
    the model's is taken, and that is reported too.
    """
    known = inputs(context)[appliance]
    if known is None:
        return unverified(f"The input of {appliance.label} is not known.", GIVE_INPUT)
    if known.is_usual:
        return unverified(
            (
                f"The input of {appliance.label} is not known; {btu_text(known.watts)}, the "
                f"{known.basis}, is taken."
            ),
            GIVE_INPUT,
            steps=(known.step(appliance),),
        )
    if known.job_watts is not None:
        return unverified(
            (
                f"The model gives {appliance.label} {btu_text(known.watts)}, the job file "
                f"{btu_text(known.job_watts)}; the model's is taken."
            ),
            "Correct whichever is wrong: the input in the model, or gas.loads.",
            steps=(known.step(appliance),),
        )
    return PASS


@gas_rule(
    title="Pressure at every gas appliance within the allowed drop",
    subject=GasAppliance,
    clauses={"upc": "1208.4.2", "ipc": "IFGC 402.5", "irc": "G2413.5"},
    applies=lambda appliance: appliance.segment is not None,
)
def gas_pressure_drop(appliance: GasAppliance, context: Context) -> Answer:
    """What the piping loses must leave the appliance the pressure it is listed for.

    The losses of all runs between the meter (or the last regulator) and the appliance with every
    appliance burning, by the code's equation and the true bore, against the allowed drop.
    """
    made = plan(context)
    lost = made.drop_pa[appliance]
    assert appliance.segment is not None
    service = made.services[appliance.segment.zone]
    if isinstance(lost, Missing):
        return lacking(lost)
    assert isinstance(service, Service)
    if lost <= service.drop_pa:
        return PASS
    drop, most = lost / PA_PER_IN_WC, service.drop_pa / PA_PER_IN_WC
    paths = [
        made.sized[segment]
        for segment in appliance.segments
        if segment.zone is appliance.segment.zone
    ]
    worst = max(paths, key=lambda sized: sized.drop_pa)
    return violation(
        message=(
            f"{number_text(drop)} in wc are lost on the way to {appliance.label}; "
            f"{number_text(most)} in wc are allowed."
        ),
        remedy=f"Enlarge the pipe that loses most: {worst.segment.label}.",
        measured=Measure(drop, "in wc"),
        required=Measure(most, "in wc", "at most"),
        steps=(*_losses(paths), Step("Lost in all", drop, "in wc")),
    )


def _losses(paths: list[Sized]) -> list[Step]:
    """What the runs of a way lose, in order; of a long way those that lose most."""
    most = sorted(paths, key=lambda sized: -sized.drop_pa)[:LISTED]
    steps = [_loss(sized) for sized in paths if sized in most]
    if len(paths) > LISTED:
        rest = sum(sized.drop_pa for sized in paths) - sum(sized.drop_pa for sized in most)
        steps.append(Step(f"{len(paths) - LISTED} more pipes", rest / PA_PER_IN_WC, "in wc"))
    return steps


def _loss(sized: Sized) -> Step:
    """What a run loses."""
    assert sized.sizing is not None
    feet = number_text((sized.segment.length_m + sized.fittings_m) / M_PER_FT)
    words = f"{sized.segment.label}, {feet} ft, {btu_text(sized.load_w)}"
    return Step(words, sized.drop_pa / PA_PER_IN_WC, "in wc", EQUATION[sized.sizing.law])


@gas_rule(
    title="Gas piping would serve the appliance asked about in the job file",
    subject=GasAppliance,
    clauses=SIZING,
)
def gas_what_if(appliance: GasAppliance, context: Context) -> Answer:
    """What would have to change if an appliance were replaced by one of another input.

    Each question of the job file (gas.what_if) is answered with the pipes that would be too small
    and the size each would need; today's piping is judged elsewhere. Appliances nobody asks about
    are excused.
    """
    questions = [q for q in context.job.gas.what_if if q.element == appliance.element.guid]
    if not questions:
        return NOT_APPLICABLE
    failing: dict[GasSegment, str] = {}
    steps: list[Step] = []
    for question in questions:
        asked = plan_with(context, {appliance: question.input})
        for segment, sized in asked.sized.items():
            if appliance not in segment.appliances:
                continue
            if sized.missing is not None:
                return lacking(sized.missing)
            if (sized.spare or 0.0) < 0:
                failing[segment] = f'"{question.name}": {segment.label}'
                steps.append(_needed(failing[segment], sized))
    if not failing:
        return PASS
    names = " and ".join(f'"{q.name}"' for q in questions)
    return advise(
        f"{names} would overload {len(failing)} of the pipes on the way to {appliance.label}.",
        "Before the appliance is replaced, enlarge the pipes listed to the sizes listed.",
        steps=tuple(steps),
        elements=tuple(guid for segment in failing for guid in segment.element_ids),
    )


def _needed(words: str, sized: Sized) -> Step:
    assert sized.sizing is not None
    assert sized.capacity is not None
    load = amount_text(sized.load, sized.capacity.unit)
    if sized.smallest is None:
        return Step(f"{words} would carry {load}: no listed size does")
    size = trade_words(sized.sizing, sized.smallest)
    return Step(f"{words} would carry {load} and needs {size}", source=sized.capacity.clause)


@gas_rule(
    title="Meter, pressure and gas known",
    subject=GasPiping,
    clauses=ANY_CODE,
)
def gas_supply_known(piping: GasPiping, context: Context) -> Answer:
    """Nothing about gas pipe can be sized before it is known what is delivered, and where.

    The meter or regulator from which the piping begins, and of the job file the delivery
    pressure, the allowed drop, the heating value and the specific gravity.
    """
    if not piping.source_elements:
        return unverified(
            "No gas meter or service regulator was found from which the gas piping begins.",
            "Model the gas meter (IfcFlowMeter, GASMETER) and join it to the piping, or name "
            "where the piping begins in the job file, gas.source.",
        )
    keys = ("delivery_pressure", "allowed_drop", "heating_value", "specific_gravity")
    absent = [f"gas.{key}" for key in keys if getattr(context.job.gas, key) is None]
    if absent:
        return unverified(
            f"The job file does not tell {', '.join(absent)}.",
            f"Write {', '.join(absent)} into the job file, as the gas supplier states it.",
        )
    services = [plan(context).services[zone] for zone in piping.zones if zone.is_first]
    return next((lacking(s) for s in services if isinstance(s, Missing)), PASS)


@gas_rule(
    title="Gas pressure in the building within the limit",
    subject=GasPiping,
    clauses={"upc": "1208.5", "ipc": "IFGC 402.6", "irc": "G2413.6"},
)
def gas_building_pressure(piping: GasPiping, context: Context) -> Answer:
    """A leak at high pressure fills a room with gas in minutes.

    The highest pressure of the piping within the outline of walls and slabs against the highest
    the code lets into a building. Where the delivery pressure is no higher, all piping passes.
    """
    pressure = context.job.gas.delivery_pressure
    if pressure is None:
        return unverified(
            "The gas delivery pressure is not known.",
            "Write gas.delivery_pressure into the job file.",
        )
    limit = context.code.limit("gas_indoor_max_psi")
    most_pa = limit.value * PA_PER_PSI * 1.001
    if pressure <= most_pa:
        return PASS
    pipes = [p for p in piping.members if p.role is Role.PIPE]
    high = [p for p in pipes if (_pressure_pa(p, piping, context) or pressure) > most_pa]
    wrong = [p for p in high if is_within(p, context)]
    if wrong:
        return _too_high(wrong, piping, context)
    unknown = [p for p in high if is_within(p, context) is None]
    if unknown or not high:
        return unverified(
            f"Gas is delivered at {number_text(pressure / PA_PER_PSI)} psi; whether that enters "
            "the building is not known.",
            "Add the walls to the model, or the architect's file to the review, place the pipe, "
            "and write the pressure behind each regulator into the job file, gas.regulators.",
            tuple(p.guid for p in unknown),
        )
    return PASS


def _pressure_pa(pipe: Element, piping: GasPiping, context: Context) -> float | None:
    """The pressure in a pipe; None behind a regulator of which nothing tells it."""
    zone = piping.zone_of.get(pipe.guid)
    if zone is None:
        return context.job.gas.delivery_pressure
    return zone_pressure_pa(zone, context)


def _too_high(within: list[Element], piping: GasPiping, context: Context) -> Answer:
    """The answer where pipe within the building carries too much, or nobody tells how much."""
    limit = context.code.limit("gas_indoor_max_psi")
    stated = {p.guid: pa for p in within if (pa := _pressure_pa(p, piping, context)) is not None}
    if not stated:
        return unverified(
            "The pressure behind a regulator before the building is not known.",
            "Write the pressure behind each regulator into the job file, gas.regulators.",
            tuple(p.guid for p in within),
        )
    psi = max(stated.values()) / PA_PER_PSI
    return violation(
        message=(
            f"Gas pipe in the building carries {number_text(psi)} psi; not more than "
            f"{number_text(limit.value)} psi may enter the building."
        ),
        remedy="Reduce the pressure outdoors with a regulator before the building.",
        measured=Measure(psi, "psi"),
        required=Measure(limit.value, "psi", "at most"),
        steps=(_limit_step(context.code, "gas_indoor_max_psi", "Highest pressure indoors"),),
        elements=tuple(stated),
        clause=limit.clause,
    )


def _limit_step(code: AdoptedCode, key: str, words: str) -> Step:
    limit = code.limit(key)
    return Step(words, limit.value, limit.unit, limit.clause)


@gas_rule(
    title="Pressure reduced before an appliance that cannot take it",
    subject=GasAppliance,
    clauses={"upc": "1208.7", "ipc": "IFGC 410.1", "irc": "G2421.1"},
    applies=lambda appliance: appliance.segment is not None,
)
def gas_line_regulator(appliance: GasAppliance, context: Context) -> Answer:
    """An appliance given more pressure than its own controls are made for can flood with gas.

    The pressure in the last zone before the appliance against what appliance controls are usually
    listed for, unless a regulator stands on the way.
    """
    assert appliance.segment is not None
    service = plan(context).services[appliance.segment.zone]
    if isinstance(service, Missing):
        return lacking(service)
    limit = context.code.limit("gas_appliance_max_psi")
    pressure = service.pressure_pa / PA_PER_PSI
    return check(
        pressure,
        at_most=limit,
        message=f"{appliance.label} is given {number_text(pressure)} psi; appliance controls "
        "are usually "
        f"listed for {number_text(limit.value)} psi.",
        remedy="Set a line regulator before the appliance, or show that it is listed for this "
        "pressure.",
        steps=lambda: (
            _limit_step(context.code, "gas_appliance_max_psi", "Usual limit of controls"),
        ),
    )


@gas_rule(
    title="No ring and no stray pipe of gas",
    subject=GasPiping,
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
)
def gas_piping_whole(piping: GasPiping, context: Context) -> Answer:
    """Gas that can come two ways is not shut off by one valve, and pipe fed by nothing is lost.

    Every ring of gas pipe, and every gas pipe that no meter or regulator feeds. Where the source
    is not known, that is reported instead.
    """
    if not piping.source_elements:
        return unverified(
            "Without a meter or regulator no gas pipe can be followed.",
            "Model the gas meter, or name where the piping begins in the job file, gas.source.",
        )
    if piping.stray:
        return violation(
            message=f"{len(piping.stray)} gas pipe(s) are joined to no meter.",
            remedy="Join the pipe to the piping it is fed from, or remove it.",
            elements=tuple(e.guid for e in piping.stray),
        )
    if piping.loops:
        return advise(
            "The gas piping closes a ring; it was sized as cut where the ways meet.",
            "Open the ring, so that one valve shuts off what is behind it.",
            elements=tuple(e.guid for e in piping.loops),
        )
    return PASS


@gas_rule(
    title="Every gas outlet joined or closed gastight",
    subject=GasPiping,
    clauses={"upc": "1210", "ipc": "IFGC 404", "irc": "G2415"},
    applies=lambda piping: bool(piping.source_elements),
)
def gas_outlet_closed(piping: GasPiping, context: Context) -> Answer:
    """An end that nothing closes lets gas out the moment its valve is opened.

    The ends of all pipe, fittings and valves that a meter or regulator feeds; each must be joined
    to an appliance or closed by a cap. A closed valve does not count as a cap. The sections are
    from memory.
    """
    opened = piping.open_ends
    if not opened:
        return PASS
    return violation(
        message=(
            f"{opened[0].label} has an end that is joined to nothing"
            + (f", and so do {len(opened) - 1} more." if len(opened) > 1 else ".")
        ),
        remedy="Close the end with a cap or plug, or join it to the appliance it is meant for.",
        elements=tuple(e.guid for e in opened),
    )


RULES = (
    gas_supply_known, gas_building_pressure, gas_piping_whole, gas_outlet_closed, gas_pipe_size,
    gas_appliance_input, gas_pressure_drop, gas_line_regulator, gas_what_if,
)  # fmt: skip
