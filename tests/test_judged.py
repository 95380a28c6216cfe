"""A pass is earned: what was judged of fixtures, appliances and pipes, and what forbids a pass."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from ifclint import codes
from ifclint.errors import InputError
from ifclint.findings import Judged, Review, Settles, Verdict
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.judged import judged, unearned
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.report import summary
from ifclint.report.as_json import to_dict
from ifclint.review import review
from ifclint.testing import read_network
from tests.reviewing import reviewed_demo

ROOT = Path(__file__).parent.parent
CORRECTED = ROOT / "models/dwelling_corrected.ifc"
HOSTILE = Path(os.environ.get("IFCLINT_HOSTILE_INPUTS", ROOT.parent / "shared/hostile"))
TWO = """
lavatory L1  0 0 0.8
p-trap 1.25 T1  0 0 0.8 > 0.1 0 0.5
pipe 2 P1  0.1 0 0.5 > 3 0 0.44
sewer-connection S  3 0 0.44
lavatory L2  0 9 0.8
"""


def _lines(network: str) -> dict[tuple[str, Settles], Judged]:
    context = Context(codes.load("ipc-2021"), build(read_network(network)), Job())
    said = judge(load_packs().loaded, context).said
    return {(line.pack, line.question): line for line in judged(said, context.plumbing)}


def test_a_fixture_that_no_rule_could_follow_is_open() -> None:
    lines = _lines(TWO)
    drains = lines["drainage", Settles.DRAIN]
    assert (drains.asked, drains.judged, drains.open_ids) == (2, 1, ("L2",))
    vents = lines["venting", Settles.VENT]
    assert vents.asked == 2
    assert "L2" in vents.open_ids


def test_pipe_without_a_size_is_not_judged() -> None:
    known = _lines(TWO)["drainage", Settles.PIPE]
    assert (known.asked, known.judged) == (1, 1)
    unknown = _lines(TWO.replace("pipe 2 P1", "pipe P1"))["drainage", Settles.PIPE]
    assert (unknown.asked, unknown.judged, unknown.open_ids) == (1, 0, ("P1",))


@pytest.mark.parametrize(("settled", "earned"), [(90, True), (89, False)])
def test_nine_tenths_of_the_pipes(settled: int, earned: bool) -> None:
    line = Judged("drainage", Settles.PIPE, "pipes", 100, settled, ("P",))
    assert (unearned([line], {}) == "") is earned


def test_every_fixture_is_needed_and_one_that_is_open_is_named() -> None:
    line = Judged("venting", Settles.VENT, "fixtures", 100, 99, ("guid",))
    assert "the vent of 1 of 100 fixtures (Lavatory 7)" in unearned([line], {"guid": "Lavatory 7"})


def test_what_two_packs_left_open_of_the_same_fixtures_is_told_once() -> None:
    asked = [("drainage", Settles.DRAIN), ("drainage", Settles.TRAP), ("venting", Settles.TRAP)]
    lines = [Judged(pack, question, "fixtures", 2, 0, ("X",)) for pack, question in asked]
    assert "judged: the drain and trap of 2 of 2 fixtures (X). Add" in unearned(lines, {})


@pytest.fixture(scope="module")
def corrected() -> Review:
    return reviewed_demo("dwelling_corrected")[0]


def test_the_corrected_house_earns_its_pass_and_says_of_what(corrected: Review) -> None:
    assert corrected.verdict is Verdict.PASS
    by = {(line.pack, line.question): line for line in corrected.judged}
    assert by["drainage", Settles.DRAIN].judged == by["drainage", Settles.DRAIN].asked == 15
    assert by["supply", Settles.PRESSURE].judged == 16
    assert by["gas", Settles.LINE].judged == 5
    assert "drain of all 15 fixtures" in summary(corrected)
    written = to_dict(corrected)["judged"]
    assert {"pack": "gas", "question": "gas line", "of": "gas appliances"}.items() <= next(
        line for line in written if line["question"] == "gas line"
    ).items()


def test_without_the_street_pressure_no_pass_unless_supply_is_out_of_scope(tmp_path: Path) -> None:
    lines = CORRECTED.with_suffix(".toml").read_text(encoding="utf-8").splitlines()
    text = "\n".join(line for line in lines if not line.startswith(("static_", "residual_")))
    job = tmp_path / "job.toml"
    job.write_text(text, encoding="utf-8")
    assert "the pressure of 16 of 16 supplied fixtures" in review([CORRECTED], job).reason
    job.write_text(f'out_of_scope = ["supply"]\n{text}', encoding="utf-8")
    done = review([CORRECTED], job)
    assert done.verdict is Verdict.PASS
    notes = {c.note for c in done.coverage if c.pack == "supply"}
    assert notes == {"out of scope by the job file"}
    assert not any(line.pack == "supply" for line in done.judged)


def test_a_pack_out_of_scope_must_be_there(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('adopted_code = "upc-2021"\nout_of_scope = ["gass"]', encoding="utf-8")
    with pytest.raises(InputError, match=r'out_of_scope: there is no pack "gass"'):
        review([CORRECTED], job)


def test_pipes_without_size_that_lie_on_each_other_do_not_pass() -> None:
    path = HOSTILE / "pass_50_coincident_unsized_pipes.ifc"
    if not path.exists():
        pytest.skip(f"{path.name} is not here")
    done = review([path], None, "upc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert "of 1 of 2 pipes" in done.reason
    assert [(s.service, s.elements) for s in done.set_aside] == [("drawn twice in one place", 49)]


GAS = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 2 > out 0.4 0 2
pipe 1 P1  0.4 0 2 > 5 0 2
tee 1 T  5 0 2 > 5.4 0 2 > 5.2 0 1.8
pipe 0.5 P2  5.2 0 1.8 > 5.2 0 1
gas-shutoff 0.5 V2  5.2 0 1 > 5.2 0 0.8
pipe 0.5 P3  5.2 0 0.8 > 5.2 0 0.5
range R input_rating_w=19049.6  gas 5.2 0 0.5
pipe 1 P4  5.4 0 2 > 9 0 2
"""


