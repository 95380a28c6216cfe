"""Rules about the ends of vents: how high above the roof, and how large where it freezes."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from ifclint.checks import NOT_APPLICABLE, Fact, check, due, given, known, not_known
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import by_steps
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import IN_PER_FT, M_PER_IN
from ifclint.engineering.wording import (
    above_or_below,
    apart_text,
    number_text,
    tape_text,
    trade_size,
)
from ifclint.findings import Answer, Change, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.plumbing import VentTerminal
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.through_walls import ends_at_wall

SAY_FROST = (
    "Give venting.frost_closure in the job file: true where the design temperature of winter is "
    "0 °F or lower."
)
ROOF = Fact(
    "the model has no roof under {}.",
    "Review together with the file that has the roof (IfcRoof, or IfcSlab, ROOF).",
)
VALLEY = Fact(
    "how high {} ends above {} is not known: the roof has a valley, and where the terminal stands "
    "its shape does not tell.",
    "Model each plane of the roof as a slab of its own (IfcSlab, ROOF).",
)
FROST = Fact(
    "{} ends {} in above {}: too low where frost closes vents, and whether it does here the job "
    "file does not say.",
    SAY_FROST,
)
CLOSES = Fact(
    "Whether frost closes vents here, the job file does not say.", SAY_FROST, asked_once=True
)


def is_outdoor(terminal: VentTerminal) -> bool:
    return not terminal.admits_only


def _frost_closes(context: Context) -> bool | None:
    """Whether it gets so cold here that vents freeze shut, as the job file says: not where nothing
    freezes, while where pipe does, vents need not."""
    told = context.job.section(VentingSection).frost_closure
    return False if told is None and context.job.building.freezing is False else told


@rule(
    title="Vent terminal high enough above the roof",
    clauses={"upc": "906.1, 906.3 and 906.7", "ipc": "903.1", "irc-2021": "P3103.1"},
    needs=("top",),
    applies=is_outdoor,
)
def terminal_above_roof(terminal: VentTerminal, context: Context) -> Answer:
    """Snow and standing water close a low terminal; people on a roof breathe from it.

    The height of the terminal above the roof under it, against the code's least, more where the
    roof is in use or frost closes vents, and against the height the job file gives. Where the job
    file does not say whether frost does, a height between the two is a question. A vent that ends
    in a wall has its own rule.
    """
    top = given(terminal.top)
    if ends_at_wall(terminal, context):
        return NOT_APPLICABLE
    roof = known(context.plumbing.venting.surroundings.roof_over(top), ROOF)
    least, words = max(_least_heights(context), key=lambda demand: demand[0].value)
    height, name = (top[2] - roof.top_m) / M_PER_IN, roof.name or "the roof"
    if not roof.is_exact and not at_least(height, least.value, "in"):
        return not_known(VALLEY, terminal, name)
    frost = context.code.limit_or_none("vent_frost_above_roof_in")
    unstated = _frost_closes(context) is None and at_least(height, least.value, "in")
    if frost is not None and unstated and not at_least(height, frost.value, "in"):
        return not_known(FROST, terminal, number_text(height, 3), name)
    return check(
        round(height, 2),
        at_least=least,
        message=f"{terminal.label} ends {apart_text(abs(height), least.value, 'in')} "
        f"{above_or_below(height)} {name}.",
        remedy=f"Carry the vent {tape_text((least.value - height) / IN_PER_FT)} higher.",
        steps=(
            Step("Top of the terminal", top[2] / M_PER_IN, "in"),
            Step(f"Top of {name}", roof.top_m / M_PER_IN, "in"),
        ),
        limit_step=words,
    )


def _least_heights(context: Context) -> Iterator[tuple[Limit, str]]:
    """Least heights above the roof, in inches, and what asks for them."""
    code, section = context.code, context.job.section(VentingSection)
    yield code.limit("vent_above_roof_in"), "above the roof, at least"
    if section.roof_in_use:
        used = code.limit("vent_above_used_roof_ft")
        yield _in_inches(used), "above a roof in use, at least"
    frost = code.limit_or_none("vent_frost_above_roof_in")
    if _frost_closes(context) and frost is not None:
        yield frost, "above the roof where frost closes vents, at least"
    if section.above_roof is not None:
        words = "job file, venting.above_roof"
        yield Limit("above_roof", section.above_roof / M_PER_IN, "in", "", words), words


def _in_inches(limit: Limit) -> Limit:
    return replace(limit, value=limit.value * IN_PER_FT, unit="in")


@rule(
    title="Vent terminal large enough not to freeze shut",
    clauses={"upc": "906.7", "ipc": "903.2", "irc-2021": "P3103.2"},
    needs=("vent_size_in",),
    applies=is_outdoor,
)
def terminal_frost_size(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """Damp air from the drains freezes in a small terminal until it is closed.

    The nominal size of the terminal against the least where frost closes vents, as the job file
    says (venting.frost_closure); one of that size will do anywhere. And, where the vent is enlarged
    for it, how far below the roof.
    """
    closes, size = _frost_closes(context), given(terminal.vent_size_in)
    least = context.code.limit("vent_frost_in")
    if closes is None and not at_least(size, least.value, "in"):
        yield not_known(CLOSES)
        return
    if closes is False:
        return
    text = f"Enlarge the vent to {trade_size(least.value)}, from a foot below the roof on."
    yield check(
        size,
        at_least=least,
        message=f"{terminal.label} is {trade_size(size)}, where vents freeze.",
        remedy=Change("size", terminal.element_ids, least.value, text),
        limit_step="Where frost closes vents, at least",
    )
    if closes and at_least(size, least.value, "in"):
        yield _enlarged(terminal, least.value, context)


def _enlarged(terminal: VentTerminal, least_in: float, context: Context) -> Answer:
    """Where a vent grows to the size that frost asks for, it does so far enough below the roof."""
    wide, narrow = _wide_to_the_end(terminal, least_in)
    heights = [p[2] for i in wide for p in given(terminal.tree).piping.ends(i)]
    if not narrow or not heights:
        return NOT_APPLICABLE
    top = known(terminal.top, "top", terminal, about="enlarged")
    roof = due(context.plumbing.venting.surroundings.roof_over(top))
    below = round((roof.underside_m - min(heights)) / M_PER_IN, 2)
    limit = context.code.limit("vent_frost_enlarge_in")
    if any(e.size_in is None for e in narrow) and not at_least(below, limit.value, "in"):
        return not_known("size_in", narrow[0], about="enlarged")
    return check(
        below,
        at_least=limit,
        message=f"The vent of {terminal.label} is enlarged {apart_text(below, limit.value, 'in')} "
        "below the roof, where vents freeze.",
        remedy="Enlarge the vent lower down.",
        limit_step="Enlarged below the roof, at least",
        about="enlarged",
    )


def _wide_to_the_end(terminal: VentTerminal, least_in: float) -> tuple[list[int], list[Element]]:
    """The pipes of a size and larger that lead to a terminal one after another, and the smaller
    ones, or ones of unknown size, that come into them."""
    tree = due(terminal.tree)
    before: dict[int, list[int]] = defaultdict(list)
    for index, following in tree.toward.items():
        before[following].append(index)

    def is_narrow(index: int) -> bool:
        size = or_zero(tree.piping.elements[index].size_in)
        return tree.piping.is_pipe(index) and not at_least(size, least_in, "in")

    passed = by_steps([terminal.index], lambda i: () if is_narrow(i) else before[i])
    narrow = [tree.piping.elements[i] for i in passed if is_narrow(i)]
    return [i for i in passed if tree.piping.is_pipe(i) and not is_narrow(i)], narrow
