"""What vents of Category I appliances may carry, by the code's tables."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil

from ifclint.checks import Fact, not_known
from ifclint.codes import Limit, Row
from ifclint.engineering.tolerance import at_least, at_most, slack
from ifclint.engineering.units import W_PER_BTU_PER_H, feet
from ifclint.engineering.wording import how_many, number_text, trade_size
from ifclint.findings import Answer, Step
from ifclint.ifc.elements import Element, Point
from ifclint.packs import Context, derived
from ifclint.plumbing import FuelVent, VentConnector
from ifclint.plumbing.gas.inputs import Input, inputs
from ifclint.plumbing.words import CONDENSES, ROOM_SEALED, says_text

KBTUH = "kBtu/h"
ELBOWS = 2  # that the tables of connectors allow for
LENGTH_LOSS = 0.1  # of a connector, for each further multiple of its usual length; from memory
GIVE_INPUT = (
    "Give every appliance on the vent its input (a property named InputRating), or write it into "
    "the job file, gas.loads."
)
GIVE_SHAPE = "Give vent pipes a nominal size and a shape, and the terminal and outlets a place."
VENT_SIZE = Fact("size", GIVE_SHAPE)
VENT_HEIGHT = Fact("height", GIVE_SHAPE)
INPUT = Fact("input", GIVE_INPUT)
UNLISTED = Fact(
    "No {} table here holds {} at {} ft.",
    "Size it by its listing, or by the code book's full table.",
)


class Draft(StrEnum):
    """How an appliance's vent draws."""

    FAN = "fan"
    NATURAL = "natural"
    OTHER = "other"  # not of Category I: direct vent, power vent, condensing


class Wall(StrEnum):
    """What a vent connector is made of, as the tables name it."""

    TYPE_B = "type-b"
    SINGLE = "single-wall"


DRAFT_WORDS = {
    Draft.OTHER: (*ROOM_SEALED, *CONDENSES, "power vent*", "category iii", "cat iii"),
    Draft.FAN: ("fan assisted", "fan-assisted", "induced draft", "category i fan"),
    Draft.NATURAL: ("draft hood", "natural draft", "atmospheric"),
}
TYPE_B_WORDS = ("type b", "type-b", "double-wall*", "double wall*", "b-vent", "b vent")

SINGLE_WALL_WORDS = ("single-wall*", "single wall*")


def is_beside(end: Point, context: Context) -> bool:
    """Whether a vent ends beside the building, and not above it."""
    footprint = context.plumbing.surroundings.footprint
    return footprint is not None and not footprint.holds(end)


def leaves_by_wall(vent: FuelVent, context: Context) -> bool:
    """Whether a vent ends beside the building in which an appliance on it stands."""
    places = (c.appliance.position for c in vent.connectors)
    is_inside = any(at is not None and not is_beside(at, context) for at in places)
    return is_inside and vent.leaves_at is not None and is_beside(vent.leaves_at, context)


def draft(element: Element) -> Draft | None:
    """How an appliance's vent draws, as its property or its name says; None: not stated."""
    stated = element.properties.text("draft")
    told = told_of(element)
    for kind, words in DRAFT_WORDS.items():
        if stated == kind or says_text(told, words):
            return kind
    return None


def told_of(element: Element) -> str:
    """What its property, name, type and the names of its ends tell of how it draws."""
    names = (element.called, *(end.name for end in element.ends))
    return " | ".join((element.properties.text("draft"), *names)).lower()


def words_of(part: Element) -> str:
    """What a part of a vent is said to be of, and what it is called."""
    words = (part.material, part.properties.text("material_words"), part.called)
    return " | ".join(words).lower().replace("_", " ")


def wall(connector: VentConnector) -> Wall:
    """By the material and the names of its pipes; single-wall, which carries least, where one of
    them states nothing."""
    told = [words_of(pipe) for pipe in connector.pipes] or [connector.material]
    is_double = all(says_text(words, TYPE_B_WORDS) for words in told)
    single = any(says_text(words, SINGLE_WALL_WORDS) for words in told)
    return Wall.TYPE_B if is_double and not single else Wall.SINGLE


def input_kbtuh(
    element: Element, context: Context, instead: Mapping[str, float] | None = None
) -> float | None:
    """The input of an appliance in thousands of Btu/h; None where neither model nor job tells.

    `instead` are inputs in W that are asked about, by GlobalId.
    """
    told = element.properties
    is_told = told.number("least_input_rating_w") is None  # and not as a number of either unit
    watts = told.number("input_rating_w") if is_told else None
    known = _known_inputs(context).get(element.guid)
    if instead and element.guid in instead:
        watts = instead[element.guid]
    elif known is not None:
        watts = None if known.is_usual or known.least else known.watts
    return watts / W_PER_BTU_PER_H / 1000 if isinstance(watts, float) else None


@derived
def _known_inputs(context: Context) -> dict[str, Input]:
    return {a.element.guid: known for a, known in inputs(context).items() if known is not None}


@dataclass(frozen=True)
class FlueCapacity:
    """What a vent may carry, as thousands of Btu/h, and how that was found."""

    most: Limit
    steps: tuple[Step, ...]
    least: Limit | None = None

    def serves(self, load: float) -> bool:
        least = self.least is None or at_least(load, self.least.value, KBTUH)
        return least and at_most(load, self.most.value, KBTUH)


