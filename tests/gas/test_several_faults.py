"""Several faults of one subject are as many findings, each with the caution."""

from __future__ import annotations

from typing import Any

import pytest

from ifclint.engineering.units import PA_PER_IN_WC, PA_PER_PSI
from ifclint.findings import Answer, Outcome
from ifclint.judge import answers
from ifclint.packs import make_pack
from ifclint.plumbing.subjects import finders
from ifclint.rules import gas
from ifclint.rules.gas.capacity import GasService, Law, Sizing
from ifclint.rules.gas.caution import CAUTION
from ifclint.rules.gas.sizing import plan
from tests.gas.small import context_of, watts
from tests.gas.test_properties import CODE, NATURAL, line

RULES = {rule.name: rule for rule in make_pack("gas", gas).rules}
BRANCH = """
system=fuel_gas material=steel
storey Ground 0
slab S 5 -20 -0.5 > 90 20 0
gas-meter 1 M  in 0 0 2 > out 0.4 0 2
pipe 1 P0  0.4 0 2 > 10 0 2
tee 1 T  10 0 2 > 10.4 0 2 > 10.2 0 2.2
gas-regulator 1 RA  10.4 0 2 > 10.8 0 2
pipe 1 PA  10.8 0 2 > 20 0 2
range A input_rating_w=10000  gas 20 0 2
pipe 1 PB0  10.2 0 2.2 > 10.2 0 4
gas-regulator 1 RB  10.2 0 4 > 10.2 0 4.4
pipe 1 PB  10.2 0 4.4 > 10.2 0 9
range B input_rating_w=10000  gas 10.2 0 9
"""
LINE = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 2 > out 0.4 0 2
pipe 1 P1  0.4 0 2 > 10 0 2
coupling 1 C1  10 0 2 > 10.2 0 2
pipe 1 P2  10.2 0 2 > 20 0 2
gas-shutoff 1 V  20 0 2 > 20.2 0 2
pipe 1 P3  20.2 0 2 > 21 0 2
furnace F input_rating_w=10000  gas 21 0 2
"""


def faults(rule: str, text: str, **job: Any) -> list[Answer]:
    """All that a rule finds wrong in a network."""
    asked = answers(RULES[rule], context_of(text, "upc-2021", **job), finders())
    passed = (Outcome.PASS, Outcome.NOT_APPLICABLE)
    return [a for _, given in asked for a in given if a.outcome not in passed]


def regulators(*pressures: str) -> list[dict[str, str]]:
    return [
        {"element": guid, "outlet_pressure": pressure, "allowed_drop": "0.5 inH2O"}
        for guid, pressure in zip(("RA", "RB"), pressures, strict=True)
    ]


def changed(*changes: tuple[str, str], text: str = LINE) -> str:
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def test_two_bad_regulators_are_two_findings() -> None:
    said = faults(
        "gas-building-pressure", BRANCH,
        delivery_pressure="10 psi", regulators=regulators("6 psi", "7 psi"),
    )  # fmt: skip
    assert {a.about: round(a.measured.value, 3) for a in said if a.measured} == {
        "": 10, "RA": 6, "RB": 7,
    }  # fmt: skip
    assert {a.elements for a in said} == {("P0", "PB0"), ("PA",), ("PB",)}


def test_a_regulator_whose_setting_is_not_known_does_not_hide_a_bad_one() -> None:
    only_one = regulators("6 psi", "7 psi")[:1]
    said = faults("gas-building-pressure", BRANCH, delivery_pressure="10 psi", regulators=only_one)
    assert {a.about: a.outcome for a in said} == {
        "": Outcome.VIOLATION, "RA": Outcome.VIOLATION, "RB": Outcome.UNVERIFIED,
    }  # fmt: skip


def test_two_regulators_without_vents_are_two_findings() -> None:
    text = BRANCH + "gas-regulator 1 RC called=Ventless_regulator  20 9 2 > 20.4 9 2\n"
    assert len(faults("gas-regulator-vent", BRANCH)) == 2
    assert {a.outcome for a in faults("gas-regulator-vent", BRANCH)} == {Outcome.UNVERIFIED}
    assert {a.outcome for a in faults("gas-regulator-vent", text)} == {Outcome.UNVERIFIED}


@pytest.mark.parametrize(
    ("rule", "text", "about"),
    [
        (
            "gas-material",
            changed(
                ("coupling 1 C1", "coupling 1 C1 material=PVC"), ("V  20", "V material=abs 20"),
            ),
            {"C1", "V"},
        ),
        (
            "gas-material",
            changed(
                ("coupling 1 C1", "coupling 1 C1 material=PVC"),
                ("pipe 1 P1", "pipe 1 P1 material=PEX"), ("pipe 1 P2", "pipe 1 P2 material=PEX"),
            ),
            {"C1", ""},
        ),
        (
            "gas-concealed-joint",
            changed(("C1  10", "C1 called=Union 10")) + "wall W 9 -9 0 > 30 9 9\n",
            {"C1", "V"},
        ),
        (
            "gas-shutoff",
            changed(
                ("V  20", "V space=Hall 20"), ("furnace F", "furnace F space=Attic"),
                ("> 21 0 2", "> 30 0 2"), ("gas 21", "gas 30"),
            ),
            {"", "V"},
        ),
        ("gas-shutoff", changed(("gas-shutoff 1 V", "valve 1 V"), ("coupling 1 C1", "valve 1 C1")),
         {"C1", "V"}),
        (
            "gas-sediment-trap",
            changed(
                ("coupling 1 C1  10 0 2 > 10.2 0 2", "tee 1 C1  10 0 2 > 10.2 0 2 > 10.1 0 1.8\n"
                 "pipe 1 N  10.1 0 1.8 > 10.1 0 1.7\ncap 1 C  10.1 0 1.7"),
            ),
            {"", "C1"},
        ),
        (
            "gas-outlet-closed",
            changed(
                ("coupling 1 C1  10 0 2 > 10.2 0 2", "tee 1 C1  10 0 2 > 10.2 0 2 > 10.1 0 1.8"),
                ("gas-shutoff 1 V  20 0 2 > 20.2 0 2", "tee 1 V 20 0 2 > 20.2 0 2 > 20.1 0 1"),
            ),
            {"C1", "V"},
        ),
        (
            "gas-piping-whole",
            LINE + "pipe 1 L1 50 0 0 > 60 0 0\ncoupling 1 LC 60 0 0 > 60.2 0 0\n"
            "pipe 1 L2 60.2 0 0 > 70 0 0\npipe 1 L3 50 9 0 > 60 9 0\n",
            {"L1", "L3"},
        ),
    ],
)  # fmt: skip
def test_each_fault_is_found(rule: str, text: str, about: set[str]) -> None:
    said = faults(rule, text)
    assert {a.about for a in said} == about
    assert len(said) == len(about)
    assert all(a.caution == CAUTION for a in said)


def test_every_wall_passed_below_the_ground_is_told() -> None:
    walls = """
