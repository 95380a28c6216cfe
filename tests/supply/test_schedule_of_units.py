"""The fixture units of the schedule add up to the load the supply is sized by."""

from __future__ import annotations

from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.schedules import connection_schedule, fixture_schedule
from ifclint.testing import context_of

HOUSE = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 10 0 0
hose-bibb H1  cold 10 0 0
pipe 1 P2  10 0 0 > 20 0 0
hose-bibb H2  cold 20 0 0
lavatory L  cold 10 0 0
"""


def test_a_further_hose_bibb_counts_less_in_the_schedule_too() -> None:
    context = context_of(HOUSE)
    total = demand(context).wsfu[0]
    for schedule in (connection_schedule(context), fixture_schedule(context)):
        units = {str(row["element_id"]): row["wsfu"] for row in schedule.rows}
        assert units == {"H1": 2.5, "H2": 1.0, "L": 1.0}
        assert sum(units.values()) == total


BOXED = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 10 0 0
clothes-washer BOX called=Washing_machine_outlet_box at=10,0,3  cold 10 0 0
clothes-washer-appliance CW called=Clothes_washer at={x},0,1.5
"""


def test_a_washing_machine_takes_its_water_at_the_outlet_box_it_stands_by() -> None:
    def fixtures(x: float) -> list[str]:
        supply = context_of(BOXED.format(x=x)).plumbing.supply
        return [f.element.guid for f in supply.fixtures]

    assert fixtures(12.0) == ["BOX"]
    assert fixtures(30.0) == ["BOX", "CW"]
