"""The supply as it would be if the fixtures that leave a fact unstated were read the other way.

Where the code lists a kind by how it flushes and the model says nothing, one row is taken. What is
wrong by that row, and would not be by the next lighter one, is a question.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace

from ifclint.checks import unverified
from ifclint.codes.fixture_units import facts_of_condition
from ifclint.findings import Answer, Measure, Step
from ifclint.ifc.elements import Properties
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.rules.supply.units import rows_that_may_hold, units_of

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
    supply, fixtures = context.plumbing.supply, dict[WaterFixture, WaterFixture]()
    open_ones = {}
    for fixture in supply.fixtures:
        facts = _lighter(fixture, context)
        if facts:
            units = units_of(fixture, context)
            open_ones[fixture] = "; ".join(units.basis) if units is not None else ""
        stated = Properties({**fixture.element.properties, **facts})
        element = replace(fixture.element, properties=stated) if facts else fixture.element
        fixtures[fixture] = replace(fixture, element=element)
    if not open_ones:
        return None
    plumbing, read = copy(context.plumbing), copy(supply)
    read.fixtures, plumbing.supply = list(fixtures.values()), read
    return OtherReading(replace(context, plumbing=plumbing), fixtures, open_ones)


def _lighter(fixture: WaterFixture, context: Context) -> dict[str, str]:
    """The facts by which the next lighter row would hold; none where none would."""
    units = units_of(fixture, context)
    if units is None or not units.basis:
        return {}
    for row in rows_that_may_hold(fixture, context):
        if row.number("wsfu") < units.total:
            return facts_of_condition(row.text("condition"))
    return {}
