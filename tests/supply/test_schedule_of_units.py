"""The fixture units of the schedule add up to the load the supply is sized by."""

from __future__ import annotations

from ifclint.job import job_of
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


SINK = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 10 0 0
pipe 0.5 C1  10 0 0 > 20 0 0
pipe 0.5 C2  10 0 0 > 20 1 0
pipe 0.75 P2  10 0 0 > 10 5 0
water-heater WH  cold 10 5 0 > hot 11 5 0
pipe 0.5 H system=hot_water  11 5 0 > 20 2 0
kitchen-sink K  cold 20 0 0 > cold 20 1 0 > hot 20 2 0
"""


def test_each_branch_of_a_fixture_is_given_its_part_of_what_the_code_lists_for_hot_and_cold() -> (
    None
):
    def given(**amended: float) -> dict[str, float | None]:
        row = {"fixture": "kitchen-sink", "occupancy": "private"}
        cells = {"table": "water_supply_fixture_units", "row": row, "reason": "Ordinance 3"}
        amendments = [{**cells, "column": key, "value": value} for key, value in amended.items()]
        context = context_of(SINK, "ipc-2021", job_of({"amendments": amendments}))
        made = demand(context)
        return {s.key: made.wsfu[s.number] for s in context.plumbing.supply.segments}

    by_table = given()
    assert (by_table["C1"], by_table["C2"], by_table["H"]) == (0.5, 0.5, 1.0)
    amended = given(wsfu_cold=1.2, wsfu_hot=0.8)
    assert (amended["C1"], amended["C2"], amended["H"]) == (0.6, 0.6, 0.8)
