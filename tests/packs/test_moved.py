"""Wherever a building stands, however it is turned, and in whatever order it was drawn, rules say
the same of it: every case is asked again."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from ifclint.findings import Answer
from ifclint.testing import Case
from ifclint.testing.networks import SURFACES
from tests.packs.test_rule_cases import CASES, OURS, answered, asked_of

Point = tuple[float, float, float]
Move = Callable[[Point], Point]
Said = dict[str, tuple[str, float | None]]  # of each subject
NUMBER = re.compile(r"-?\d*\.?\d+(e-?\d+)?")
BOXED = (*SURFACES, "room")
LEVELS = ("elevation", "manhole", "invert")  # how keys of the job file end that tell a height
FT = {"ft": 1.0, "in": 1 / 12, "m": 1 / 0.3048}
GROUND_AT_ZERO = {  # packs and rules that take it to lie there where the job file tells no height
    "gas", "site", "backwater-valve", "pan-drain-end", "relief-line-end",
}  # fmt: skip


def turned(point: Point) -> Point:
    """By a quarter, counterclockwise, and put elsewhere on the site."""
    x, y, z = point
    return 13.25 - y, x - 41.5, z + 330.5


def turned_back(point: Point) -> Point:
    x, y, z = point
    return y + 7.75, 96.5 - x, z - 75.25


def raised(point: Point) -> Point:
    x, y, z = point
    return x - 250.25, y + 170.5, z + 5280.25


def on_its_level(move: Move) -> Move:
    """The same move without its rise."""
    return lambda point: (*move(point)[:2], point[2])


def moved_case(case: Case, move: Move) -> Case:
    """A case with its building and the heights of its job file moved."""
    rise = move((0, 0, 0))[2]
    job = {"job": _raised(case.stated["job"], rise)} if rise and "job" in case.stated else {}
    return replace(case, network=moved(case.network, move), stated={**case.stated, **job})


def _raised(stated: Any, rise_ft: float) -> Any:
    if isinstance(stated, list):
        return [_raised(one, rise_ft) for one in stated]
    if not isinstance(stated, dict):
        return stated
    return {
        key: _level(value, rise_ft)
        if key.endswith(LEVELS) and isinstance(value, str)
        else _raised(value, rise_ft)
        for key, value in stated.items()
    }


def _level(text: str, rise_ft: float) -> str:
    value, unit = text.split()
    return f"{float(value) * FT[unit] + rise_ft} ft"


def moved(network: str, move: Move) -> str:
    return "\n".join(_line(line.partition("#")[0].strip(), move) for line in network.splitlines())


def _line(line: str, move: Move) -> str:
    words = line.split()
    if not words:
        return line
    if words[0] == "storey":
        words[2] = repr(move((0.0, 0.0, float(words[2])))[2])
        return " ".join(words)
    if words[0] in BOXED:
        low, high = (" ".join(part.split()[-3:]) for part in line.split(">"))
        facts = " ".join(_swings(word, move) for word in words[: len(words) - 7])
        if move((0, 1, 0))[0] != move((0, 0, 0))[0]:
            facts = facts.replace("rises=x", "rises=Y").replace("rises=y", "rises=x")
        return f"{facts.replace('=Y', '=y')} {' > '.join(_box([low, high], move))}"
    return " > ".join(_part(part, move) for part in line.split(">"))


def _swings(fact: str, move: Move) -> str:
    """A door's fact which ways it swings, as these are turned; any other as it is."""
    key, _, ways = fact.partition("=")
    if key != "swings":
        return fact
    here, steps = move((0, 0, 0)), {"+x": (1, 0, 0), "-x": (-1, 0, 0), "+y": (0, 1, 0),
                                    "-y": (0, -1, 0)}  # fmt: skip
    by_step = {step: way for way, step in steps.items()}
    there = (move(steps[way]) for way in ways.split(","))
    turned = (tuple(round(b - a) for a, b in zip(here, p, strict=True)) for p in there)
    return f"swings={','.join(by_step[step] for step in turned)}"


def _part(part: str, move: Move) -> str:
    """What stands before an end, and its place."""
    words = [_fact(word, move) for word in part.split()]
    if len(words) > 2 and all(NUMBER.fullmatch(word) for word in words[-3:]):
        words[-3:] = _moved(" ".join(words[-3:]), move).split()
    return " ".join(words)


def _fact(word: str, move: Move) -> str:
    key, _, value = word.partition("=")
    if key == "at":
        return f"at={_moved(value.replace(',', ' '), move).replace(' ', ',')}"
    if key == "via":
        places = (_moved(place.replace(",", " "), move) for place in value.split(";"))
        return f"via={';'.join(places).replace(' ', ',')}"
    if key == "box":
        numbers = value.split(",")
        corners = _box([" ".join(numbers[:3]), " ".join(numbers[3:])], move)
        return f"box={' '.join(corners).replace(' ', ',')}"
    if key == "turned":
        right, ahead = move((1, 0, 0)), move((0, 0, 0))
        quarter = {(0, 1): 90, (0, -1): -90}.get((right[0] - ahead[0], right[1] - ahead[1]), 0)
        return f"turned={float(value) + quarter}"
    return word


