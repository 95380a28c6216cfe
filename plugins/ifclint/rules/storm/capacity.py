"""What storm piping may carry, and what comes down on it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ifclint.codes import Limit, Row
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import (
    M3_PER_S_PER_GPM,
    M_PER_FT,
    M_PER_IN,
    SECONDS_PER_HOUR,
    in_per_ft_from_slope,
)
from ifclint.findings import Step
from ifclint.packs import Context
from ifclint.plumbing import Inlet, StormDrain
from ifclint.plumbing.drainage.least_slope import drain_meets_slope
from ifclint.rules.storm.roofs import Area, area_of, roofs
from ifclint.rules.storm.section import StormSection

M2_PER_FT2 = M_PER_FT**2
IN_PER_H = M_PER_IN / SECONDS_PER_HOUR  # m/s


@dataclass(frozen=True)
class Load:
    """What comes down, between its least and its most, in the unit of the code's table: roof area
    at the rate of the job file (ft2), or flow (gpm)."""

    low: float
    high: float
    unit: str
    steps: tuple[Step, ...]

    @property
    def is_told(self) -> bool:
        return at_most(self.high, self.low, self.unit)


def load_of(inlets: Sequence[Inlet], rate_m_s: float, context: Context) -> Load:
    """What some inlets take together at their rates of rain: of a roof whose primary drains are
    among them, by these, unless the code lets its secondary drains join them (UPC 1101.12.2.2)."""
    section = context.job.section(StormSection)
    primary = area_of([i for i in inlets if not i.is_secondary], context)
    secondary = area_of(_of_their_own(inlets, context), context)
    other_rate = section.secondary_rate or rate_m_s
    steps = [Step("Rain", rate_m_s / IN_PER_H, "in/h", "job file, storm.rate"), _area_step(primary)]
    if secondary.high_m2 > 0:
        steps.append(Step("Rain on secondary drains", other_rate / IN_PER_H, "in/h"))
        steps.append(_area_step(secondary, "secondary "))
    low, high = (p * rate_m_s + s * other_rate for p, s in _ends(primary, secondary))
    if by_area(context):
        unit, each = "ft2", rate_m_s * M2_PER_FT2
    else:
        unit, each = "gpm", M3_PER_S_PER_GPM
        steps.append(Step("Flow: area times rain", high / each, unit))
    return Load(low / each, high / each, unit, tuple(steps))


def _of_their_own(inlets: Sequence[Inlet], context: Context) -> list[Inlet]:
    """The secondary drains among inlets whose rain no primary one among them takes."""
    own, asked = [i for i in inlets if i.is_secondary], set(inlets)
    if not own or context.code.family == "upc":
        return own
    taken = {i for roof in roofs(context) if asked & {*roof.primary} for i in roof.secondary}
    return [i for i in own if i not in taken]


def _ends(one: Area, other: Area) -> tuple[tuple[float, float], tuple[float, float]]:
    return (one.low_m2, other.low_m2), (one.high_m2, other.high_m2)


def _area_step(area: Area, what: str = "") -> Step:
    words = f"Roof of the {what}drains above, walls by their share"
    if area.low_m2 != area.high_m2:
        words = f"Roof of the {what}drains above, at most"
    return Step(words, area.high_m2 / M2_PER_FT2, "ft2")


def by_area(context: Context) -> bool:
    """Whether the code's table is entered by roof area, and not by flow."""
    return "roof_ft2" in context.code.table("storm_leaders").columns


def rows_for(drain: StormDrain, inlets: Sequence[Inlet], context: Context) -> list[Row]:
    """The rows of the code for pipe that stands or lies as this does, every size."""
    drains, leaders = context.code.table("storm_drains"), context.code.table("storm_leaders")
    if drain.vertical:
        standing = drains.where(orientation="vertical")
        below_gutters = all(inlet.is_open_top for inlet in inlets)
        return list(leaders.rows if below_gutters or not standing else standing)
    lying = drains.where(orientation="horizontal")
    if drain.slope is None:
        return []
    steps = [s for s in drains.numbers("slope_in_per_ft") if drain_meets_slope(drain, s, context)]
    return [r for r in lying if steps and r.number("slope_in_per_ft") == max(steps)]


def most(row: Row, rate_m_s: float, context: Context) -> Limit:
    """What a row lets pipe carry: roof area at this rate, or flow."""
    if not by_area(context):
        return row.limit("carries_gpm", "gpm")
    at_one = row.limit("roof_ft2", "ft2")
    return replace(at_one, value=at_one.value / (rate_m_s / IN_PER_H))


def smallest(rows: Sequence[Row], load: float, rate_m_s: float, context: Context) -> float | None:
    """The smallest size that carries a load; None where none does."""
    allowed = ((r.number("size_in"), most(r, rate_m_s, context)) for r in rows)
    return min((size for size, m in allowed if at_most(load, m.value, m.unit)), default=None)


def slope_step(drain: StormDrain) -> tuple[Step, ...]:
    if drain.vertical or drain.slope is None:
        return ()
    return (Step("Slope", in_per_ft_from_slope(drain.slope), "in/ft"),)
