"""What keeps a stack from being a single stack (IPC 917), told once for the stack."""

from collections.abc import Iterator
from typing import TypedDict

from ifclint.checks import PASS, check, due, violation
from ifclint.engineering.units import feet
from ifclint.engineering.wording import apart_text, feet_text, number_text, trade_size
from ifclint.findings import Answer, Change, Step
from ifclint.packs import Context
from ifclint.plumbing import Stack, TrapArm
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.code_tables import rows
from ifclint.rules.venting.single_stack import (
    LOW_FLOORS,
    TABLE,
    Nearly,
    closets_on,
    most_closets,
    row_of,
)

OTHERWISE = "or vent every trap by itself"


class _Of(TypedDict):
    """What to click, and which fault it is."""

    elements: tuple[str, ...]
    about: str


def single_stack_faults(nearly: Nearly, context: Context) -> Iterator[Answer]:
    """The load, the closets on 3 in, how far off traps are, and those on the lower floors."""
    yield _carries(nearly, context)
    yield _few_closets(nearly, context)
    for limit_ft in sorted({nearly.ways[arm][1].value for arm in nearly.far}):
        far = [arm for arm in nearly.far if nearly.ways[arm][1].value == limit_ft]
        yield _near(far, nearly)
    yield _high_enough(nearly, context)


def _of(nearly: Nearly, about: str, arms: list[TrapArm]) -> _Of:
    ids = (guid for arm in arms for guid in arm.element_ids)
    return {"elements": (*ids, *nearly.stack.element_ids), "about": about}


def _carries(nearly: Nearly, context: Context) -> Answer:
    stack, row = nearly.stack, due(row_of(nearly.stack, context))
    most, load = row.limit("max_dfu", "DFU"), loads(context).carried[stack.base]
    return check(
        load,
        at_most=most,
        message=f"{stack.label}, {feet_text(feet(stack.height_m))} high, carries "
        f"{number_text(load)} DFU; as a single stack it may carry {number_text(most.value)}.",
        remedy=f"Make stack and stack vent larger, {OTHERWISE}.",
        **_of(nearly, "load", []),
    )


def _few_closets(nearly: Nearly, context: Context) -> Answer:
    stack, most = nearly.stack, most_closets(nearly.stack, context)
    return check(
        closets_on(stack, context),
        at_most=most,
        message=f"{number_text(closets_on(stack, context))} water closets drain into "
        f"{stack.label}; a single stack of that size takes {number_text(most.value)}.",
        remedy=lambda: _larger(stack, context),
        **_of(nearly, "closets", []),
    )


def _larger(stack: Stack, context: Context) -> Change:
    listed = (r.number("size_in") for r in rows(context, TABLE))
    size_in = min(s for s in listed if s > due(stack.size_in))
    text = f"Make stack and stack vent {trade_size(size_in)}, {OTHERWISE}."
    return Change("size", stack.element_ids, size_in, text)


def _near(far: list[TrapArm], nearly: Nearly) -> Answer:
    """Traps that lie too far, measured level, all against one limit."""
    farthest = max(far, key=lambda arm: nearly.ways[arm][0])
    away, reach = nearly.ways[farthest]
    others = ", ".join(arm.fixture.label for arm in far if arm is not farthest)
    also = f" Too far off, too: {others}." if others else ""
    within = f"within {number_text(reach.value)} ft"
    return check(
        round(away, 2),
        at_most=reach,
        message=f"{farthest.fixture.label} drains {apart_text(away, reach.value, 'ft')} level to "
        f"{nearly.stack.label}; a single stack takes it {within}.{also}",
        remedy=f"Bring it {within} of the stack, {OTHERWISE}.",
        steps=[Step(f"{a.fixture.label}, level", nearly.ways[a][0], "ft") for a in far],
        limit_step="To a single stack, at most",
        **_of(nearly, f"reach {number_text(reach.value)}", far),
    )


def _high_enough(nearly: Nearly, context: Context) -> Answer:
    if not nearly.low:
        return PASS
    stack, count = nearly.stack, len(nearly.stack.intervals)
    clause = context.code.limit("single_stack_closet_reach_ft").clause
    names = ", ".join(arm.fixture.label for arm in nearly.low)
    return violation(
        message=f"The lower two floors drain into {stack.label} too: {names}. A single stack of "
        f"more than {LOW_FLOORS} branch intervals, which has {count}, takes nothing there.",
        remedy="Drain the lower two floors by a stack of their own, that joins ten diameters and "
        f"more past the base, {OTHERWISE}.",
        clause=clause,
        **_of(nearly, "lower floors", nearly.low),
    )