def smallest_size(
    table: str, load: float, carries: Callable[[float], FlueCapacity | None], context: Context
) -> float | None:
    """The smallest size of a table that serves a load; None where none does."""
    rooms = ((size, carries(size)) for size in context.code.table(table).numbers("size_in"))
    return min((size for size, room in rooms if room and room.serves(load)), default=None)


def unlisted(table: str, what: str, height_ft: float) -> Answer:
    """A vent beyond the tables here."""
    return not_known(UNLISTED, table, what, number_text(height_ft, 3))


def common_capacity(vent: FuelVent, size_in: float, context: Context) -> FlueCapacity | None:
    """What a common vent of a size may carry; None where the table does not reach."""
    if vent.height_m is None:
        return None
    walls = {wall(c) for c in vent.connectors}
    connector = Wall.TYPE_B if walls == {Wall.TYPE_B} else Wall.SINGLE
    column, drawn = _common_column([draft(c.appliance) for c in vent.connectors])
    rows = context.code.table("gas_vent_common").where(connector=connector.value, size_in=size_in)
    cell = _at_height(rows, feet(vent.height_m), column)
    if cell is None:
        return None
    most, words = cell
    words = f"{trade_size(size_in)} common vent, {_words(connector)} connectors, {drawn}, {words}"
    return FlueCapacity(most, (most.step(words),))


def _common_column(drafts: Sequence[Draft | None]) -> tuple[str, str]:
    """The column for appliances so drawn; where one is not stated, the one of least capacity."""
    if all(d is Draft.FAN for d in drafts):
        return "fan_fan_kbtuh", "all fan-assisted"
    if Draft.FAN in drafts and None not in drafts:
        return "fan_nat_kbtuh", "fan-assisted and natural draft"
    return "nat_nat_kbtuh", "all natural draft"


def connector_capacity(
    connector: VentConnector, size_in: float, kind: Draft | None, context: Context
) -> FlueCapacity | None:
    """What a connector of a size and draft may carry; None where the table does not reach."""
    vent = connector.vent
    if connector.rise_m is None or vent is None or vent.height_m is None:
        return None
    table, made_of = context.code.table("gas_vent_connector"), wall(connector)
    listed = table.where(connector=made_of.value, size_in=size_in)
    rises = [row.number("rise_ft") for row in listed]
    row_ft = max((r for r in rises if at_least(feet(connector.rise_m), r, "ft")), default=None)
    rows = [row for row in listed if row.number("rise_ft") == row_ft]
    column = "fan_max_kbtuh" if kind is Draft.FAN else "nat_max_kbtuh"
    cell = _at_height(rows, feet(vent.height_m), column)
    if cell is None:
        return None
    most, words = cell
    words = f"{trade_size(size_in)} {_words(made_of)} connector, {row_ft:g} ft of rise, {words}"
    factor, reduced = _reduced(connector, size_in, context)
    least = _at_height(rows, feet(vent.height_m), "fan_min_kbtuh") if kind is Draft.FAN else None
    return FlueCapacity(
        replace(most, value=most.value * factor),
        (most.step(words), *reduced),
        least[0] if least else None,
    )


def _at_height(rows: Sequence[Row], height_ft: float, column: str) -> tuple[Limit, str] | None:
    """A cell for a height: between two rows, or that of the tallest row beyond it."""
    listed = sorted(
        (r for r in rows if r.number_or_none(column) is not None),
        key=lambda row: row.number("height_ft"),
    )
    below = [r for r in listed if at_least(height_ft, r.number("height_ft"), "ft")]
    if not below:
        return None
    low, above = below[-1], listed[len(below) :]
    low_ft, cell = low.number("height_ft"), low.limit(column, KBTUH)
    if not above or at_most(height_ft, low_ft, "ft"):
        return cell, f"at {low_ft:g} ft"
    high_ft = above[0].number("height_ft")
    share = (height_ft - low_ft) / (high_ft - low_ft)
    value = cell.value + share * (above[0].number(column) - cell.value)
    words = f"at {number_text(height_ft, 3)} ft, between the rows of {low_ft:g} and {high_ft:g} ft"
    return replace(cell, value=value), words


def _reduced(
    connector: VentConnector, size_in: float, context: Context
) -> tuple[float, tuple[Step, ...]]:
    """What elbows beyond two and a level length beyond the usual take off."""
    each = context.code.limit("gas_vent_offset_loss")
    usual = context.code.limit("gas_connector_ft_per_in")
    factor, steps = 1.0, []
    extra = max(connector.turns - ELBOWS, 0)
    if extra:
        factor -= each.value * extra
        steps.append(Step(f"{how_many(extra, 'elbow')} beyond two: times", factor, "", each.clause))
    length, most = feet(connector.level_m), usual.value * size_in
    multiples = max(ceil((length - slack(most, "ft")) / most) - 1, 0)
    if multiples:
        factor *= 1.0 - LENGTH_LOSS * multiples
        words = f"{number_text(length)} ft sideways, {number_text(most)} ft is usual: times"
        steps.append(Step(words, factor, "", usual.clause))
    return factor, tuple(steps)


def _words(made_of: Wall) -> str:
    return made_of.replace("-", " ")
