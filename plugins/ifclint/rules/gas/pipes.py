"""Rules about the size of gas pipe, and the pressure that arrives."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ifclint.checks import PASS, Bounds, Fact, advise, check, given, known, not_known
from ifclint.engineering.units import M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Change, Settles, Step
from ifclint.packs import ANY_CODE, Context
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.gas_piping import GasZone
from ifclint.plumbing.gas.inputs import btu_text, inputs
from ifclint.rules.gas.capacity import trade_words
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.sizing import (
    LISTED,
    Sized,
    SizedSystem,
    amount_text,
    least_inputs,
    least_plan,
    plan,
    plan_with,
    steps_of,
)

SIZING = {"upc": "1215.1 and 1215.2", "ipc": "IFGC 402.2 and 402.4", "irc": "G2413.2 and G2413.4"}
GIVE_INPUT = (
    "Give the appliance its input (a property named InputRating, or "
    "Pset_BoilerTypeCommon.NominalEnergyConsumption), or write it into the job file, gas.loads."
)
INPUT = Fact("input", GIVE_INPUT)
LOAD = Fact("{} feeds {} appliance(s) of unknown input.", GIVE_INPUT)
ENOUGH = Fact(
    "{} may carry {}: enough only where {} at most {}, which nothing states.",
    GIVE_INPUT,
)
NOT_FED = Fact(
    "whether the piping to {} is large enough, and what pressure arrives, is not known: no meter "
    "is known to feed it.",
    "Join the piping from the meter to the appliance: it is sized from the meter on.",
)
LOST = Fact(
    "between {} and {} in wc are lost on the way to {}, with the least and with the largest "
    "input listed for {}: which is taken is not known.",
    GIVE_INPUT,
)
OVERLOADS = Fact(
    '"{}" would overload {} of the pipes on the way to {} where {} takes the most that '
    "is listed for it, and its input is not known.",
    GIVE_INPUT,
)
ASSUMED = Fact("the input of {} is not known; {}, the {}, is taken.", GIVE_INPUT)
UNITLESS = Fact(
    "the input of {} is a number without a unit ({}): {}, or {}.",
    "Give the property its unit, in its measure or its name, or state gas.loads in the job file.",
)
TWO_INPUTS = Fact(
    "the model gives {} {}, the job file {}; the model's is taken.",
    "Correct whichever is wrong: the input in the model, or gas.loads.",
)


def _reached(appliance: GasAppliance) -> bool:
    return appliance.segment is not None


def _is_cut_off(appliance: GasAppliance) -> bool:
    """Whether piping is drawn to it that no source feeds."""
    return appliance.joined and appliance.length_m is None


@gas_rule(
    title="Gas pipe large enough for the appliances it feeds",
    subject=GasSegment,
    clauses=SIZING,
    applies=lambda segment: not (segment.is_connector or segment.is_before_source),
    settles=Settles.PIPE,
)
def gas_pipe_size(segment: GasSegment, context: Context) -> Answer:
    """Pipe too small starves the burners: they soot, go out, or light late and with a bang.

    The inputs of all appliances a run feeds, divided by the heating value, against what its size
    and material may carry over the length its method counts, by the code's table or by the
    equation, as the job file chooses. Of an input that nothing states the largest listed is taken,
    and the pipe is wrong only where it is too small for the least. The connector of an appliance is
    sized by its listing.
    """
    sized, least = plan(context).sized[segment], least_plan(context).sized[segment]
    if sized.missing is not None:
        return sized.missing
    most = given(sized.capacity)
    more = " or more" if least.load < sized.load else ""
    return check(
        _load(sized, least, context),
        at_most=most,
        message=lambda: (
            f"{segment.label} feeds {amount_text(least.load, most.unit)}{more} and may carry "
            f"{amount_text(most.value, most.unit)}."
        ),
        remedy=lambda: _larger(least),
        steps=lambda: steps_of(sized, context, least),
    )


def _load(sized: Sized, least: Sized, context: Context) -> float | Bounds:
    """The load of a run; between bounds where it feeds appliances whose input nothing states."""
    segment = sized.segment
    if sized.unknown:
        lacking = [appliance.element.guid for appliance in sized.unknown]
        ids = [*segment.element_ids, *lacking]
        return Bounds(LOAD, segment, str(len(lacking)), low=least.load, elements=ids)
    doubtful = [a for a in segment.appliances if a in least_inputs(context)]
    if not doubtful:
        return sized.load
    taken_w = sum(given(inputs(context)[a]).watts for a in doubtful)
    return Bounds(
        ENOUGH,
        segment,
        amount_text(given(sized.capacity).value, given(sized.capacity).unit),
        _take(doubtful),
        btu_text(taken_w + given(sized.spare_w)),
        low=least.load,
        high=sized.load,
        elements=[*segment.element_ids, *(a.element.guid for a in doubtful)],
    )


def _take(appliances: Sequence[GasAppliance]) -> str:
    names = _names(appliances)
    return f"{names} takes" if len(appliances) == 1 else f"{names} together take"


def _names(appliances: Sequence[GasAppliance]) -> str:
    if len(appliances) > 2:
        return f"{len(appliances)} appliances"
    return " and ".join(a.label for a in appliances)


def _larger(sized: Sized) -> Change | str:
    """The smallest size that would do; as work where it is a flow designation."""
    size, sizing = sized.smallest, sized.sizing
    if size is None or sizing is None:
        return (
            "No listed size carries this load over this length: divide the load, or supply a "
            "higher pressure through line regulators."
        )
    text = f"Make this pipe {trade_words(sizing, size)}, and none before it smaller."
    if sizing.material == "csst":
        return _enlarged(sized, text)
    return Change("size", sized.segment.element_ids, size, text)


def _enlarged(sized: Sized, text: str) -> Change:
    return Change("work", sized.segment.element_ids, "larger gas pipe", text)


@gas_rule(
    title="Input of every gas appliance known",
    subject=GasAppliance,
    clauses=ANY_CODE,
    applies=lambda appliance: appliance.is_stated,
)
def gas_appliance_input(appliance: GasAppliance, context: Context) -> Answer:
    """Gas pipe is sized for the input on the appliance's rating plate.

    The input as the model tells it, else as the job file does. Where neither does, the code's
    usual input of such an appliance is taken, and reported here, as is a number that may be in
    either of two units; where model and job file differ, the model's is taken, and that is
    reported too.
    """
    stated = known(inputs(context)[appliance], INPUT)
    taken, step = btu_text(stated.watts), stated.step(appliance)
    if stated.least is not None and not stated.is_usual:
        either = btu_text(stated.watts), btu_text(stated.least.watts)
        return not_known(UNITLESS, appliance, stated.basis, *either, steps=(step,))
    if stated.is_usual:
        return not_known(ASSUMED, appliance, taken, stated.basis, steps=(step,))
    if stated.job_watts is not None:
        other = btu_text(stated.job_watts)
        return not_known(TWO_INPUTS, appliance, taken, other, steps=(step,))
    return PASS


@gas_rule(
    title="Pressure at every gas appliance within the allowed drop",
    subject=GasAppliance,
    clauses={"upc": "1208.4.2", "ipc": "IFGC 402.6", "irc": "G2413.6"},
    applies=lambda appliance: _reached(appliance) or _is_cut_off(appliance),
    settles=Settles.LINE,
)
def gas_pressure_drop(appliance: GasAppliance, context: Context) -> Answer:
    """What the piping loses must leave the appliance the pressure it is listed for.

    The losses of all runs between the meter (or the last regulator) and the appliance with every
    appliance burning, by the code's equation and the true bore, against the allowed drop. Where
    every run on the way may carry its load they lose no more than is allowed: the tables are the
    code's own method, and their figures are the equation's, rounded. Where inputs are not stated it
    is wrong only with the least of those listed. Of piping that no meter feeds neither the size nor
    the pressure is judged, and that is said.
    """
    if _is_cut_off(appliance):
        return not_known(NOT_FED, appliance)
    made = least_plan(context)
    lost, highest = _lost_pa(appliance, made), _lost_pa(appliance, plan(context))
    if isinstance(lost, Answer):
        return lost
    service = made.services[given(appliance.segment).zone]
    assert not isinstance(service, Answer)
    assert not isinstance(highest, Answer)
    drop, most = lost / PA_PER_IN_WC, service.drop_pa / PA_PER_IN_WC
    path = _path(appliance, made)
    worst = max(path, key=lambda sized: sized.drop_pa)
    return check(
        _drop(appliance, path, drop, highest / PA_PER_IN_WC, context),
        at_most=most,
        unit="in wc",
        message=f"{number_text(drop)} in wc are lost on the way to {appliance.label}; "
        f"{number_text(most)} in wc are allowed.",
        remedy=_enlarged(worst, f"Enlarge the pipe that loses most: {worst.segment.label}."),
        steps=lambda: (*_losses(path), Step("Lost in all", drop, "in wc")),
    )


def _path(appliance: GasAppliance, made: SizedSystem) -> list[Sized]:
    """The runs on the way to an appliance, from where its zone begins."""
    zone = given(appliance.segment).zone
    return [made.sized[segment] for segment in appliance.segments if segment.zone is zone]


def _lost_pa(appliance: GasAppliance, made: SizedSystem) -> float | Answer:
    """What the runs on the way to an appliance lose; no more than is allowed where each serves."""
    lost, service = made.drop_pa[appliance], made.services[given(appliance.segment).zone]
    if isinstance(lost, Answer) or isinstance(service, Answer):
        return lost
    sized = (s for s in _path(appliance, made) if not s.segment.is_connector)
    return min(lost, service.drop_pa) if all(s.serves for s in sized) else lost


def _drop(
    appliance: GasAppliance, path: list[Sized], low: float, high: float, context: Context
) -> float | Bounds:
    """What is lost, in of water; between bounds where inputs are not stated."""
    if low == high:
        return low
    fed = dict.fromkeys(a for sized in path for a in sized.segment.appliances)
    doubtful = [a for a in fed if a in least_inputs(context)]
    ends = number_text(low), number_text(high)
    names = _names(doubtful)
    ids = [*appliance.element_ids, *(a.element.guid for a in doubtful)]
    return Bounds(LOST, *ends, appliance, names, low=low, high=high, elements=ids)


def _losses(path: list[Sized]) -> list[Step]:
    """What the runs of a path lose, in order; of a long path those that lose most."""
    most = sorted(path, key=lambda sized: -sized.drop_pa)[:LISTED]
    steps = [_loss(sized) for sized in path if sized in most]
    if len(path) > LISTED:
        rest = sum(sized.drop_pa for sized in path) - sum(sized.drop_pa for sized in most)
        steps.append(Step(f"{len(path) - LISTED} more pipes", rest / PA_PER_IN_WC, "in wc"))
    return steps


def _loss(sized: Sized) -> Step:
    feet = number_text((sized.segment.length_m + sized.fittings_m) / M_PER_FT)
    words = f"{sized.segment.label}, {feet} ft, {btu_text(sized.load_w)}"
    return Step(words, sized.drop_pa / PA_PER_IN_WC, "in wc", given(sized.sizing).drop_law)


@gas_rule(
    title="Gas piping would serve the appliance asked about in the job file",
    subject=GasAppliance,
    clauses=SIZING,
)
def gas_what_if(appliance: GasAppliance, context: Context) -> Iterator[Answer]:
    """What would have to change if an appliance were replaced by one of another input.

    Each question of the job file (gas.what_if) is answered with the pipes that would be too small
    and the size each would need; today's piping is judged elsewhere. Appliances nobody asks about
    are excused.
    """
    for question in context.job.gas.what_if:
        if question.element == appliance.element.guid:
            yield _reply(question.name, question.input, appliance, context)


def _reply(question: str, input_w: float, appliance: GasAppliance, context: Context) -> Answer:
    asked = plan_with(context, {appliance: input_w})
    path = [asked.sized[segment] for segment in appliance.segments]
    lacking = next((sized.missing for sized in path if sized.missing is not None), None)
    if lacking is not None:
        return replace(lacking, about=question)
    failing = [sized for sized in path if not sized.serves]
    if not failing:
        return PASS
    least = plan_with(context, {**least_inputs(context), appliance: input_w})
    doubtful = [sized for sized in failing if least.sized[sized.segment].serves]
    failing = [least.sized[sized.segment] for sized in failing if sized not in doubtful]
    if not failing:
        return _depends(question, doubtful, appliance, context)
    return advise(
        f'"{question}" would overload {len(failing)} of the pipes on the way to {appliance.label}.',
        "Before the appliance is replaced, enlarge the pipes listed to the sizes listed.",
        steps=[_needed(question, sized) for sized in failing],
        elements=[guid for sized in failing for guid in sized.segment.element_ids],
        about=question,
    )


def _depends(
    question: str, doubtful: list[Sized], appliance: GasAppliance, context: Context
) -> Answer:
    """What overloads pipes only where others take the most that is listed for them."""
    fed = dict.fromkeys(a for sized in doubtful for a in sized.segment.appliances)
    others = [a for a in fed if a in least_inputs(context) and a is not appliance]
    names = _names(others)
    return not_known(
        OVERLOADS,
        question,
        number_text(len(doubtful)),
        appliance,
        names,
        steps=[_needed(question, sized) for sized in doubtful],
        elements=[guid for sized in doubtful for guid in sized.segment.element_ids],
        about=question,
    )


def _needed(question: str, sized: Sized) -> Step:
    assert sized.capacity is not None
    load = amount_text(sized.load, sized.capacity.unit)
    words = f'"{question}": {sized.segment.label} would carry {load}'
    if sized.smallest is None:
        return Step(f"{words}: no listed size does")
    size = trade_words(given(sized.sizing), sized.smallest)
    return Step(f"{words} and needs {size}", source=sized.capacity.clause)


@gas_rule(
    title="Pressure reduced before an appliance that cannot take it",
    subject=GasAppliance,
    clauses={"upc": "1208.8", "ipc": "IFGC 410.1", "irc": "G2421.1"},
    applies=_reached,
)
def gas_line_regulator(appliance: GasAppliance, context: Context) -> Answer:
    """An appliance given more pressure than its own controls are made for can flood with gas.

    The pressure in the last zone before the appliance against what appliance controls are usually
    listed for, unless a regulator stands on the way. Where no regulator stands behind the zone's
    beginning, one there serves all of its appliances.
    """
    zone = given(appliance.segment).zone
    service = plan(context).services[zone]
    if isinstance(service, Answer):
        return service
    limit, psi = context.code.limit("gas_appliance_max_psi"), service.pressure_pa / PA_PER_PSI
    return check(
        psi,
        at_most=limit,
        message=f"{appliance.label} is given {number_text(psi)} psi; appliance controls are "
        f"usually listed for {number_text(limit.value)} psi.",
        remedy=_regulated(appliance, zone),
        limit_step="Usual limit of controls",
    )


def _regulated(appliance: GasAppliance, zone: GasZone) -> Change:
    """One regulator where the zone begins; before the appliance where it alone lacks its own."""
    if zone.regulators or len(zone.appliances) < 2:
        at, where = appliance.element.guid, "before the appliance, or show that it is"
    else:
        at = zone.start.guid
        where = f"behind {zone.start.label}, or one before each appliance, or show that they are"
    text = f"Set a line regulator {where} listed for this pressure."
    return Change("part", (at,), "gas line regulator", text)


RULES = (gas_pipe_size, gas_appliance_input, gas_pressure_drop, gas_line_regulator, gas_what_if)
