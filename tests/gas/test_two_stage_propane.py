"""Propane by two regulators: each stage with a pressure, a drop and a length of its own."""

from __future__ import annotations

from typing import Any

import pytest

from ifclint import codes
from ifclint.engineering.units import J_PER_M3_PER_BTU_PER_FT3, M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.findings import Answer, Outcome
from ifclint.plumbing.gas.inputs import KBTUH, Gas, gas
from ifclint.rules.gas.capacity import GasService, Sizing
from ifclint.rules.gas.sizing import plan
from tests.gas.small import context_of, sized, watts

TANK = "fuel-tank TK called=Propane_tank  0 0 0\npipe 0.5 T1  0 0 0 > 2 0 0"
FIRST = "gas-regulator 0.5 R1 called=First_stage_regulator in 2 0 0 > out 2.3 0 0"
HOUSE = f"""
system=fuel_gas material=copper
{TANK}
{FIRST}
pipe 0.375 A1  2.3 0 0 > 102.3 0 0
gas-regulator 0.75 R2 in 102.3 0 0 > out 102.5 0 0
material=steel
pipe 0.75 B1  102.5 0 0 > 132.5 0 0
tee 0.75 T  132.5 0 0 > 132.7 0 0 > 132.6 0 -0.2
pipe 0.5 B2  132.7 0 0 > 142.7 0 0
range R input_rating_w={watts(65000)}  gas 142.7 0 0
pipe 0.5 B3  132.6 0 -0.2 > 132.6 20 -0.2
furnace F input_rating_w={watts(100000)}  gas 132.6 20 -0.2
"""
PROPANE = {
    "heating_value": "2500 Btu/ft**3",
    "specific_gravity": 1.5,
    "delivery_pressure": "10 psi",
    "allowed_drop": "1 psi",
    "regulators": [{"element": "R2", "outlet_pressure": "11 inH2O", "allowed_drop": "0.5 inH2O"}],
}
# 2018 IFGC Tables 402.4(25), (26) and (29) (web copy): material, drop psi, size, ft, kBtu/h
PUBLISHED = [
    ("steel", 1, 0.5, 10, 3320), ("steel", 1, 0.75, 50, 2910), ("steel", 1, 2, 20, 53300),
    ("steel", 1, 4, 80, 145000), ("steel", 3, 0.5, 50, 2460), ("steel", 3, 1, 10, 23200),
    ("copper-k", 1, 0.25, 10, 513), ("copper-k", 1, 0.375, 30, 584),
    ("copper-k", 1, 0.5, 40, 1020), ("copper-k", 1, 0.75, 20, 3670),
]  # fmt: skip


@pytest.mark.parametrize(("material", "drop_psi", "size_in", "ft", "kbtuh"), PUBLISHED)
def test_first_stage_by_equation_is_as_printed(
    material: str, drop_psi: float, size_in: float, ft: float, kbtuh: float
) -> None:
    gas = Gas("propane", 2500 * J_PER_M3_PER_BTU_PER_FT3, 1.5)
    service = GasService(gas, 10 * PA_PER_PSI, drop_psi * PA_PER_PSI)
    found = Sizing(codes.load("ipc-2021"), service, material).capacity(size_in, ft * M_PER_FT)
    assert found is not None
    in_kbtuh = found.value * gas.amount(1.0, KBTUH) / gas.amount(1.0, found.unit)
    assert in_kbtuh == pytest.approx(kbtuh, rel=0.008)


# First stage, 10 psi with a drop of 1 psi, as propane burner instructions print NFPA 58's table
# (Louisville Tin and Stove BFT101, page 8): size of steel pipe, ft, thousand Btu/h
FIRST_STAGE = [
    (0.5, 10, 3339), (0.5, 50, 1398), (0.5, 100, 961), (0.75, 10, 6982), (0.75, 100, 2009),
    (1, 30, 7259), (1, 100, 3785), (1.25, 60, 10244), (1.5, 80, 13136), (2, 20, 53556),
    (2, 100, 22422), (2, 300, 12375),
]  # fmt: skip


@pytest.mark.parametrize(("size_in", "ft", "kbtuh"), FIRST_STAGE)
def test_first_stage_is_near_the_table_of_the_propane_standard(
    size_in: float, ft: float, kbtuh: float
) -> None:
    gas = Gas("propane", 2500 * J_PER_M3_PER_BTU_PER_FT3, 1.5)
    service = GasService(gas, 10 * PA_PER_PSI, PA_PER_PSI)
    found = Sizing(codes.load("ipc-2021"), service, "steel").capacity(size_in, ft * M_PER_FT)
    assert found is not None
    in_kbtuh = found.value * gas.amount(1.0, KBTUH) / gas.amount(1.0, found.unit)
    assert in_kbtuh == pytest.approx(kbtuh, rel=0.012)


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_each_stage_is_sized_by_its_own_pressure_and_length(code: str) -> None:
    runs = sized(HOUSE, code, **PROPANE)
    assert {name: run.segment.zone.start.guid for name, run in runs.items()} == {
        "A1": "R1", "B1": "R2", "B2": "R2", "B3": "R2",
    }  # fmt: skip
    assert runs["A1"].length_m / M_PER_FT == pytest.approx(100, abs=0.5)
    assert runs["B3"].length_m / M_PER_FT == pytest.approx(50.2, abs=0.5)
    assert runs["A1"].capacity is not None
    assert runs["A1"].capacity.value * 2.5 == pytest.approx(305, abs=2)  # 402.4(29): 303 at 100 ft
    assert runs["B1"].capacity is not None
    assert runs["B1"].capacity.unit == KBTUH
    assert [runs[name].serves for name in ("A1", "B1", "B2", "B3")] == [True] * 4


