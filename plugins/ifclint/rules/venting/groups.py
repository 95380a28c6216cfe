"""What the rules about methods of venting share: who drains through a group, and the answer."""

from __future__ import annotations

from ifclint.codes import Row
from ifclint.findings import Answer, Measure, Outcome, Step
from ifclint.packs import Context, derived
from ifclint.plumbing import Fixture, TrapArm, VentGroup
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.wording import method_row

MANY = 24  # fixtures; more are never one wet vent


@derived
def passing_dfu(context: Context) -> list[float]:
    """The fixture units that pass every element, as the fixtures give them."""
    given = loads(context).gives
    return context.plumbing.drainage.accumulate({f.index: v for f, v in given.items()})


@derived
def _by_index(context: Context) -> dict[int, Fixture]:
    return {fixture.index: fixture for fixture in context.plumbing.fixtures}


def fixtures_through(group: VentGroup, context: Context) -> list[Fixture] | None:
    """All fixtures that drain through the wet vent, wherever they are vented; None for many."""
    piping = group.piping
    by_index = _by_index(context)
    found: list[Fixture] = []
    frontier = [group.path[-1]]
    while frontier:
        index = frontier.pop()
        if index in by_index:
            found.append(by_index[index])
        if len(found) > MANY:
            return None
        frontier += piping.wet_above[index]
    return sorted(found, key=lambda f: f.index)


def verdict(
    group: VentGroup,
    message: str,
    remedy: str,
    clause: str,
    measured: Measure | None = None,
    required: Measure | None = None,
    outcome: Outcome = Outcome.VIOLATION,
    culprit: str = "",
) -> Answer:
    """What is wrong with a group, with who breathes through it; `culprit` is the GlobalId to
    click instead of the vent."""
    elements = (culprit, *group.element_ids) if culprit else ()
    steps = [Step(f"Vent: {group.vent.label}, at {group.drain.label}")]
    steps += [Step(f"breathes through it: {arm.fixture.label}") for arm in group.arms]
    if required is not None:
        steps.append(Step(f"Required, {required.bound}", required.value, required.unit, clause))
    return Answer(
        outcome,
        message,
        measured=measured,
        required=required,
        remedy=remedy,
        steps=tuple(steps),
        elements=elements,
        clause=clause,
    )


def own_vent(arm: TrapArm) -> str:
    """The remedy that always helps."""
    return f"Give {arm.fixture.label} a vent of its own."


def size_unknown(group: VentGroup) -> Answer:
    """Unverified, on the pipe whose size is missing."""
    pipes = [group.piping.elements[i] for i in group.path if group.piping.is_pipe(i)]
    lacking = next((e.guid for e in pipes if e.size_in is None), "")
    return verdict(
        group,
        f"A pipe of the {group.label} has no size.",
        "Give it a nominal diameter.",
        "",
        outcome=Outcome.UNVERIFIED,
        culprit=lacking,
    )


def smallest_pipe(group: VentGroup) -> str:
    """The GlobalId of the smallest wet pipe, "" where no size is known."""
    elements = [group.piping.elements[i] for i in group.path if group.piping.is_pipe(i)]
    sized = [e for e in elements if e.size_in is not None]
    return min(sized, key=lambda e: e.size_in or 0.0).guid if sized else ""


def clause_of(context: Context, method: str) -> str:
    """The clause of a method of venting."""
    row = method_row(context, method)
    return row.clause if row is not None else ""


def row_for_load(table: tuple[Row, ...], load: float) -> Row | None:
    """The smallest row for a load; a blank limit is none."""
    limits = ((row, row.number_or_none("max_dfu")) for row in table)
    return next((row for row, most in limits if most is None or most >= load), None)
