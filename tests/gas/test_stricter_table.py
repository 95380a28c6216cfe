"""Where no table is printed for what the job allows, and what corrugated tube loses.

Outside checks: the printed table of corrugated tube for 3 in wc (IFGC 402.4(17)) tells nothing to
the exponent taken from the one for 0.5 in wc (402.4(15)), and must agree with it.
"""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.engineering.units import PA_PER_IN_WC, PA_PER_PSI
from ifclint.findings import Answer
from ifclint.plumbing.gas.inputs import Gas
from ifclint.rules.gas.capacity import GasService, Sizing, tube_law
from ifclint.rules.gas.pipes import gas_pipe_size
from ifclint.rules.gas.schedules import run_schedule
from ifclint.testing import ask
from tests.gas.small import context_of, plan, watts

RUN = """
system=fuel_gas material=steel
gas-meter 0.75 M  in 0 0 2 > out 0.4 0 2
pipe 0.75 P1  0.4 0 2 > 60 0 2
furnace F input_rating_w={watts}  gas 60 0 2
"""
LENGTH_M = 18.288  # 60 ft


def _sizing(
    material: str, drop_in_wc: float, psi: float = 0.25, btu_per_ft3: float = 1000
) -> Sizing:
    gas = Gas("natural", btu_per_ft3 * 37258.9, 0.6)
    service = GasService(gas, psi * PA_PER_PSI, drop_in_wc * PA_PER_IN_WC)
    return Sizing(codes.load("ipc-2021"), service, material)


@pytest.mark.parametrize(("drop", "by"), [(0.5, "402.4"), (0.7, "equation")])
def test_a_drop_between_two_tables_is_judged_by_equation(drop: float, by: str) -> None:
    """3/4 in steel over 60 ft: 137 cfh by the table for 0.5 in wc, 166 by equation at 0.7."""
    found = _sizing("steel", drop).capacity(0.75, LENGTH_M)
    assert found is not None
    assert found.value == pytest.approx(137 if drop == 0.5 else 137 * 1.4**0.541, rel=0.01)
    assert by in " ".join(step.source for step in found.steps)
    named = [step for step in found.steps if step.text.startswith("No table is printed")]
    assert [step.value for step in named] == ([] if drop == 0.5 else [0.5])


@pytest.mark.parametrize(
    ("btu_per_h", "drop", "wrong"),
    [
        (137_000, "0.5 inH2O", False), (150_000, "0.5 inH2O", True),
        (150_000, "0.7 inH2O", False), (163_000, "0.7 inH2O", False), (169_000, "0.7 inH2O", True),
    ],
)  # fmt: skip
def test_no_violation_by_a_stricter_table(btu_per_h: float, drop: str, wrong: bool) -> None:
    text = RUN.replace("{watts}", str(watts(btu_per_h)))
    context = context_of(text, allowed_drop=drop)
    answer = ask(gas_pipe_size, text, "ipc-2021", context.job)["P1"]
    assert (answer.outcome.value == "violation") is wrong


@pytest.mark.parametrize("ehd", [13, 15, 18, 19, 23, 25, 30, 31, 37])
def test_exponent_of_tube_against_another_table(ehd: int) -> None:
    """Six times the drop: the table for 3 in wc within 6 % of what the one for 0.5 implies."""
    code = codes.load("ipc-2021")
    implied = _sizing("csst", 2.9999)
    for row in code.table("gas_csst_drop_3_in_wc").rows:
        printed, feet = row.number_or_none(f"cfh_{ehd}_ehd"), row.number("length_ft")
        found = implied.capacity(ehd, feet * 0.3048)
        if printed is not None and found is not None and 10 <= feet <= 60:
            assert found.value == pytest.approx(printed, rel=0.06), feet


@pytest.mark.parametrize("btu_per_ft3", [1000, 850])  # the table counts cubic feet
@pytest.mark.parametrize("ehd", [18, 23, 31, 46])
def test_tube_loses_its_tables_drop_at_its_tables_load(ehd: int, btu_per_ft3: float) -> None:
    sizing = _sizing("csst", 0.5, btu_per_ft3=btu_per_ft3)
    for row in codes.load("ipc-2021").table("gas_csst_drop_0_5_in_wc").rows:
        load = row.number(f"cfh_{ehd}_ehd") * btu_per_ft3
        drop = sizing.drop_pa(ehd, row.number("length_ft") * 0.3048, watts(load), 1.0)
        assert drop is not None
        near = (
            0.11 if row.number("length_ft") == 150 else 0.08
        )  # printed below its neighbours' line
        assert drop / PA_PER_IN_WC == pytest.approx(0.5, rel=near), row.number("length_ft")


def test_tube_law_of_a_power() -> None:
    lengths = (5.0, 10.0, 50.0, 200.0)
    law = tube_law(lengths, tuple(120.0 * x**-0.53 for x in lengths))
    assert (law.at_one_foot, law.exponent) == pytest.approx((120.0, 0.53))


def test_tube_of_unknown_designation_stays_unverified() -> None:
    text = RUN.replace("{watts}", "20000").replace("steel", "csst")
    assert isinstance(next(iter(plan(context_of(text)).drop_pa.values())), Answer)


def test_schedule_tells_a_flow_designation_as_such() -> None:
    text = RUN.replace("{watts}", str(watts(50_000))).replace(
        "material=steel", "material=csst ehd=13"
    )
    tube, steel = (
        run_schedule(context_of(text)),
        run_schedule(context_of(RUN.replace("{watts}", "9000"))),
    )
    assert tube.rows[0]["needed_in"] is None
    assert tube.rows[0]["needed_ehd"] == 23.0  # 60 ft: EHD 19 carries 38 cfh, 23 carries 68
    assert "needed_ehd" in [column.key for column in tube.columns]
    assert "needed_ehd" not in [column.key for column in steel.columns]
    assert steel.rows[0]["needed_in"] == 0.5
