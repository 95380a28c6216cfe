"""What must hold of any numbers: more rain or roof, or less pipe, never turns wrong to right."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint import job
from ifclint.findings import Outcome
from ifclint.packs import load_packs
from ifclint.testing.questions import ask

PACKS = {pack.name: pack for pack in load_packs().loaded}
CASES = Path(__file__).parents[1] / "packs"
ROOF = tomllib.loads((CASES / "storm" / "sizes.toml").read_text())["networks"]["roof"]
SITE = tomllib.loads((CASES / "site" / "sewer.toml").read_text())["networks"]
BESIDE = tomllib.loads((CASES / "site" / "separation.toml").read_text())["networks"]["beside"]
ORDER = [Outcome.PASS, Outcome.UNVERIFIED, Outcome.VIOLATION]
CODES = st.sampled_from(["upc-2021", "ipc-2021"])


def answer(pack: str, rule: str, subject: str, network: str, told: dict, code: str) -> int:
    loaded = PACKS[pack]
    asked = next(r for r in loaded.rules if r.name == rule)
    assert loaded.section is not None
    said = ask(
        asked, network, code, job.job_of(told, {pack: loaded.section}), subjects=loaded.subjects
    )
    return ORDER.index(said[subject].outcome)


def storm(rate: float, feet: float, network: str = ROOF, code: str = "upc-2021") -> int:
    areas = [{"element": "RD1", "area": f"{feet:.3f} ft**2"}]
    told = {"storm": {"rate": f"{rate:.4f} in/hour", "areas": areas}}
    return answer("storm", "storm-drain-size", "H1", network, told, code)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 12), st.floats(1, 3), st.floats(100, 9000), CODES)
def test_more_rain_never_helps(rate: float, more: float, feet: float, code: str) -> None:
    assert storm(rate, feet, code=code) <= storm(rate * more, feet, code=code)


@settings(max_examples=30, deadline=None)
@given(st.floats(100, 9000), st.floats(1, 3), CODES)
def test_more_roof_never_helps(feet: float, more: float, code: str) -> None:
    assert storm(4, feet, code=code) <= storm(4, feet * more, code=code)


@settings(max_examples=20, deadline=None)
@given(st.floats(100, 9000), CODES)
def test_a_larger_pipe_never_hurts(feet: float, code: str) -> None:
    for small, large in pairwise((3, 4, 5, 6, 8)):
        one, other = (ROOF.replace("pipe 4 H1", f"pipe {size} H1") for size in (small, large))
        assert storm(4, feet, other, code) <= storm(4, feet, one, code)


@settings(max_examples=30, deadline=None)
@given(st.floats(-6, -4), st.floats(0, 1), CODES)
def test_a_deeper_street_never_hurts(invert: float, deeper: float, code: str) -> None:
    def fall(at: float) -> int:
        told = {"site": {"sewer_invert": f"{at:.4f} ft", "sewer_distance": "60 ft"}}
        return answer("site", "sewer-fall", "Q", SITE["stub"], told, code)

    assert fall(invert - deeper) <= fall(invert)


@settings(max_examples=30, deadline=None)
@given(st.floats(-2.4, 0), st.floats(0, 2), CODES)
def test_more_cover_never_hurts(grade: float, more: float, code: str) -> None:
    def cover(at: float) -> int:
        told = {"building": {"grade_elevation": f"{at:.4f} ft", "freezing": False}}
        return answer("site", "service-cover", "M", SITE["water"], told, code)

    assert cover(grade + more) <= cover(grade)


@settings(max_examples=30, deadline=None)
@given(st.floats(10.1, 19), st.floats(0, 5), CODES)
def test_farther_from_the_sewer_never_hurts(beside: float, more: float, code: str) -> None:
    def apart(y: float) -> int:
        network = BESIDE.replace("14 -2.5", f"{y:.4f} -3.3")
        return answer("site", "water-sewer-apart", "M", network, {}, code)

    assert apart(beside + more) <= apart(beside)


EDGES = tomllib.loads((CASES / "storm" / "edges.toml").read_text())["networks"]
ALL = st.sampled_from(["upc-2021", "ipc-2021", "irc-2021"])


@settings(max_examples=30, deadline=None)
@given(st.floats(1, 20), st.floats(1, 8), st.floats(0, 4), st.floats(500, 20000), ALL)
def test_a_larger_scupper_never_hurts(
    wide_in: float, high_in: float, more_in: float, feet: float, code: str
) -> None:
    areas = [{"element": "RD1", "area": f"{feet:.1f} ft**2"}]
    told = {"storm": {"rate": "2 in/hour", "areas": areas}}

    def asked(wide: float, high: float) -> int:
        corner = f"box=40,18,20,{40 + wide / 12:.6f},18.02,{20 + high / 12:.6f}"
        text = EDGES["parapet"].replace("box=40,18,20.2,41,19.1667,20.6167", corner)
        return answer("storm", "scupper-size", "RD1", text, told, code)

    assert asked(wide_in + more_in, high_in) <= asked(wide_in, high_in)
    assert asked(wide_in, high_in + more_in) <= asked(wide_in, high_in)


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 12), st.floats(100, 9000), st.floats(1, 3), CODES)
def test_more_roof_never_helps_a_gutter_and_a_larger_one_never_hurts(
    rate: float, feet: float, more: float, code: str
) -> None:
    def asked(area: float, size: int) -> int:
        areas = [{"element": "G", "area": f"{area:.3f} ft**2"}]
        told = {"storm": {"rate": f"{rate:.4f} in/hour", "areas": areas}}
        text = EDGES["eaves"].replace("gutter 5 G", f"gutter {size} G")
        return answer("storm", "gutter-size", "G", text, told, code)

    assert asked(feet, 5) <= asked(feet * more, 5)
    for small, large in pairwise((3, 4, 5, 6, 7, 8, 10)):
        assert asked(feet, large) <= asked(feet, small)