@pytest.mark.parametrize(
    ("taker", "asked", "is_open"),
    [
        ("furnace F input_rating_w=20000  gas 9 0 2", 2, False),
        ("thing X system=none  9 0 2", 2, True),
        ("cap 1 C  9 0 2", 1, False),
    ],
)
def test_gas_pipe_to_what_is_not_understood_bars_a_pass(
    taker: str, asked: int, is_open: bool
) -> None:
    line = _lines(GAS + taker)["gas", Settles.LINE]
    assert (line.asked, "P4" in line.open_ids) == (asked, is_open)


def test_gas_pipe_that_no_known_source_feeds_is_not_judged() -> None:
    line = _lines(GAS.replace("gas-meter 1 M  in 0 0 2 > out 0.4 0 2\n", ""))
    assert line["gas", Settles.PIPE].open_ids == ("P1", "P2", "P3", "P4")


@pytest.mark.parametrize(
    ("taker", "left"),
    [("lavatory L  cold 20 0 0", ()), ("thing X system=none  20 0 0", ("B",))],
)
def test_water_pipe_to_what_is_not_understood_bars_a_pass(
    taker: str, left: tuple[str, ...]
) -> None:
    network = f"""
    system=cold_water material=copper
    water-meter 0.75 M  in 0 0 0 > out 1 0 0
    pipe 0.75 B  1 0 0 > 20 0 0
    {taker}
    """
    line = _lines(network)["supply", Settles.WATER]
    assert (line.asked, line.open_ids) == (1, left)


RELIEVED = """
system=cold_water material=copper
water-meter 1 M  in 5 2 3 > out 5.4 2 3
pipe 1 C1  5.4 2 3 > 24 6 5
water-heater WH energy=gas  cold 24 6 5 > hot 24.5 6 5 > 23.5 6 4.8
relief 0.75 RV system=relief_discharge  23.5 6 4.8 > 23.3 6 4.6
pipe 0.75 R1 system=sanitary_drainage  23.3 6 4.6 > 23.3 6 0.4
"""


def test_the_line_of_a_relief_valve_is_no_drain_of_a_fixture() -> None:
    """In whatever system it is drawn; pipe of drainage that leads nowhere is open beside it."""
    line = _lines(TWO + RELIEVED)["drainage", Settles.PIPE]
    assert (line.asked, line.open_ids) == (1, ())
    lost = "pipe 0.75 LOST system=sanitary_drainage  40 6 4.6 > 40 6 0.4"
    line = _lines(TWO + RELIEVED + lost)["drainage", Settles.PIPE]
    assert (line.asked, line.open_ids) == (2, ("LOST",))
