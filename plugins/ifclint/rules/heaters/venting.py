"""What vents of Category I appliances may carry, by the code's tables."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.codes import Row, Table
from ifclint.engineering.units import M_PER_FT, W_PER_BTU_PER_H
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, derived
from ifclint.plumbing import FuelVent, VentConnector
from ifclint.plumbing.gas.inputs import Input, inputs
from ifclint.rules.heaters.answers import says

FAN, NATURAL, OTHER = "fan", "natural", "other"
KBTUH = "kBtu/h"
OTHER_WORDS = ("direct vent", "sealed combustion", "power vent", "condensing")
FAN_WORDS = ("fan assisted", "fan-assisted", "induced draft", "category i fan")
NATURAL_WORDS = ("draft hood", "natural draft", "atmospheric")


def draft(element: Element) -> str | None:
    """How an appliance's vent draws: fan-assisted, natural draft, or neither; None: not told."""
    stated = str(element.properties.get("draft", "")).lower()
    for kind, words in ((OTHER, OTHER_WORDS), (FAN, FAN_WORDS), (NATURAL, NATURAL_WORDS)):
        if stated == kind or says(element, *words) or stated in words:
            return kind
    return None


def input_kbtuh(element: Element, context: Context, instead: dict[str, float]) -> float | None:
    """The input of an appliance in thousands of Btu/h; None where neither model nor job tells."""
    if element.guid in instead:
        return instead[element.guid] / W_PER_BTU_PER_H / 1000
    known = _known_inputs(context).get(element.guid)
    if known is not None:
        return None if known.is_usual else known.btu_per_h / 1000
    stated = element.properties.get("input_rating_w")
    return stated / W_PER_BTU_PER_H / 1000 if isinstance(stated, float) else None


@derived
def _known_inputs(context: Context) -> dict[str, Input]:
    return {a.element.guid: known for a, known in inputs(context).items() if known is not None}


def wall(material: str) -> str | None:
    """The table's word for a vent material; None where it is not told."""
    words = material.lower()
    if any(word in words for word in ("type b", "double-wall", "double wall", "b-vent", "b vent")):
        return "type-b"
    return "single-wall" if "single" in words else None


@dataclass(frozen=True)
class Room:
    """What a vent may carry, as thousands of Btu/h."""

    most: float
    steps: tuple[Step, ...]
    least: float = 0.0
    clause: str = ""


def common_room(vent: FuelVent, size: float, context: Context) -> Room | None:
    """What a common vent of a size may carry; None where the table does not reach."""
    if vent.height_m is None:
        return None
    table, height = context.code.table("gas_vent_common"), vent.height_m / M_PER_FT
    walls = {wall(c.material) or "single-wall" for c in vent.connectors}
    connector = "type-b" if walls == {"type-b"} else "single-wall"
    column = _common_column([draft(c.appliance) for c in vent.connectors])
    rows = table.where(connector=connector, size_in=size)
    between = _between(rows, height, column)
    if between is None:
        return None
    value, words, clause = between
    kinds = {"fan_fan_kbtuh": "all fan-assisted", "fan_nat_kbtuh": "fan-assisted and natural draft"}
    step = Step(
        f"{trade_size(size)} common vent, {connector.replace('-', ' ')} connectors, "
        f"{kinds.get(column, 'all natural draft')}, {words}",
        value, KBTUH, clause,
    )  # fmt: skip
    return Room(value, (step,), clause=clause)


def _common_column(drafts: list[str | None]) -> str:
    """The column for appliances so drawn; where one is not told, the one of least capacity."""
    if all(d == FAN for d in drafts):
        return "fan_fan_kbtuh"
    return "fan_nat_kbtuh" if FAN in drafts and None not in drafts else "nat_nat_kbtuh"


def _between(rows: tuple[Row, ...], height_ft: float, column: str) -> tuple[float, str, str] | None:
    """A cell for a height: between two rows, or that of the tallest row beyond it."""
    listed = sorted(
        ((r.number("height_ft"), r) for r in rows if r.number_or_none(column) is not None),
        key=lambda pair: pair[0],
    )
    if not listed or height_ft < listed[0][0] - 0.05:
        return None
    below = [(h, r) for h, r in listed if h <= height_ft + 0.05]
    above = [(h, r) for h, r in listed if h > height_ft + 0.05]
    low_ft, low = below[-1]
    if not above or abs(low_ft - height_ft) <= 0.05:
        return low.number(column), f"at {low_ft:g} ft", low.clause
    high_ft, high = above[0]
    share = (height_ft - low_ft) / (high_ft - low_ft)
    value = low.number(column) + share * (high.number(column) - low.number(column))
    words = f"at {number_text(height_ft, 3)} ft, between the rows of {low_ft:g} and {high_ft:g} ft"
    return value, words, low.clause


def connector_room(
    connector: VentConnector, height_ft: float, rise_ft: float, size: float, context: Context
) -> Room | None:
    """What a connector of a size may carry; None where the table does not reach."""
    table = context.code.table("gas_vent_connector")
    kind = wall(connector.material) or "single-wall"
    rises = sorted({r.number("rise_ft") for r in table.where(connector=kind, size_in=size)})
    fitting = [r for r in rises if r <= rise_ft + 0.05]
    if not fitting:
        return None
    rows = table.where(connector=kind, size_in=size, rise_ft=fitting[-1])
    fan = draft(connector.appliance) == FAN
    most = _between(rows, height_ft, "fan_max_kbtuh" if fan else "nat_max_kbtuh")
    if most is None:
        return None
    least = _between(rows, height_ft, "fan_min_kbtuh") if fan else None
    factor, steps = _reduced(connector, size, context)
    words = f"{trade_size(size)} {kind.replace('-', ' ')} connector, {fitting[-1]:g} ft of rise, "
    first = Step(words + most[1], most[0], KBTUH, most[2])
    return Room(most[0] * factor, (first, *steps), least[0] if least else 0.0, most[2])


def least_rise_ft(table: Table) -> float:
    """The smallest connector rise that the table lists."""
    return min(table.numbers("rise_ft"))


def _reduced(
    connector: VentConnector, size: float, context: Context
) -> tuple[float, tuple[Step, ...]]:
    """What elbows beyond two and a way sideways beyond the usual take off."""
    each = context.code.limit("gas_vent_offset_loss")
    usual = context.code.limit("gas_connector_ft_per_in")
    factor, steps = 1.0, []
    extra = max(0, connector.turns - 2)
    if extra:
        factor -= each.value * extra
        steps.append(Step(f"{extra} elbow(s) beyond two: times", factor, "", each.clause))
    length, most = connector.level_m / M_PER_FT, usual.value * size
    if length > most:
        multiples = int(length // most) if length % most else int(length // most) - 1
        factor *= 1.0 - 0.1 * multiples
        words = f"{number_text(length)} ft sideways, {number_text(most)} ft is usual: times"
        steps.append(Step(words, factor, "", usual.clause))
    return factor, tuple(steps)


def common_sizes(context: Context) -> list[float]:
    return sorted(context.code.table("gas_vent_common").numbers("size_in"))