storey Ground 0
wall W 5 -5 0 > 6 5 9
wall X 15 -5 0 > 16 5 9
slab S 5 -9 0 > 40 9 0.1
wall Y 7 -5 0 > 8 5 9
terrain G -20 -20 2.9 > 60 20 3
"""
    said = faults("gas-through-foundation", LINE + walls)
    assert sorted(a.about for a in said) == ["P1 W", "P1 Y"]


def test_each_question_of_the_job_file_has_its_answer() -> None:
    asked = [
        {"name": name, "element": "F", "input": f"{btu} Btu/hour"}
        for name, btu in (("larger", 900000), ("as large", 30000), ("largest", 2000000))
    ]
    said = faults("gas-what-if", LINE, what_if=asked)
    assert [a.about for a in said] == ["larger", "largest"]
    assert ["larger" in said[0].steps[0].text, "largest" in said[1].steps[0].text] == [True, True]


@pytest.mark.parametrize(
    ("rule", "text"),
    [
        ("gas-material", LINE.replace(" material=steel", "")),
        ("gas-support", LINE.replace("pipe 1", "pipe")),
        ("gas-sediment-trap", LINE.replace("furnace F", "appliance F")),
    ],
)
def test_a_missing_fact_carries_the_caution_and_the_elements(rule: str, text: str) -> None:
    said = faults(rule, text)
    assert said
    assert {a.outcome for a in said} == {Outcome.UNVERIFIED}
    assert all(a.caution == CAUTION and a.remedy for a in said)


@pytest.mark.parametrize(("share", "wrong"), [(1.02, 0), (1.0, 0), (0.98, 1)])
def test_the_allowed_drop_is_a_limit(share: float, wrong: int) -> None:
    """What the piping loses, and 2 % more or less than that, as the drop allowed."""
    text = line(1, 0.5, 60000)
    (lost,) = plan(context_of(text)).drop_pa.values()
    assert isinstance(lost, float)
    allowed = f"{lost / PA_PER_IN_WC * share} inH2O"
    said = faults("gas-pressure-drop", text, allowed_drop=allowed, sizing="equation")
    assert len(said) == wrong


@pytest.mark.parametrize(("psi", "law"), [(1.47, Law.LOW), (1.5, Law.HIGH), (1.53, Law.HIGH)])
def test_the_high_pressure_equation_holds_from_its_limit_on(psi: float, law: Law) -> None:
    service = GasService(NATURAL, psi * PA_PER_PSI, 0.5 * PA_PER_IN_WC)
    assert Sizing(CODE, service, "steel", True).law is law


@pytest.mark.parametrize(("share", "serves"), [(0.98, True), (1.0, True), (1.02, False)])
def test_a_size_serves_up_to_its_capacity(share: float, serves: bool) -> None:
    sizing = Sizing(CODE, GasService(NATURAL, 7 * PA_PER_IN_WC, 0.5 * PA_PER_IN_WC), "steel")
    allowed = sizing.capacity(0.5, 20 * 0.3048)
    assert allowed is not None
    assert allowed.value == 118
    assert sizing.serves(allowed, watts(118000 * share)) is serves
    assert sizing.smallest(watts(118000 * share), 20 * 0.3048) == (0.5 if serves else 0.75)


@pytest.mark.parametrize(("feet", "row"), [(19.6, 118), (20.0, 118), (20.02, 118), (20.4, 95)])
def test_a_length_takes_the_row_that_is_no_shorter(feet: float, row: float) -> None:
    sizing = Sizing(CODE, GasService(NATURAL, 7 * PA_PER_IN_WC, 0.5 * PA_PER_IN_WC), "steel")
    allowed = sizing.capacity(0.5, feet * 0.3048)
    assert allowed is not None
    assert allowed.value == row
    assert allowed.provenance.startswith("computed: the equation behind the table")
