"""The supply as it would be if the fixtures that leave a fact unstated were read the other way.

Where the code lists a kind by how it flushes and the model says nothing, one row is taken. What is
wrong by that row, and would not be by the next lighter one, is a question. What takes water and is
not listed at all, on a branch of 1/2 in, is counted as nothing: what is wrong so is wrong, and what
is right also where it takes as much as the heaviest that the code lists on such a branch is right.
"""

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, replace

from ifclint.checks import unverified
from ifclint.codes import Row
from ifclint.codes.fixture_units import facts_of_condition, holds
from ifclint.findings import Answer, Measure, Step
from ifclint.ifc.elements import Properties
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.rules.supply.units import IN_A_ROW, demand_known, rows_that_may_hold, units_of

SMALL_IN = 0.5  # a branch that no flushometer valve is set on
STATE_FLUSH = "State how the fixture flushes (FlushType, or in words: flush tank, flushometer)."


@dataclass(frozen=True)
class OtherReading:
    """The building read the other way: `of` holds each fixture as it is there, `open_ones` those
    that leave a fact unstated, with what was taken for it."""

    context: Context
    of: dict[WaterFixture, WaterFixture]
    open_ones: dict[WaterFixture, str]

    def asked(
        self, wrong: str, other: str, elements: tuple[str, ...], about: str = "",
        measured: Measure | None = None, required: Measure | None = None,
        steps: tuple[Step, ...] = (),
    ) -> Answer:  # fmt: skip
        """The question left by what is wrong as taken: what is said of it, and what the other
        reading makes of it."""
        taken = "; ".join(dict.fromkeys(self.open_ones.values()))
        open_ids = (f.element.guid for f in self.open_ones)
        return unverified(
            f"{wrong} This rests on an assumption ({taken}); {other}", STATE_FLUSH,
            tuple(dict.fromkeys((*elements, *open_ids))), cause="flush_type", about=about,
            measured=measured, required=required, steps=steps,
        )  # fmt: skip


@derived
def other_reading(context: Context) -> OtherReading | None:
    """The building with every fixture that leaves its row open read by the next lighter row; None
    where none is open."""
    lighter = {
        f: facts for f in context.plumbing.supply.fixtures if (facts := _lighter(f, context))
    }
    if not lighter:
        return None
    open_ones = {}
    for fixture in lighter:
        units = units_of(fixture, context)
        open_ones[fixture] = "; ".join(units.basis) if units is not None else ""
    read, of = _read_as(context, {f: (f.kind, facts) for f, facts in lighter.items()})
    return OtherReading(read, of, open_ones)


@derived
def heaviest_reading(context: Context) -> Context | None:
    """The building with every small taker that is not listed read as the heaviest that is; None
    where there is none."""
    row = heaviest_small(context)
    units = ((f, units_of(f, context)) for f in context.plumbing.supply.fixtures)
    unlisted = [f for f, found in units if found is None and is_small_unlisted(f, context)]
    if row is None or not unlisted:
        return None
    facts = facts_of_condition(row.text("condition"))
    return _read_as(context, dict.fromkeys(unlisted, (row.text("fixture"), facts)))[0]


def is_small_unlisted(fixture: WaterFixture, context: Context) -> bool:
    """Whether a fixture of which no table tells what it takes is fed by small branches alone."""
    sizes = [tap.segment.size_in for tap in fixture.fed if tap.segment is not None]
    if not sizes or any(size is None or size > SMALL_IN for size in sizes):
        return False
    return units_of(fixture, context) is None and not demand_known(fixture, context)


def heaviest_small(context: Context) -> Row | None:
    """The row of most fixture units for a branch of that size, which rows that tell none have, in
    any occupancy; of kinds of which each counts the same."""
    small = (
        row
        for row in context.code.table("water_supply_fixture_units").rows
        if (row.number_or_none("branch_in") or SMALL_IN) <= SMALL_IN
        and row.text("fixture") not in (*IN_A_ROW, "hose-bibb")
        and holds(condition := row.text("condition"), facts_of_condition(condition))
    )
    return max(small, key=lambda row: row.number("wsfu"), default=None)


def _read_as(
    context: Context, read_as: Mapping[WaterFixture, tuple[str, Mapping[str, str]]]
) -> tuple[Context, dict[WaterFixture, WaterFixture]]:
    """The building with some fixtures of another kind or with more facts, and each of its fixtures
    as it is there."""
    supply, fixtures = context.plumbing.supply, dict[WaterFixture, WaterFixture]()
    for fixture in supply.fixtures:
        kind, facts = read_as.get(fixture, ("", {}))
        stated = Properties({**fixture.element.properties, **facts})
        element = replace(fixture.element, kind=kind, properties=stated)
        fixtures[fixture] = replace(fixture, element=element if kind else fixture.element)
    plumbing, read = copy(context.plumbing), copy(supply)
    read.fixtures, plumbing.supply = list(fixtures.values()), read
    return replace(context, plumbing=plumbing), fixtures


def _lighter(fixture: WaterFixture, context: Context) -> dict[str, str]:
    """The facts by which the next lighter row would hold; none where none would."""
    units = units_of(fixture, context)
    if units is None or not units.basis:
        return {}
    for row in rows_that_may_hold(fixture, context):
        if row.number("wsfu") < units.total:
            return facts_of_condition(row.text("condition"))
    return {}
