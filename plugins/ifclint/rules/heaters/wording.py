"""Words that the rules about heaters share, and the units they are said in."""

from ifclint.findings import Change
from ifclint.packs import Context
from ifclint.plumbing import FuelVent

SHAPE = "Give the pipes a shape, or placed ports that are joined, so that the line can be followed."
GIVE_END = (
    "Draw the line to its end, the receptor under it, and the walls and slabs around it "
    "(or add the architect's file to the review)."
)


def raised(vent: FuelVent, by_m: float, text: str) -> Change:
    """To carry a vent higher: whatever asks for it is one change, as far as all of it asks."""
    return Change("move", (vent.terminal.guid,), by_m, text)


def discharge_clause(context: Context, key: str) -> str:
    """The clause of a row of the code's table of relief discharge, "" where it has no such row."""
    row = context.code.table("relief_discharge").one(key=key)
    return row.clause if row else ""
