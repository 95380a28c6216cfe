"""What the rules about methods of venting share: who drains through a group, what is said of it."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from typing import TypedDict

from ifclint.checks import PASS, Fact, check, not_known, require
from ifclint.codes import Row
from ifclint.engineering.joined import by_steps
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.wording import how_many, number_text, trade_size
from ifclint.findings import Answer, Change, Outcome, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived
from ifclint.plumbing import Fixture, Method, VentGroup, VentJoint
from ifclint.plumbing.drainage.inflows import continuous_dfu
from ifclint.plumbing.drainage.loads import GIVE_LOADS, loads
from ifclint.rules.venting.code_tables import row_for_load, rows
from ifclint.rules.venting.wording import kind_words, own_vent

UPRIGHT = frozenset({Method.COMMON, Method.VERTICAL_WET, Method.WASTE_STACK})
AT_MOST = "Required, at most"
AT_LEAST = "Required, at least"
LOAD = Fact("what drains through the {} is not known, for want of {}.", GIVE_LOADS)
KIND = Fact(
    "the kind of {}, which drains through the {}, is not known; not every fixture may.",
    "Set the PredefinedType of the fixture, or name it in trade words.",
)
SIZE = Fact("A pipe of the {} has no size.", "Give it a nominal diameter.")


@derived
def passing_dfu(context: Context) -> list[float]:
    """The fixture units of fixtures and continuous discharges that pass every element."""
    given = Counter(continuous_dfu(context))
    given.update({f.index: v for f, v in loads(context).gives.items()})
    return context.plumbing.drainage.accumulate(given)


@derived
def passing_unstated(context: Context) -> list[float]:
    """How many fixtures of unknown load pass every element."""
    return context.plumbing.drainage.how_many(f.index for f in loads(context).unstated)


def unless_unstated(answer: Answer, group: VentGroup, unstated: float, pipe: str = "") -> Answer:
    """A pass by a load is none where some of the load is not known."""
    if answer is not PASS or not unstated:
        return answer
    return not_known(
        LOAD, group, how_many(round(unstated), "load"), **bearings(group, "load", pipe)
    )


def groups_at(group: VentGroup, context: Context) -> list[VentGroup]:
    """The groups that breathe through one vertical drain below a vent, itself one of them."""
    return _upright_at(context)[group.joint]


@derived
def _upright_at(context: Context) -> dict[VentJoint, list[VentGroup]]:
    found = defaultdict[VentJoint, list[VentGroup]](list)
    for group in context.plumbing.venting.groups:
        if group.method in UPRIGHT:
            found[group.joint].append(group)
    return found


def fails(answers: Iterable[Answer]) -> bool:
    return any(answer.outcome is Outcome.VIOLATION for answer in answers)


def kind_unknown(group: VentGroup, fixture: Fixture) -> Answer:
    """Unverified, on a fixture that may be one the method of venting takes, or not."""
    return not_known(KIND, fixture, group, **bearings(group, "kind", fixture.element.guid))


@derived
def _by_index(context: Context) -> dict[int, Fixture]:
    return {fixture.index: fixture for fixture in context.plumbing.fixtures}


def fixtures_through(group: VentGroup, context: Context) -> list[Fixture]:
    """All fixtures that drain through the wet vent, wherever they are vented."""
    return fixtures_of(group.path[-1], context)


def fixtures_of(index: int, context: Context) -> list[Fixture]:
    """All fixtures that drain through an element."""
    by_index, above = _by_index(context), context.plumbing.venting.piping.wet_above
    found = (by_index[i] for i in by_steps([index], above.__getitem__) if i in by_index)
    return sorted(found, key=lambda f: f.index)


def strangers(through: list[Fixture], context: Context) -> list[Fixture]:
    """The fixtures of known kind that belong to no bathroom group."""
    listed = {k for row in rows(context, "bathroom_group") for k in row.text("fixtures").split()}
    return [f for f in through if f.kind and f.kind not in listed]


def beyond_bathroom(through: list[Fixture], context: Context) -> Iterator[tuple[list[str], str]]:
    """Of what kinds more drain through than so many bathroom groups have, and words for it."""
    groups = context.code.limit("wet_vent_groups").value
    counts = Counter(f.kind for f in through if f.kind)
    for row in rows(context, "bathroom_group"):
        kinds = row.text("fixtures").split()
        count, most = sum(counts.pop(k, 0) for k in kinds), row.number("max_count") * groups
        if not at_most(count, most):
            words = " or ".join(map(kind_words, kinds))
            yield kinds, f"{count} × {words} drain (at most {number_text(most)})"


class Bearings(TypedDict):
    """For any answer about a group: who breathes through it, what to click, which fault it is."""

    steps: Callable[[], list[Step]]
    elements: tuple[str, ...]
    about: str


def bearings(group: VentGroup, fault: str, culprit: str = "", last: Step | None = None) -> Bearings:
    """`culprit` is the GlobalId to click instead of the vent, `last` a step of its own."""

    def steps() -> list[Step]:
        vent = Step(f"Vent: {group.vent.label}, at {group.drain.label}")
        arms = [Step(f"breathes through it: {arm.fixture.label}") for arm in group.arms]
        return [vent, *arms, *([last] if last else [])]

    elements = (culprit, *group.element_ids) if culprit else ()
    return {"steps": steps, "elements": elements, "about": culprit or fault}


def wet_pipes(group: VentGroup) -> list[tuple[int, Element]]:
    """The pipes that are drain and vent, upstream first."""
    return [(i, group.piping.elements[i]) for i in group.path if group.piping.is_pipe(i)]


def size_unknown(group: VentGroup) -> Answer:
    """Unverified, on the pipe whose size is missing."""
    lacking = next((pipe.guid for _, pipe in wet_pipes(group) if pipe.size_in is None), "")
    return not_known(SIZE, group, **bearings(group, "size", lacking))


def smallest_pipe(group: VentGroup) -> str:
    """The GlobalId of the smallest wet pipe, "" where no size is known."""
    sized = [(pipe.size_in, pipe.guid) for _, pipe in wet_pipes(group) if pipe.size_in is not None]
    return min(sized, key=lambda pipe: pipe[0])[1] if sized else ""


def on_one_floor(group: VentGroup, fixtures: list[Fixture], clause: str, wrong: str) -> Answer:
    """Whether fixtures stand on one floor; `wrong` is what is said where they do not."""
    return require(
        len({group.piping.floors.level_of(fixture.element) for fixture in fixtures}) <= 1,
        message=wrong,
        remedy=own_vent(group.arms[-1]),
        clause=clause,
        **bearings(group, "floors"),
    )


def large_enough(
    group: VentGroup,
    size_in: float,
    load: float,
    table: tuple[Row, ...],
    *,
    pipe: str,
    message: Callable[[float | None], str],
    what: str = "it",
    otherwise: str | Change,
    unstated: float = 0.0,
) -> Answer:
    """Whether a drain that is a vent has the size the table asks for its load, else what it says.

    `message` is given the size asked, None where no size of the table takes the load; `otherwise`
    is the remedy then. `pipe` is the GlobalId of the pipe, `what` it is called; `unstated` is how
    many loads are not known, with which no pass is sure.
    """
    row = row_for_load(table, load)
    if row is None:
        return check(
            load,
            at_most=table[-1].limit("max_dfu", "DFU"),
            message=lambda: message(None),
            remedy=otherwise,
            limit_step=AT_MOST,
            **bearings(group, "load", pipe),
        )
    wanted = row.limit("size_in", "in")
    answer = check(
        size_in,
        at_least=wanted,
        message=lambda: message(wanted.value),
        remedy=Change("size", (pipe,), wanted.value, f"Make {what} {trade_size(wanted.value)}."),
        limit_step=AT_LEAST,
        **bearings(group, "size", pipe),
    )
    return unless_unstated(answer, group, unstated, pipe)
