"""One cause is one correction: what findings ask for at one element is told once."""

from __future__ import annotations

from typing import Any

import pytest

from ifclint import codes
from ifclint.corrections import corrections
from ifclint.findings import Correction
from ifclint.job import job_of
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.testing import read_network

HEATERS = """
system=cold_water material=copper
water-meter 1 M  in 5 2 3 > out 5.4 2 3
pipe 1 C1  5.4 2 3 > 10 2 3
{shared} 1 CK  10 2 3 > 10.4 2 3
pipe 1 C2  10.4 2 3 > 14 2 3
tee 1 CT  14 2 3 > 14.4 2 3 > 14.2 2.2 3
{own} 1 CA  14.4 2 3 > 20 2 3
{own} 1 CB  14.2 2.2 3 > 14.2 8 3
water-heater A energy=electric storage_volume_m3=0.189  cold 20 2 3 > hot 21 2 3
water-heater B energy=electric storage_volume_m3=0.189  cold 14.2 8 3 > hot 15 8 3
system=hot_water
pipe 0.75 H1  21 2 3 > 30 2 3
pipe 0.75 H2  15 8 3 > 30 8 3
lavatory L1  hot 30 2 3
lavatory L2  hot 30 8 3
"""
GAS = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 2 > out 0.4 0 2
pipe 1 P1  0.4 0 2 > 20 0 2
tee 1 T  20 0 2 > 20.4 0 2 > 20.2 0 1.8
pipe 1 P2  20.2 0 1.8 > 20.2 0 1.2
{before_range}
range R input_rating_w=19049.6  gas 20.2 0 0.5
pipe 1 P4  20.4 0 2 > 31 0 2
furnace F input_rating_w=23445.7  gas 31 0 2
"""
STRAIGHT = "pipe 1 P3  20.2 0 1.2 > 20.2 0 0.5"
REGULATED = """gas-regulator 1 REG  20.2 0 1.2 > 20.2 0 1
pipe 1 P3  20.2 0 1 > 20.2 0 0.5"""
GAS_JOB = {
    "delivery_pressure": "2 psi", "allowed_drop": "1 psi", "heating_value": "1000 Btu/ft**3",
    "specific_gravity": 0.6,
}  # fmt: skip
RELIEVED = """
water-heater A storage_volume_m3=0.2 box=0,0,0,2,2,4  cold 0 0 5 > hot 2 0 5 > 1 1 4.8
water-heater B storage_volume_m3=0.2 box=9,0,0,11,2,4  cold 9 0 5 > hot 11 0 5 > 10 1 4.8
system=relief_discharge
relief 0.75 RA relief_pressure_pa=1034000  1 1 4.8 > 1.2 1 4.8
relief 0.75 RB relief_pressure_pa=1034000  10 1 4.8 > 9.8 1 4.8
pipe 0.75 DA  1.2 1 4.8 > 5 1 4.7
pipe 0.75 DB  9.8 1 4.8 > {meets} 1 4.7
{end}
"""
TEED = """tee 0.75 T  5 1 4.7 > 5.4 1 4.7 > 5.2 1 4.5
pipe 0.75 D  5.2 1 4.5 > 5.2 1 0.4"""
APART = """bend 0.75 EA  5 1 4.7 > 5.1 1 4.6
pipe 0.75 DA2  5.1 1 4.6 > 5.1 1 0.4
bend 0.75 EB  5.9 1 4.7 > 5.8 1 4.6
pipe 0.75 DB2  5.8 1 4.6 > 5.8 1 0.4"""
BURIED = """
system=fuel_gas material=polyethylene
gas-meter 1 M  in -30 0 -0.9 > out -29.6 0 -0.9
pipe 1 P1  -29.6 0 -0.9 > -20 0 -0.9
tee 1 T  -20 0 -0.9 > -19.6 0 {depth} > -19.8 0.2 {depth}
pipe 1 P2  -19.6 0 {depth} > -7 0 {depth}
pipe 1 P3  -19.8 0.2 {depth} > -19.8 9 {depth}
furnace F input_rating_w=23445.7  gas -7 0 {depth}
pool-heater H input_rating_w=23445.7  gas -19.8 9 {depth}
storey Ground 0
door D 5 3 0 > 5.5 6 7
wall W1 exterior=yes 5 -5 0 > 5.5 5 9
"""
FLUSHED = """
system=cold_water material=copper
water-meter 4 M  in 0 0 0 > out 1 0 0
pipe 4 P1  1 0 0 > 10 0 0
tee 4 T  10 0 0 > 10.4 0 0 > 10.2 0.2 0
pipe 4 P2  10.4 0 0 > 20 0 0
pipe 4 P3  20 0 0 > 20 0 {upper}
pipe 4 P4  10.2 0.2 0 > 10.2 9 0
water-closet W1 flush=flushometer  cold 20 0 {upper}
water-closet W2 flush=flushometer  cold 10.2 9 0
"""


def made_of(
    pack: str, rules: tuple[str, ...], text: str, job: dict[str, Any] | None = None
) -> tuple[Correction, ...]:
    """The corrections that some rules of a pack ask for."""
    (own,) = (p for p in load_packs().loaded if p.name == pack)
    sections = {} if own.section is None else {pack: own.section}
    net = read_network(text)
    context = Context(codes.load("upc-2021"), build(net), job_of(job or {}, sections))
    found = [f for f in judge([own], context).findings if f.rule in rules]
    return corrections(found, net, lambda model: found, {})


@pytest.mark.parametrize(
    ("shared", "own", "subjects"),
    [("check", "pipe", ["A and B"]), ("coupling", "check", ["A", "B"])],
)
def test_one_expansion_tank_serves_all_heaters_behind_what_closes_the_system(
    shared: str, own: str, subjects: list[str]
) -> None:
    text = HEATERS.format(shared=shared, own=own)
    made = made_of("heaters", ("heater-thermal-expansion",), text)
    assert sorted(c.subject for c in made) == subjects


@pytest.mark.parametrize(("before_range", "at"), [(STRAIGHT, [("M", 2)]), (REGULATED, [("F", 1)])])
def test_one_regulator_serves_all_appliances_that_are_given_too_much(
    before_range: str, at: list[tuple[str, int]]
) -> None:
    job = {"gas": {**GAS_JOB, "regulators": [{"element": "REG", "outlet_pressure": "7 inH2O"}]}}
    if before_range == STRAIGHT:
        job = {"gas": GAS_JOB}
    made = made_of("gas", ("gas-line-regulator",), GAS.format(before_range=before_range), job)
    told = [(c.changes[0].element_ids[0], len(c.finding_ids)) for c in made]
    assert told == at


@pytest.mark.parametrize(("upper", "raised"), [(0, "5 psi"), (10, "9.33 psi")])
def test_too_little_pressure_in_the_street_is_one_correction_as_the_worst_off_needs(
    upper: int, raised: str
) -> None:
    water = {
        "static_pressure": "10 psi", "residual_pressure": "10 psi", "flow_at_residual": "900 gpm",
        "meter_loss": "0 psi", "main_elevation": "0 ft",
    }  # fmt: skip
    text = FLUSHED.format(upper=upper)
    (made,) = made_of("supply", ("pressure-at-fixture",), text, {"water": water})
    assert len(made.finding_ids) == 2
    assert made.changes[0].element_ids == ("M",)
    assert f"by {raised}, " in made.title


@pytest.mark.parametrize(("meets", "end", "subjects"), [(5.4, TEED, [("T", 2)]), (5.9, APART, [])])
def test_relief_lines_that_meet_in_one_tee_are_one_correction(
    meets: float, end: str, subjects: list[tuple[str, int]]
) -> None:
    made = made_of("heaters", ("relief-line-clear",), RELIEVED.format(meets=meets, end=end))
    assert [(c.changes[0].element_ids[0], len(c.finding_ids)) for c in made] == subjects


@pytest.mark.parametrize(("depth", "findings"), [(-0.9, 3), (-3, 1)])
def test_pipe_too_shallow_all_along_a_line_is_one_correction(depth: float, findings: int) -> None:
    job = {"building": {"grade_elevation": "0 ft"}}
    (made,) = made_of("gas", ("gas-burial",), BURIED.format(depth=depth), job)
    assert len(made.finding_ids) == findings


@pytest.mark.parametrize(("length", "lacking"), [(97, 1), (102, 2)])
def test_a_long_drain_that_begins_in_the_open_wants_a_cleanout_there_and_one_farther_on(
    length: float, lacking: int
) -> None:
    text = (
        f"system=sanitary_drainage\npipe 4 L  0 0 0 > {length} 0 {-length / 48}\n"
        f"bend 4 Q  {length} 0 {-length / 48} > {length + 0.5} 0.5 {-length / 48 - 0.01}\n"
        f"pipe 4 M  {length + 0.5} 0.5 {-length / 48 - 0.01} > {length + 0.5} 1.5 -3\n"
        f"sewer-connection S  {length + 0.5} 1.5 -3\n"
        "cleanout 4 CO  0 90 0\npipe 4 O  0 90 0 > 0 92 0\nlavatory F  0 95 0\n"
    )
    made = made_of("cleanouts", ("cleanout-interval", "upper-end-cleanout"), text)
    assert len(made) == lacking
