"""The tables of the adopted code as the rules of venting ask them."""

from enum import StrEnum

from ifclint.codes import Row
from ifclint.engineering.data import TRADE_SIZES
from ifclint.engineering.tolerance import at_most
from ifclint.packs import Context
from ifclint.plumbing import Fixture, TrapArm

QUARTER_IN_PER_FT = 0.25


class Allowed(StrEnum):
    """What the code says of a kind of trap, or of a method of venting."""

    YES = "yes"
    NO = "no"
    CONDITIONAL = "conditional"


def allowed(row: Row | None) -> Allowed:
    """What a row says; what the code does not list it does not allow."""
    return Allowed(row.text("allowed")) if row is not None else Allowed.NO


def rows(context: Context, table: str) -> tuple[Row, ...]:
    """The rows of a table, none where the adopted code has no such table."""
    return context.code.table(table).rows if table in context.code.tables else ()


def method_row(context: Context, method: str) -> Row | None:
    return context.code.table("vent_methods").one(method=method)


def method_clause(context: Context, method: str) -> str:
    """The clause of a method of venting, "" where the code does not list it."""
    row = method_row(context, method)
    return row.clause if row is not None else ""


def is_for(row: Row, fixture: Fixture) -> bool:
    """Whether a row lists fixtures of this kind."""
    return fixture.kind in row.text("fixtures").split()


def row_for_load(table: tuple[Row, ...], load: float) -> Row | None:
    """The smallest row for a load; a blank limit is none."""
    limits = ((row, row.number_or_none("max_dfu")) for row in table)
    return next((row for row, most in limits if most is None or at_most(load, most)), None)


def branch_size_in(load: float, into_stack: bool, context: Context) -> float:
    """The size asked of a branch for its load: into a stack, or as the building drain at 1/4 in per
    ft; 0 where none is listed."""
    table, column = "branch_and_stack_capacity", "branch_dfu"
    if not into_stack:
        table, column = "building_drain_capacity", "max_dfu"
    listed = [(r.number_or_none(column), r) for r in rows(context, table)]
    if not into_stack:
        listed = [(m, r) for m, r in listed if r.number("slope_in_per_ft") == QUARTER_IN_PER_FT]
    sizes = (r.number("size_in") for most, r in listed if most and at_most(load, most))
    return min(sizes, default=0.0)


def trap_arm_row(arm: TrapArm, context: Context) -> Row | None:
    """The row for the arm (UPC) or the trap (IPC): of the largest listed size not above it."""
    by_trap = context.code.family == "ipc" and arm.trap_size_in is not None
    size = arm.trap_size_in if by_trap else arm.size_in
    if size is None:
        return None
    fitting = [r for r in rows(context, "trap_arms") if at_most(r.number("size_in"), size, "in")]
    return max(fitting, key=lambda r: r.number("size_in"), default=None)


def next_size_in(size_in: float, steps: int = 1) -> float:
    """The trade size so many sizes larger, or the largest there is."""
    larger = [s for s in TRADE_SIZES if s > size_in]
    return larger[min(steps, len(larger)) - 1] if larger else size_in


def trade_size_for(size_in: float) -> float:
    """The smallest trade size not below a size."""
    return next((s for s in TRADE_SIZES if s >= size_in), size_in)
