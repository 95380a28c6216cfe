"""The rule on gutters: large enough for the roof above them."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.checks import PASS, Answer, Fact, check, known, missing, not_known
from ifclint.codes import Row
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M3_PER_S_PER_GPM, M_PER_IN, in_per_ft_from_slope
from ifclint.engineering.wording import number_text
from ifclint.findings import Change, Step
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.drainage.least_slope import meets_slope
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.storm.capacity import IN_PER_H, M2_PER_FT2, Load, by_area, most
from ifclint.rules.storm.roofs import told_m2
from ifclint.rules.storm.section import StormSection
from ifclint.rules.storm.sizes import RAIN, RATE

AREA = (
    "Give the roof area of each gutter in the job file: [[storm.areas]] element = GlobalId of the "
    "gutter, area."
)
ROOF = Fact("how much roof drains into {}", AREA)
SECTION = Fact(
    "what {} may carry is not known: neither diameter nor width and depth are told.",
    "Give the gutter its nominal diameter (of a semicircular one), or state its width and depth "
    "in the job file (storm.areas).",
)
SLOPE = Fact(
    "the slope of {} is not known; it decides whether the gutter is large enough.",
    "Give the gutter its slope (Slope).",
)
TOO_FLAT = Fact(
    "what {} may carry is not known: it falls less than the flattest of the table.",
    "Give the gutter more slope, or have it sized.",
)
NOT_LISTED = Fact(
    "what {} may carry is not known: the table has no gutter of its section at its slope.",
    "Have the gutter sized by its designer.",
)


@dataclass(eq=False)
class Gutter(OfElement):
    """A gutter along the edge of a roof."""

    element: Element
    service = System.STORM


@derived
def gutters(context: Context) -> list[Gutter]:
    """Every gutter, in the order of the model."""
    network = context.plumbing.network
    drawn = (network.elements[i] for i in network.of_kinds("gutter"))
    return [Gutter(e) for e in drawn if e.role is Role.OTHER]


@dataclass(frozen=True)
class GutterSection:
    """A cross-section of a gutter: its width at the top and its depth. In.

    The longer side of a rectangle counts as its width, as the trade names gutters either way.
    """

    width_in: float
    depth_in: float
    is_round: bool  # semicircular

    def holds(self, other: GutterSection) -> bool:
        """Whether another lies within this one, and so carries no more."""
        if self.is_round and not other.is_round:
            return False
        return at_least(self.width_in, other.width_in, "in") and at_least(
            self.depth_in, other.depth_in, "in"
        )


@rule(
    title="Gutter large enough for its roof",
    clauses={"upc": "1103.3", "ipc": "1106.6", "irc": ""},
    of_load=True,
)
def gutter_size(gutter: Gutter, context: Context) -> Answer:
    """A gutter that runs over wets the wall behind it, and the cellar below.

    The roof that drains to it, by the job file (storm.areas) or its own DrainageArea, at the rain
    of the job file, against the code's table of gutters: semicircular ones by their diameter (their
    nominal size), rectangular ones, in the IPC alone, by the width and depth of the job file; at
    its slope (its Slope). A section or slope between those of the table is bounded by those that
    lie in it and those it lies in: what neither decides is a question. Where no slope is told, what
    passes at the flattest of the table passes and what fails at the steepest is wrong.
    """
    e, rate = gutter.element, context.job.section(StormSection).rate
    if rate is None:
        return missing(
            RAIN, message=f"{gutter.label} cannot be sized.", remedy=RATE, elements=(e.guid,)
        )
    if e.guid not in told_m2(context):
        return not_known(ROOF, gutter)
    section = known(_section(e, context), SECTION)
    return _judged(gutter, section, rate, context)


def _section(gutter: Element, context: Context) -> GutterSection | None:
    """The section the job file tells, else the semicircle of its diameter."""
    told = context.job.section(StormSection).of(gutter.guid)
    if told is not None and told.width is not None and told.depth is not None:
        return _rectangle(told.width / M_PER_IN, told.depth / M_PER_IN)
    size = gutter.size_in
    return None if size is None else GutterSection(size, size / 2, is_round=True)


def _of_row(row: Row) -> GutterSection:
    size = row.number_or_none("size_in")
    if size is not None:
        return GutterSection(size, size / 2, is_round=True)
    return _rectangle(row.number("width_in"), row.number("depth_in"))


def _rectangle(one_in: float, other_in: float) -> GutterSection:
    return GutterSection(max(one_in, other_in), min(one_in, other_in), is_round=False)


def _judged(gutter: Gutter, section: GutterSection, rate_m_s: float, context: Context) -> Answer:
    """Against the most that a section within this one carries, at a slope no steeper, and the least
    that one around it carries, at a slope no flatter."""
    table, slope = context.code.table("storm_gutters"), gutter.element.slope
    steps = table.numbers("slope_in_per_ft")
    flattest, steepest = min(steps), max(steps)
    if slope is not None:
        met = [s for s in steps if meets_slope(slope, s, context)]
        flattest = steepest = largest(met)
    sections = [(_of_row(row), row.number("slope_in_per_ft"), row) for row in table.rows]
    inside = [r for s, at, r in sections if section.holds(s) and at <= flattest]
    around = [r for s, at, r in sections if s.holds(section) and at >= steepest]
    load = _load(gutter, rate_m_s, context)
    sure = max((most(r, rate_m_s, context) for r in inside), key=lambda m: m.value, default=None)
    bound = min((most(r, rate_m_s, context) for r in around), key=lambda m: m.value, default=None)
    if sure is not None and at_most(load.high, sure.value, load.unit):
        return PASS
    if bound is not None and not at_most(load.high, bound.value, load.unit):
        what = "of roof" if load.unit == "ft2" else "of rain"
        return check(
            load.high,
            at_most=bound,
            message=f"{gutter.label} takes {number_text(load.high)} {load.unit} {what}; it may "
            f"take {number_text(bound.value)} {load.unit}.",
            remedy=Change(
                "part",
                gutter.element_ids,
                "larger gutter",
                "Take a larger gutter, or give it another leader.",
            ),
            steps=load.steps,
            limit_step="May take at this rain",
        )
    undecided = SLOPE if slope is None else TOO_FLAT if flattest == 0.0 else NOT_LISTED
    return not_known(undecided, gutter, clause=table.clause)


def _load(gutter: Gutter, rate_m_s: float, context: Context) -> Load:
    """What comes down on it: roof area at the rain, or flow, as the code's table counts."""
    area_m2 = told_m2(context)[gutter.element.guid]
    steps = [
        Step("Roof of the gutter", area_m2 / M2_PER_FT2, "ft2"),
        Step("Rain", rate_m_s / IN_PER_H, "in/h", "job file, storm.rate"),
    ]
    if gutter.element.slope is not None:
        steps.append(Step("Slope", in_per_ft_from_slope(gutter.element.slope), "in/ft"))
    if by_area(context):
        value, unit = area_m2 / M2_PER_FT2, "ft2"
    else:
        value, unit = area_m2 * rate_m_s / M3_PER_S_PER_GPM, "gpm"
        steps.append(Step("Flow: area times rain", value, unit))
    return Load(value, value, unit, tuple(steps))
