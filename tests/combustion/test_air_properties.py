"""More air never makes a room worse: a larger volume, a larger opening, one nearer the ceiling."""

from __future__ import annotations

from importlib import import_module
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint.job import job_of
from ifclint.packs import make_pack
from ifclint.testing import ask

PACK = make_pack("combustion", import_module("ifclint.rules.combustion"))
RULE = next(rule for rule in PACK.rules if rule.name == "combustion-air")
BETTER = {"violation": 0, "unverified": 1, "pass": 2}
some = settings(deadline=None, max_examples=25)  # the first reads the tables
CODES = st.sampled_from(["upc-2021", "ipc-2021", "irc-2021"])


def _answer(code: str, long_ft: float, openings: list[dict[str, str]], kbtuh: float = 40) -> int:
    network = f"""
system=fuel_gas material=steel
gas-meter 1 M out -2 5 2
pipe 1 P1 -2 5 2 > 5 5 2
water-heater WH energy=gas draft=natural input_rating_w={kbtuh * 293.07107} space=Utility gas 5 5 2
room Utility 0 0 0 > 10 {long_ft} 10
"""
    job = job_of(
        {"combustion": {"rooms": [{"room": "Utility", "openings": openings}]}},
        {"combustion": PACK.section},
    )
    said = ask(RULE, network, code, job, subjects=PACK.subjects, tables=PACK.tables)
    return BETTER[said["WH"].outcome.value]


def _two(area_in2: float, from_end_in: float = 6) -> list[dict[str, str]]:
    return [
        {"to": "outdoors", "area": f"{area_in2:.4f} in**2", key: f"{from_end_in:.4f} in"}
        for key in ("from_top", "from_bottom")
    ]


@some
@given(CODES, st.lists(st.floats(6, 40), min_size=2, max_size=3))
def test_a_larger_room_is_never_worse(code: str, lengths: list[float]) -> None:
    said = [_answer(code, length, []) for length in sorted(lengths)]
    assert all(a <= b for a, b in pairwise(said))


@some
@given(CODES, st.lists(st.floats(1, 30), min_size=2, max_size=3))
def test_larger_openings_are_never_worse(code: str, areas: list[float]) -> None:
    said = [_answer(code, 6, _two(area)) for area in sorted(areas)]
    assert all(a <= b for a, b in pairwise(said))


@some
@given(CODES, st.lists(st.floats(0, 40), min_size=2, max_size=3))
def test_openings_nearer_top_and_bottom_are_never_worse(code: str, ends: list[float]) -> None:
    said = [_answer(code, 6, _two(20, end)) for end in sorted(ends, reverse=True)]
    assert all(a <= b for a, b in pairwise(said))


@some
@given(CODES, st.floats(5, 400))
def test_the_volume_asked_for_is_50_cubic_feet_for_1000_btu_per_h(code: str, kbtuh: float) -> None:
    length = kbtuh * 50 / 100
    assert _answer(code, length * 1.01, [], kbtuh) == BETTER["pass"]
    assert _answer(code, length * 0.99, [], kbtuh) == BETTER["violation"]


@some
@given(CODES, st.floats(1, 12), st.lists(st.floats(3, 40), min_size=2, max_size=3))
def test_a_larger_room_with_openings_is_never_worse(
    code: str, area: float, lengths: list[float]
) -> None:
    said = [_answer(code, length, _two(area)) for length in sorted(lengths)]
    assert all(a <= b for a, b in pairwise(said))


@some
@given(CODES, st.floats(0.05, 0.95), st.floats(20, 200))
def test_openings_give_what_the_volume_does_not(code: str, share: float, kbtuh: float) -> None:
    """By hand: 50 ft³ for 1,000 Btu/h; 1 in² of each of two openings for 4,000 Btu/h; the openings
    smaller by the share that the room has of the volume."""
    length = share * kbtuh * 50 / 100
    area = kbtuh * 1000 / 4000 * (1 - share)
    assert _answer(code, length, _two(area * 1.02), kbtuh) == BETTER["pass"]
    assert _answer(code, length, _two(area * 0.97), kbtuh) == BETTER["violation"]
