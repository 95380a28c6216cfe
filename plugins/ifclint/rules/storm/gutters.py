"""The rule on gutters: large enough for the roof above them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ifclint.checks import PASS, Answer, check, missing, unverified
from ifclint.codes import Row
from ifclint.engineering.units import M3_PER_S_PER_GPM, in_per_ft_from_slope
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Change, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.drainage.least_slope import meets_slope
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.storm.capacity import IN_PER_H, M2_PER_FT2
from ifclint.rules.storm.roofs import told_m2
from ifclint.rules.storm.section import StormSection
from ifclint.rules.storm.sizes import RAIN, RATE

AREA = (
    "Give the roof area of each gutter in the job file: [[storm.areas]] element = GlobalId of the "
    "gutter, area."
)


@dataclass(eq=False)
class Gutter(OfElement):
    """A gutter along the edge of a roof."""

    element: Element
    service = System.STORM


@derived
def gutters(context: Context) -> list[Gutter]:
    """Every gutter, in the order of the model."""
    elements = context.plumbing.network.elements
    return [Gutter(e) for e in elements if e.role is Role.OTHER and e.kind == "gutter"]


@rule(
    title="Gutter large enough for its roof",
    subject=Gutter,
    clauses={"upc": "1103.3", "ipc": "1106.6", "irc": ""},
)
def gutter_size(gutter: Gutter, context: Context) -> Answer:
    """A gutter that runs over wets the wall behind it, and the cellar below.

    The roof that drains to it, by the job file (storm.areas) or its own DrainageArea, at the rain
    of the job file, against the table of semicircular gutters for its diameter (its nominal size)
    and slope (its Slope). Where no slope is told, what passes at the flattest of the table passes
    and what fails at the steepest is wrong. The table of the IPC is not held here.
    """
    e, rate = gutter.element, context.job.section(StormSection).rate
    if rate is None:
        return missing(
            RAIN, message=f"{gutter.label} cannot be sized.", remedy=RATE, elements=(e.guid,)
        )
    area = told_m2(context).get(e.guid)
    if area is None:
        return unverified(f"How much roof drains into {gutter.label} is not known.", AREA)
    if "storm_gutters" not in context.code.tables:
        gpm = number_text(area * rate / M3_PER_S_PER_GPM)
        return unverified(
            f"Whether {gutter.label} carries {gpm} gpm is not known here.",
            "Have the gutter sized by the table of the code for its shape.",
        )
    rows = context.code.table("storm_gutters").where(size_in=e.size_in)
    if e.size_in is None or not rows:
        return unverified(
            f"What {gutter.label} may carry is not known: no diameter of the table is told for it.",
            "Give the gutter its nominal diameter (of a semicircular one), or have it sized.",
        )
    return _judged(gutter, rows, area / M2_PER_FT2, rate / IN_PER_H, context)


def _judged(
    gutter: Gutter, table: Sequence[Row], area_ft2: float, in_per_h: float, context: Context
) -> Answer:
    rows = sorted(table, key=lambda r: r.number("slope_in_per_ft"))
    slope = gutter.element.slope
    if slope is not None:
        at = [r for r in rows if meets_slope(slope, r.number("slope_in_per_ft"), context)]
        if not at:
            return _flatter(gutter, _answer(gutter, rows[0], area_ft2, in_per_h), rows[0])
        rows = at[-1:]
    flattest, steepest = (_answer(gutter, row, area_ft2, in_per_h) for row in (rows[0], rows[-1]))
    if flattest is PASS or steepest is not PASS:
        return steepest
    return unverified(
        f"The slope of {gutter.label} is not known; it decides whether the gutter is large enough.",
        "Give the gutter its slope (Slope).",
        clause=rows[0].clause,
    )


def _flatter(gutter: Gutter, at_least_slope: Answer, flattest: Row) -> Answer:
    """Of a gutter that falls less than the flattest of the table: what is too small there is too
    small."""
    if at_least_slope is not PASS:
        return at_least_slope
    least = number_text(flattest.number("slope_in_per_ft"))
    return unverified(
        f"What {gutter.label} may carry is not known: it falls less than {least} in per ft, the "
        "flattest of the table.",
        "Give the gutter more slope, or have it sized.",
        clause=flattest.clause,
    )


def _answer(gutter: Gutter, row: Row, area_ft2: float, in_per_h: float) -> Answer:
    at_one = row.limit("roof_ft2", "ft2")
    carries = at_one.value / in_per_h
    slope, text = gutter.element.slope, "Take a larger gutter, or give it another leader."
    steps = [
        Step("Roof of the gutter", area_ft2, "ft2"),
        Step("Rain", in_per_h, "in/h", "job file, storm.rate"),
    ]
    if slope is not None:
        steps.append(Step("Slope", in_per_ft_from_slope(slope), "in/ft"))
    return check(
        area_ft2,
        at_most=replace(at_one, value=carries),
        message=f"{gutter.label}, {trade_size(gutter.element.size_in)}, takes "
        f"{number_text(area_ft2)} ft2 of roof; it may take {number_text(carries)} ft2.",
        remedy=Change("part", gutter.element_ids, "larger gutter", text),
        steps=steps,
        limit_step="May take at this rain",
    )


RULES = (gutter_size,)
