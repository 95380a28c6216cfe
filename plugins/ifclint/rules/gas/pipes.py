"""Rules about the size of gas pipe, and the inputs that it is sized for."""

from collections.abc import Sequence

from ifclint.checks import PASS, Bounds, Fact, check, given, known, not_known
from ifclint.engineering.wording import how_many
from ifclint.findings import Answer, Change, Settles
from ifclint.packs import ANY_CODE, Context
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.inputs import btu_text, inputs, outlet_inputs
from ifclint.rules.gas.capacity import trade_words
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.sizing import Sized, amount_text, least_inputs, least_plan, plan, steps_of

SIZING = {"upc": "1215.1 and 1215.2", "ipc": "IFGC 402.2 and 402.4", "irc": "G2413.2 and G2413.4"}
GIVE_INPUT = (
    "Give the appliance its input (a property named InputRating, or "
    "Pset_BoilerTypeCommon.NominalEnergyConsumption), or write it into the job file, gas.loads."
)
INPUT = Fact("input", GIVE_INPUT)
LOAD = Fact("{} feeds {} of unknown input.", GIVE_INPUT)
ENOUGH = Fact("{} may carry {}: enough only where {} at most {}, which nothing states.", GIVE_INPUT)
ASSUMED = Fact("the input of {} is not known; {}, the {}, is taken.", GIVE_INPUT)
UNITLESS = Fact(
    "the input of {} is a number without a unit ({}): {}, or {}.",
    "Give the property its unit, in its measure or its name, or state gas.loads in the job file.",
)
OUTLET = Fact(
    "what {} is to feed is not known: it leads to {} and no appliance.",
    "Write what every capped outlet is to give into the job file, gas.loads, with the GlobalId "
    "of its cap.",
    asked_once=True,
)
FEEDS_NOTHING = Fact(
    "what {} is to feed is not known: it leads to no capped outlet, and to no appliance that no "
    "other pipe feeds.",
    "Join it to its appliance, cap its end, or take it out.",
    asked_once=True,
)
TWO_INPUTS = Fact(
    "the model gives {} {}, the job file {}; the model's is taken.",
    "Correct whichever is wrong: the input in the model, or gas.loads.",
)


@gas_rule(
    title="Gas pipe large enough for the appliances it feeds",
    clauses=SIZING,
    applies=lambda segment: not (segment.is_connector or segment.is_before_source),
    settles=Settles.PIPE,
    of_load=True,
)
def gas_pipe_size(segment: GasSegment, context: Context) -> Answer:
    """Pipe too small starves the burners: they soot, go out, or light late and with a bang.

    The inputs of all appliances a run feeds, divided by the heating value, against what its size
    and material may carry over the length its method counts, by the code's table or by the
    equation, as the job file chooses. Of an input that nothing states the largest listed is taken,
    and the pipe is wrong only where it is too small for the least, or where but one value is listed
    for what else it feeds. A capped outlet is to give what
    the job file says; of one of which it says nothing the pipe that leads to no other is asked
    about, and of the pipe before it that is left out of account. The connector of an appliance is
    sized by its listing.
    """
    if not segment.appliances and outlet_inputs(context).keys().isdisjoint(segment.outlets):
        caps = [outlet.element.guid for outlet in segment.outlets]
        if not caps:
            return not_known(FEEDS_NOTHING, segment)
        count = how_many(len(caps), "capped outlet")
        return not_known(OUTLET, segment, count, elements=[*segment.element_ids, *caps])
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
        return Bounds(
            LOAD, segment, how_many(len(lacking), "appliance"), low=least.load, elements=ids
        )
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
    names = names_of(appliances)
    return f"{names} takes" if len(appliances) == 1 else f"{names} together take"


def names_of(appliances: Sequence[GasAppliance]) -> str:
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
        return enlarged(sized, text)
    return Change("size", sized.segment.element_ids, size, text)


def enlarged(sized: Sized, text: str) -> Change:
    return Change("work", sized.segment.element_ids, "larger gas pipe", text)


@gas_rule(
    title="Input of every gas appliance known",
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
