"""Rule about the appliances that the job file asks about: whether the piping would serve them."""

from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import PASS, Fact, advise, given, not_known
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Step
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance
from ifclint.rules.gas.capacity import trade_words
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.pipes import GIVE_INPUT, SIZING, names_of
from ifclint.rules.gas.sizing import Sized, amount_text, least_inputs, plan_with

OVERLOADS = Fact(
    '"{}" would overload {} of the pipes on the way to {} where {} takes the most that '
    "is listed for it, and its input is not known.",
    GIVE_INPUT,
)


@gas_rule(title="Gas piping would serve the appliance asked about in the job file", clauses=SIZING)
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
    names = names_of(others)
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
