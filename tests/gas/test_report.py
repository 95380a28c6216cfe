"""What the report says of gas: the caution with every finding, the schedules, the drawing."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import codes, ifc, job, network
from ifclint.findings import Review
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.review import review
from ifclint.rules.gas.caution import CAUTION
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[2] / "models"
HOUSE = MODELS / "dwelling_corrected.ifc"


@pytest.fixture(scope="module")
def early() -> Review:
    return reviewed_demo("dwelling_early")[0]


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Review:
    """The corrected house, with a tankless heater of 199,000 Btu/h asked about for WH-1."""
    heater = next(e.guid for e in ifc.read([HOUSE]).elements if e.tag == "wh1")
    path = tmp_path_factory.mktemp("job") / "job.toml"
    text = (MODELS / "dwelling_corrected.toml").read_text(encoding="utf-8")
    question = f'name = "tankless"\nelement = "{heater}"\ninput = "199000 Btu/hour"\n'
    path.write_text(f"{text}\n[[gas.what_if]]\n{question}", encoding="utf-8")
    return review([HOUSE], path)


def test_every_gas_finding_carries_the_caution(early: Review) -> None:
    found = [f for f in early.findings if f.pack == "gas"]
    assert len(found) >= 4
    assert all(f.caution == CAUTION for f in found)


def test_the_schedules_hold_every_appliance_and_pipe(early: Review) -> None:
    by_key = {s.key: s for s in early.schedules}
    appliances = {row["appliance"]: row for row in by_key["gas-appliances"].rows}
    assert sum(row["input_btu_h"] for row in appliances.values()) == 247000
    assert len(by_key["gas-pipes"].rows) == 9
    small = [r for r in by_key["gas-pipes"].rows if r["spare"] < 0]
    assert {round(r["load"]) for r in small} == {247, 167}
    assert all(r["needed_in"] == 1.0 for r in small)


def test_the_question_is_answered_with_pipes_and_vent(asked: Review) -> None:
    said = {f.rule: f for f in asked.findings if f.rule in ("gas-what-if", "common-vent-what-if")}
    assert "needs 1 in" in said["gas-what-if"].steps[0].text
    vent = said["common-vent-what-if"]
    assert vent.measured is not None
    assert vent.measured.value == pytest.approx(239, abs=0.1)
    rows = next(s for s in asked.schedules if s.key == "gas-what-if").rows
    assert [r["serves"] for r in rows] == ["yes", "yes", "yes", "no"]


def test_the_drawing_leads_from_the_meter_to_every_appliance() -> None:
    from ifclint.rules.gas.drawing import gas_riser

    the_job, _ = job.load(MODELS / "dwelling_corrected.toml")
    plumbing = build(network.connect(ifc.read([HOUSE])))
    riser = gas_riser(Context(codes.load("upc-2021"), plumbing, the_job))
    assert {line.service for line in riser.lines} == {"gas"}
    assert any("247 ft³/h, 336 spare" in line.label for line in riser.lines)
    assert sum(mark.kind == "appliance" for mark in riser.marks) == 5
    starts = {line.points[0] for line in riser.lines[1:]}
    ends = {p for line in riser.lines for p in line.points}
    assert all(any(_near(start, p) for p in ends) for start in starts)


def _near(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return sum((x - y) ** 2 for x, y in zip(a, b, strict=True)) < 1e-6
