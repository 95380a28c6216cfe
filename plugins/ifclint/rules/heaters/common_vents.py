"""Rules about vents to outdoors: what common ones carry and how wide they are, and their height."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ifclint.checks import PASS, Fact, advise, check, given, known, not_known, violation
from ifclint.engineering.units import M_PER_FT, feet
from ifclint.engineering.wording import number_text, sentence, trade_size
from ifclint.findings import Answer, Change, Outcome, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelVent
from ifclint.plumbing.words import CONDENSES, says_text
from ifclint.rules.heaters.flues import VENTING, ends_outdoors
from ifclint.rules.heaters.venting import (
    GIVE_SHAPE,
    INPUT,
    KBTUH,
    SINGLE_WALL_WORDS,
    TYPE_B_WORDS,
    VENT_HEIGHT,
    VENT_SIZE,
    Draft,
    common_capacity,
    draft,
    input_kbtuh,
    leaves_by_wall,
    smallest_size,
    told_of,
    unlisted,
    words_of,
)
from ifclint.rules.heaters.wording import raised

COMMON = {"upc": "510.2", "ipc": "IFGC 504.3", "irc": "G2428.3"}
SIZES = Fact("the sizes of {} or its connectors are not known.", GIVE_SHAPE)
LISTED = Fact(
    "whether {} is listed with {} and {}",
    "Show the common venting system that the makers of these appliances list, or vent each by "
    "itself; appliances of different kinds share none.",
)
THROUGH_WALL = Fact(
    "whether {}, vented through a wall by {}, is made for that",
    "Tell in its name how it draws (direct vent, power vent, Category III or IV); a draft hood or "
    "Category I appliance is vented through the roof.",
)
CATEGORY_I_VENTS = (*TYPE_B_WORDS, *SINGLE_WALL_WORDS)
COMMON_SYSTEMS = ("common vent* system*", "listed common vent*", "cascade*", "kaskade*",
    "mehrfachbelegung", "cascata")  # fmt: skip
SERVES = Fact(
    'whether {} would serve "{}"',
    "Size a vent of one appliance by the code book's table for such vents.",
)


@rule(
    title="Common vent large enough for its appliances",
    clauses=COMMON,
    severity=Severity.HIGH,
    applies=lambda vent: vent.is_common,
    of_load=True,
)
def common_vent_size(vent: FuelVent, context: Context) -> Iterator[Answer]:
    """A vent too small spills flue gas out of the draft hoods, into the room.

    The inputs of all appliances on it against the common vent table, by its height above the
    highest outlet and the kind of connectors and draft. Where the draft of an appliance is not
    stated, natural draft is taken, of which a vent carries least. Appliances that are not of
    Category I (direct or power vented, condensing) may not be on it, nor share a gas vent of metal
    made for Category I. A common vent of such alone is sized by its makers: that it is listed with
    them is asked, where the parts of the vent do not say so.
    """
    others = _not_by_draft(vent)
    if others and len(others) == len(vent.connectors) and not _is_for_category_i(vent):
        yield (
            PASS if _are_listed(others, vent) else not_known(LISTED, vent, others[0], others[-1])
        )
        return
    for appliance in others:
        yield violation(
            message=f"{appliance.label} is not vented by natural draft and may not share "
            f"{vent.label}.",
            remedy="Give the appliance the vent of its own that its listing asks for.",
            elements=(appliance.guid, *vent.element_ids),
            about=appliance.guid,
        )
    if not others:
        yield _carries(vent, context, {})


def _not_by_draft(vent: FuelVent) -> list[Element]:
    """The appliances on a vent that are not of Category I."""
    return [c.appliance for c in vent.connectors if draft(c.appliance) is Draft.OTHER]


def _parts(vent: FuelVent) -> Iterator[Element]:
    """All parts of a vent, those that several appliances share first."""
    yield from (*vent.common, vent.terminal)
    for connector in vent.connectors:
        yield from connector.elements


def _is_for_category_i(vent: FuelVent) -> bool:
    return any(says_text(words_of(pipe), CATEGORY_I_VENTS) for pipe in vent.pipes)


def _are_listed(appliances: Sequence[Element], vent: FuelVent) -> bool:
    """Whether a vent is said to be a listed one for several, and these are of one kind."""
    of_one_kind = len({says_text(told_of(a), CONDENSES) for a in appliances}) == 1
    return of_one_kind and any(says_text(words_of(part), COMMON_SYSTEMS) for part in _parts(vent))


def _carries(vent: FuelVent, context: Context, instead: Mapping[str, float]) -> Answer:
    """The load of a common vent against what it may carry."""
    size, height_m = known(vent.size_in, VENT_SIZE, vent), known(vent.height_m, VENT_HEIGHT, vent)
    appliances = [connector.appliance for connector in vent.connectors]
    inputs = [known(input_kbtuh(a, context, instead), INPUT, a) for a in appliances]
    capacity = common_capacity(vent, size, context)
    if capacity is None:
        return unlisted("common vent", trade_size(size), feet(height_m))
    load, most = sum(inputs), capacity.most
    return check(
        load,
        at_most=most,
        message=f"{sentence(vent.label)} carries {number_text(load)} {KBTUH} and may carry "
        f"{number_text(most.value)}.",
        remedy=lambda: _enlarged(vent, load, context),
        steps=(
            *(Step(a.label, value, KBTUH) for a, value in zip(appliances, inputs, strict=True)),
            Step("Together", load, KBTUH),
            *capacity.steps,
        ),
    )


def _enlarged(vent: FuelVent, load: float, context: Context) -> Change | str:
    size = smallest_size(
        "gas_vent_common", load, lambda size: common_capacity(vent, size, context), context
    )
    if size is None:
        return "No size of the table carries this load: vent the appliances apart."
    return Change("size", vent.element_ids, size, f"Make the common vent {trade_size(size)}.")


@rule(
    title="Common vent would serve the appliance asked about in the job file",
    clauses=COMMON,
    severity=Severity.HIGH,
)
def common_vent_what_if(vent: FuelVent, context: Context) -> Iterator[Answer]:
    """A larger heater on an old vent is how many a house came by carbon monoxide.

    Each question of the job file (gas.what_if) about an appliance on this vent, with today's
    vent. Vents of a single appliance are not in the table and are unverified; vents nobody asks
    about are excused.
    """
    on_it = {c.appliance.guid for c in vent.connectors}
    for question in context.job.gas.what_if:
        about = f"{question.element} {question.name}"
        if question.element not in on_it:
            continue
        if not vent.is_common or _not_by_draft(vent):
            yield not_known(SERVES, vent, question.name, about=about)
            continue
        answer = _carries(vent, context, {question.element: question.input})
        yield _before_it_is_replaced(answer, question.name, about)


def _before_it_is_replaced(answer: Answer, name: str, about: str) -> Answer:
    """A violation that would be, as advice today."""
    if answer.outcome is not Outcome.VIOLATION:
        return answer
    return advise(
        f'"{name}": {answer.message[0].lower()}{answer.message[1:]}',
        f"Before the appliance is replaced: {answer.remedy[0].lower()}{answer.remedy[1:]}",
        measured=answer.measured,
        required=answer.required,
        steps=answer.steps,
        clause=answer.clause,
        about=about,
    )


@rule(
    title="Common vent in proportion to its connectors",
    clauses=COMMON,
    applies=lambda vent: vent.is_common and len(_not_by_draft(vent)) < len(vent.connectors),
)
def common_vent_proportion(vent: FuelVent, context: Context) -> Iterator[Answer]:
    """Too narrow it chokes the largest appliance; too wide it never warms, and does not draw.

    The common vent not smaller than its largest connector, and its area not more than the code's
    multiple of the smallest appliance outlet. A vent that appliances share which are not of
    Category I is sized by its makers, and excused.
    """
    sizes = [(known(c.size_in, SIZES), c.key) for c in vent.connectors]
    outlets = [(c.outlet_in or given(c.size_in), c.key) for c in vent.connectors]
    (largest, widest), (smallest, narrowest) = max(sizes), min(outlets)
    yield check(
        known(vent.size_in, SIZES),
        at_least=largest,
        unit="in",
        message=f"{sentence(vent.label)} is smaller than a {trade_size(largest)} connector it "
        "takes.",
        remedy=f"Make the common vent {trade_size(largest)} or larger.",
        about=widest,
        severity=Severity.HIGH,
    )
    limit = context.code.limit("gas_common_vent_area_ratio")
    ratio = (given(vent.size_in) / smallest) ** 2
    yield check(
        ratio,
        at_most=limit,
        message=f"{sentence(vent.label)} has {number_text(ratio)} times the area of its smallest "
        f"appliance outlet; {limit.value:g} times is the most.",
        remedy="Reduce the common vent to the size its table asks for.",
        limit_step="Area, at most times",
        about=narrowest,
    )


@rule(title="Gas vent tall enough to draw", clauses=VENTING, severity=Severity.HIGH)
def gas_vent_height(vent: FuelVent, context: Context) -> Iterator[Answer]:
    """A vent that is too short does not draw against the wind.

    From the highest appliance outlet up to the terminal, which may not end under the roof.
    Direct-vent and power-vented appliances follow their makers' instructions and are excused; of a
    vent without a terminal its end is asked for, and of one through a wall, whether the appliance
    is one of those where nothing tells.
    """
    if not vent.is_capped or all(draft(c.appliance) is Draft.OTHER for c in vent.connectors):
        return
    height_m = known(vent.height_m, VENT_HEIGHT)
    outdoors = ends_outdoors(vent, context)
    is_inside = outdoors.outcome is Outcome.VIOLATION
    drafts = {draft(c.appliance) for c in vent.connectors}
    if not drafts & {Draft.NATURAL, Draft.FAN} and leaves_by_wall(vent, context):
        yield not_known(THROUGH_WALL, vent.connectors[0].appliance, vent)
        return
    past = "through the roof, " if is_inside else ""
    limit, height = context.code.limit("gas_vent_above_hood_ft"), feet(height_m)
    yield check(
        height,
        at_least=limit,
        message=f"{sentence(vent.label)} ends {number_text(height)} ft above the highest outlet "
        f"on it; {limit.value:g} ft is the least.",
        remedy=raised(
            vent,
            (limit.value - height) * M_PER_FT,
            f"Carry the vent {past}at least {limit.value:g} ft above the highest draft hood.",
        ),
        limit_step="Above the draft hood",
        elements=(vent.terminal.guid, *vent.element_ids),
    )
    if is_inside:
        yield replace(outdoors, about=vent.key)