def test_a_first_stage_too_small_for_the_house() -> None:
    runs = sized(HOUSE, "ipc-2021", **PROPANE)
    small = sized(HOUSE.replace("pipe 0.375 A1", "pipe 0.25 A1"), "ipc-2021", **PROPANE)
    assert runs["A1"].serves is True
    assert small["A1"].serves is False
    assert small["A1"].smallest == 0.375


def test_two_second_stages_are_two_zones() -> None:
    garage = """
tee 0.375 TG  52.3 0 0 > 52.5 0 0 > 52.4 0.2 0
pipe 0.375 A2 material=copper  52.5 0 0 > 102.3 0 0
pipe 0.375 G1 material=copper  52.4 0.2 0 > 52.4 20 0
gas-regulator 0.5 R3 in 52.4 20 0 > out 52.4 20.3 0
pipe 0.5 G2  52.4 20.3 0 > 52.4 30.3 0
"""
    text = HOUSE.replace("A1  2.3 0 0 > 102.3 0 0", "A1  2.3 0 0 > 52.3 0 0") + garage
    text += f"furnace H input_rating_w={watts(60000)}  gas 52.4 30.3 0\n"
    third = {"element": "R3", "outlet_pressure": "11 inH2O", "allowed_drop": "0.5 inH2O"}
    runs = sized(text, "ipc-2021", **{**PROPANE, "regulators": [*PROPANE["regulators"], third]})
    assert runs["G2"].segment.zone.start.guid == "R3"
    assert runs["G2"].length_m / M_PER_FT == pytest.approx(10, abs=0.5)
    assert runs["A1"].load * 2500 == pytest.approx(225000, rel=1e-4)
    assert runs["A2"].load * 2500 == pytest.approx(165000, rel=1e-4)


def test_without_any_regulator_it_begins_at_the_tank() -> None:
    two = HOUSE.replace(FIRST, "pipe 0.5 T2 2 0 0 > 2.3 0 0").replace(
        "gas-regulator 0.75 R2", "pipe 0.75 R2"
    )
    two = two.replace("in 102.3 0 0 > out", "102.3 0 0 >")
    runs = sized(two, "ipc-2021", **{**PROPANE, "regulators": []})
    assert {run.segment.zone.start.guid for run in runs.values()} == {"TK"}


AT_THE_HOUSE: dict[str, Any] = {
    "delivery_pressure": "11 inH2O", "allowed_drop": "0.5 inH2O", "kind": "propane",
    "heating_value": "2500 Btu/ft**3", "specific_gravity": 1.5,
}  # fmt: skip
TOLD = HOUSE.replace("First_stage_regulator", "First_stage downstream_pressure_pa=68948").replace(
    "gas-regulator 0.75 R2", "gas-regulator 0.75 R2 downstream_pressure_pa=2740"
)


def test_the_delivery_pressure_is_that_behind_the_stage_that_tells_as_much() -> None:
    first, second = plan(context_of(TOLD, **AT_THE_HOUSE)).services.values()
    assert isinstance(first, Answer)  # what may be lost there is not said
    assert "allowed drop" in first.message
    assert isinstance(second, GasService)
    assert second.pressure_pa == pytest.approx(11 * PA_PER_IN_WC, rel=0.001)
    assert second.drop_pa == pytest.approx(0.5 * PA_PER_IN_WC, rel=0.001)


def test_a_first_stage_that_tells_more_than_is_delivered_contradicts_it() -> None:
    alone = TOLD.replace(" downstream_pressure_pa=2740", "")
    for service in plan(context_of(alone, **AT_THE_HOUSE)).services.values():
        assert isinstance(service, Answer)
        assert service.outcome is Outcome.UNVERIFIED
    first, _ = plan(context_of(alone, **AT_THE_HOUSE)).services.values()
    assert isinstance(first, Answer)
    assert "the regulator 10 psi" in first.message


@pytest.mark.parametrize("code", ["ipc-2021", "upc-2021", "irc-2021"])
def test_propane_by_its_kind_has_the_heating_value_of_the_tables(code: str) -> None:
    stated = {**AT_THE_HOUSE, "heating_value": None, "specific_gravity": None}
    made = gas(context_of(TOLD, code, **stated))
    assert made is not None
    assert made.heating_value_j_per_m3 == pytest.approx(2488 * J_PER_M3_PER_BTU_PER_FT3)
    assert made.specific_gravity == 1.5
    assert made.basis != "job file"
    assert gas(context_of(TOLD, code, **{**stated, "kind": "natural"})) is None