def _moved(text: str, move: Move) -> str:
    x, y, z = map(float, text.split())
    return " ".join(repr(round(value, 9)) for value in move((x, y, z)))


def _box(corners: list[str], move: Move) -> list[str]:
    """The low and the high corner of a box that was moved."""
    first, second = ([float(v) for v in _moved(c, move).split()] for c in corners)
    low, high = zip(*(sorted(pair) for pair in zip(first, second, strict=True)), strict=True)
    return [" ".join(map(repr, low)), " ".join(map(repr, high))]


def said(pack: str, case: Case) -> Said:
    """Each subject's answer in a case that is drawn otherwise."""
    return _outcomes({of: given[0] for of, given in asked_of(pack, case, case.network).items()})


def _outcomes(found: Mapping[str, Answer]) -> Said:
    """Each subject's answer, and by how much what was measured lies off what is required."""
    return {
        subject: (
            str(answer.outcome),
            None
            if answer.measured is None
            else round(answer.measured.value - (answer.required or answer.measured).value, 2),
        )
        for subject, answer in found.items()
    }


@cache
def as_drawn(pack: str) -> dict[str, Said]:
    """What is said of every case as it is drawn."""
    mine = [case for name, case in CASES if name == pack and case.stated.get("near") != []]
    return {
        str(case): _outcomes({of: given[0] for of, given in answered(pack, case).items()})
        for case in mine
    }


def backwards(network: str) -> str:
    """The same lines, the last first."""
    return "\n".join(reversed(_by_themselves(network)))


def from_the_middle(network: str, first: str) -> str:
    """The same lines, that of an element first, and what stood before it last."""
    lines = _by_themselves(network)
    at = next((n for n, line in enumerate(lines) if first in line.split()[1:3]), len(lines) // 2)
    return "\n".join([*lines[at:], *lines[:at]])


def _by_themselves(network: str) -> list[str]:
    """The lines, with the facts that hold for several standing in each of them."""
    stated: dict[str, str] = {}
    lines = []
    for words in (line.partition("#")[0].split() for line in network.splitlines()):
        if words and all("=" in word for word in words):
            stated |= dict(word.split("=", 1) for word in words)
        elif words and (words[0] in BOXED or words[0] == "storey"):
            lines.append(words)
        elif words:
            at = 3 if NUMBER.fullmatch(words[1]) else 2
            lines.append([*words[:at], *map("=".join, stated.items()), *words[at:]])
    return [" ".join(words) for words in lines]


MOVES = (turned, turned_back, raised)
BY_ORDER = {  # known to differ, though they should not
    "UPC: pipes meet without fittings, a cleanout in the vertical above the arm":
        "of vents that meet without a fitting, the nipple or the vent is followed by its order",
    "a second drain that leaves: to which connection is asked":
        "which of two drains is the sewer and which is asked about is a choice",
    "60 ft, circulated to within 20 ft of the fixture":
        "a loop is cut where its two paths meet, and equal paths meet by the order of their parts",
}  # fmt: skip


def move_of(case: Case, number: int, pack: str) -> Move:
    """One of the moves, by turns."""
    move = MOVES[number % len(MOVES)]
    if "rises=" in case.network and move((0, 1, 0))[0] < move((0, 0, 0))[0]:
        move = turned_back  # a roof rises toward larger coordinates only
    is_told = any(word in str(case.stated.get("job")) for word in LEVELS)
    return move if is_told or not GROUND_AT_ZERO & {pack, case.rule} else on_its_level(move)


@pytest.mark.parametrize("pack", OURS)
def test_a_building_elsewhere_is_answered_alike(pack: str) -> None:
    otherwise = []
    mine = [case for name, case in CASES if name == pack and case.stated.get("near") != []]
    for number, case in enumerate(mine):
        before = as_drawn(pack)[str(case)]
        after = said(pack, moved_case(case, move_of(case, number, pack)))
        if before != after:
            otherwise.append(f"{case}: {before} became {after}")
    assert not otherwise, "\n".join(otherwise)


@pytest.mark.parametrize("pack", OURS)
def test_the_order_in_which_a_building_was_drawn_says_nothing(pack: str) -> None:
    otherwise = []
    mine = [case for name, case in CASES if name == pack and case.stated.get("near") != []]
    for number, case in enumerate(case for case in mine if case.name not in BY_ORDER):
        before = Counter(as_drawn(pack)[str(case)].values())
        drawn = case.network  # otherwise in one of two ways, by turns
        drawn = from_the_middle(drawn, case.subjects[0]) if number % 2 else backwards(drawn)
        after = Counter(said(pack, replace(case, network=drawn)).values())
        if before != after:
            otherwise.append(f"{case}: {before} became {after}")
    assert not otherwise, "\n".join(otherwise)


BY_HEIGHTS = (
    "both straps in its middle third", "at the bounds of its thirds",
    "through one floor below, told of the stack",
)  # fmt: skip


@pytest.mark.parametrize("name", BY_HEIGHTS)
def test_a_height_is_compared_alike_on_any_mountain(name: str) -> None:
    pack, case = next((pack, c) for pack, c in CASES if c.name.endswith(name))
    assert said(pack, moved_case(case, raised)) == said(pack, case)
