"""More room never turns a pass into a violation: shower doors, propane tanks, toilet rooms."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint import job
from ifclint.findings import Outcome
from ifclint.packs import load_packs
from ifclint.testing.questions import ask

PACKS = {pack.name: pack for pack in load_packs().loaded}
CASES = Path(__file__).parents[1] / "packs"
ORDER = [Outcome.PASS, Outcome.UNVERIFIED, Outcome.VIOLATION]
CODES = st.sampled_from(["upc-2021", "ipc-2021", "irc-2021"])
some = settings(max_examples=30, deadline=None)


def _answer(pack: str, rule: str, subject: str, text: str, told: dict[str, Any], code: str) -> int:
    loaded = PACKS[pack]
    asked = next(r for r in loaded.rules if r.name == rule)
    sections = {pack: loaded.section} if loaded.section is not None else {}
    said = ask(
        asked, text, code, job.job_of(told, sections), subjects=loaded.subjects,
        tables=loaded.tables,
    )  # fmt: skip
    return ORDER.index(said[subject].outcome)


def _door(wide_in: float, code: str) -> int:
    text = f"""
wall W  0 0 0 > 0.4 10 9
shower SH box=2,2,0,5,5,7 at=3.5,3.5,0  3.5 3.5 0
door D swings=+x  5 2.1 0 > 5.1 {2.1 + wide_in / 12:.6f} 7
"""
    return _answer("roughin", "shower-door", "SH", text, {}, code)


@some
@given(st.floats(12, 34), st.floats(0, 6), CODES)
def test_a_wider_shower_door_never_hurts(wide_in: float, more_in: float, code: str) -> None:
    assert _door(wide_in + more_in, code) <= _door(wide_in, code)


YARD = tomllib.loads((CASES / "combustion" / "propane-tank.toml").read_text())["networks"]["yard"]


def _tank(feet: float, gallons: int, code: str) -> int:
    box = f"box=-{feet + 10:.6f},5,0,-{feet:.6f},9,4"
    text = YARD.replace("box=-20,5,0,-10,9,4", box).replace("500_gal", f"{gallons}_gal")
    told = {"building": {"grade_elevation": "0 ft"}}
    return _answer("combustion", "propane-tank-distance", "T", text, told, code)


@some
@given(st.floats(1, 60), st.floats(0, 30), st.integers(20, 9000), CODES)
def test_a_tank_farther_off_never_hurts(feet: float, more: float, gallons: int, code: str) -> None:
    assert _tank(feet + more, gallons, code) <= _tank(feet, gallons, code)


@some
@given(st.floats(1, 60), st.integers(20, 4000), st.integers(1, 4000), CODES)
def test_a_larger_tank_never_helps(feet: float, gallons: int, more: int, code: str) -> None:
    assert _tank(feet, gallons, code) <= _tank(feet, gallons + more, code)


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_closet_nearer_never_hurts(code: str) -> None:
    networks = tomllib.loads((CASES / "fixtures" / "access.toml").read_text())["networks"]
    far = "room Office storey=Third 0 0 24 > 100 50 33"
    office = {"classification": "business", "spaces": ["Office"], "area_per_person": "150 ft**2"}
    told = {"fixtures": {"occupancies": [office]}}
    said = [
        _answer(
            "fixtures", "toilet-rooms-near", "F1",
            networks["floors"].replace(far, f"room Office storey=Main {x} 2 0 > {x + 20} 9 9"),
            told, code,
        )
        for x in range(0, 700, 50)
    ]  # fmt: skip
    assert said == sorted(said)
    assert {said[0], said[-1]} == {0, 2}
