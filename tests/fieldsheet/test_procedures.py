"""What each adopted code asks of a test: pressures, heads, times; air kept from plastic."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ifclint import codes
from ifclint.engineering.units import M3_PER_FT3, M_PER_FT
from ifclint.fieldsheet.pressure import GAS, WATER
from ifclint.fieldsheet.procedures import gas_minutes, head_m, procedures, rows
from ifclint.fieldsheet.sheet import PipingSection, Procedure, Stage
from ifclint.job import Job

DRAIN = PipingSection(
    Stage.ROUGH_IN, ("Level 1",), "drains", 0.0, 1.0, (), (), "the roof", 4.048, 3.048, 0.1, 0.1,
    3, ("cast iron",), 0, 0,
)  # fmt: skip


def _tests(section: PipingSection, edition: str, job: Job | None = None) -> list[Procedure]:
    return procedures([section], codes.load(edition), job or Job())


@pytest.mark.parametrize(
    ("edition", "head_ft"), [("upc-2021", 10), ("ipc-2021", 10), ("irc-2021", 5), ("upc-2024", 10)]
)
def test_head_of_water(edition: str, head_ft: float) -> None:
    assert head_m(codes.load(edition)) == pytest.approx(head_ft * M_PER_FT)


@pytest.mark.parametrize(
    ("edition", "clause"),
    [("upc-2021", "712.2"), ("ipc-2021", "312.2"), ("irc-2021", "P2503.5.1")],
)
def test_every_test_has_its_clause_and_source(edition: str, clause: str) -> None:
    made = _tests(DRAIN, edition)
    assert made[0].clause.endswith(clause)
    assert all(test.clause and test.source for test in made)


@pytest.mark.parametrize(
    ("material", "refused"),
    [("pvc", True), ("abs", True), ("cast iron", False), ("copper", False), ("steel", False)],
)
def test_plastic_is_not_tested_with_air(material: str, refused: bool) -> None:
    for edition in ("upc-2021", "ipc-2021", "irc-2021"):
        made = _tests(replace(DRAIN, materials=(material, "cast iron")), edition)
        (air,) = (t for t in made if t.what == "Air instead")
        assert air.do.startswith("Not here") is refused
        assert "5 psi held for 15 min" in air.do


def test_less_head_than_asked_is_said() -> None:
    told = "asked but for the uppermost part"
    assert told not in _tests(DRAIN, "upc-2021")[0].do
    assert told in _tests(replace(DRAIN, fill_to_m=4.04), "upc-2021")[0].do


def test_a_section_whose_top_runs_over_has_no_head_above_it() -> None:
    over = replace(DRAIN, fill_to_m=DRAIN.high_m, fill_from="the highest vent, to overflowing")
    do = _tests(over, "upc-2021")[0].do
    assert do.startswith("Fill from the highest vent, to overflowing (10 ft 0 in asked")
    assert "above the highest pipe" not in do


# 14 in of water column parts the two tests of the UPC: below it, at it, and beyond.
@pytest.mark.parametrize(
    ("edition", "in_wc", "said"),
    [
        ("upc-2021", 7, "At least 10 psi for 15 min"),
        ("upc-2021", 14, "At least 10 psi for 15 min"),
        ("upc-2021", 13.99, "At least 10 psi for 15 min"),
        ("upc-2021", 14.01, "At least 60 psi for 30 min"),
        ("ipc-2021", 7, "At least 3 psi for 10 min"),
        ("irc-2021", 7, "At least 3 psi for 10 min"),
        ("irc-2021", 27.67 * 2, "At least 3 psi for 10 min"),  # 1.5 times 2 psi
        ("irc-2021", 27.68 * 5, "At least 7.5 psi for 10 min"),
    ],
)
def test_gas(edition: str, in_wc: float, said: str) -> None:
    job = Job.model_validate({"gas": {"delivery_pressure": f"{in_wc} inH2O"}})
    section = replace(DRAIN, name=GAS, fill_to_m=None, contents_m3=M3_PER_FT3)
    (test,) = _tests(section, edition, job)
    assert test.do.startswith(said)


def test_gas_of_no_told_pressure_has_every_test() -> None:
    section = replace(DRAIN, name=GAS, fill_to_m=None)
    assert [t.do[:24] for t in _tests(section, "upc-2021")] == [
        "At least 10 psi for 15 m",
        "Working pressure above 1",
    ]
    (test,) = _tests(section, "ipc-2021")
    assert "not given: job file, gas.delivery_pressure" in test.do


@pytest.mark.parametrize(
    ("volume_ft3", "minutes"),
    [(9.99, 10), (10.0, 10), (10.01, 30), (499, 30), (500, 30), (501, 60), (1001, 90)],
)
def test_how_long_gas_is_held(volume_ft3: float, minutes: float) -> None:
    (row,) = rows(codes.load("ipc-2021"), "gas")
    assert gas_minutes(row, volume_ft3 * M3_PER_FT3) == minutes
    (of_houses,) = rows(codes.load("irc-2021"), "gas")
    assert gas_minutes(of_houses, volume_ft3 * M3_PER_FT3) == 10


def test_water_is_tested_at_the_pressure_of_the_main() -> None:
    section = replace(DRAIN, name=WATER, fill_to_m=None, materials=("pex",))
    job = Job.model_validate({"water": {"static_pressure": "92 psi"}})
    water, air = _tests(section, "upc-2021", job)
    assert "92 psi" in water.do
    assert air.do.startswith("Not here: the section holds plastic (pex)")
    assert "not given: job file, water.static_pressure" in _tests(section, "upc-2021")[0].do


def test_an_edition_without_the_table_says_so() -> None:
    code = codes.load("upc-2021")
    bare = replace(code)
    bare.__dict__["tables"] = tuple(key for key in code.tables if key != "pressure_tests")
    assert head_m(bare) == 0.0
    (test,) = procedures([DRAIN], bare, Job())
    assert "brings no table of tests" in test.do
