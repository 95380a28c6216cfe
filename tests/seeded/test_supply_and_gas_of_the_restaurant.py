"""One mistake at a time in the supply and gas of the corrected restaurant, of those that cannot be
drawn beside it: found on the right element, and nothing else of both packs is."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Model, Role, System
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import MODELS, RESTAURANT, fresh

LOADED = load_packs()
PACKS = [pack for pack in LOADED.loaded if pack.name in ("supply", "gas")]
STATED = tomllib.loads((MODELS / f"{RESTAURANT}.toml").read_text(encoding="utf-8"))
TRUNK = "Pipe Types:Black Steel - Sch 40:859904"  # before its first branch
Said = set[tuple[str, str, str]]


def _said(model: Model, code: str, told: dict[str, dict[str, Any]]) -> Said:
    stated = STATED | {key: {**STATED.get(key, {}), **more} for key, more in told.items()}
    the_job = job.job_of(stated, LOADED.sections)
    made = judge(PACKS, Context(codes.load(code), build(network.connect(model)), the_job))
    assert not made.failures
    labels = {e.guid: e.label for e in model.elements}
    return {(f.rule, labels[f.element_ids[0]], f.outcome.value) for f in made.findings}


def _nothing(model: Model) -> None:
    """The mistake is in the job file."""


def _meter_of_half_an_inch(model: Model) -> None:
    meter = next(e for e in model.elements if e.role is Role.METER and e.kind == "water")
    meter.size_in = 0.5


def _main_of_one_inch(model: Model) -> None:
    """All gas pipe of 1-1/4 in, from the meter on."""
    for element in model.elements:
        if element.system is System.GAS and element.role is Role.PIPE and element.size_in == 1.25:
            element.size_in = 1.0
            for end in element.ends:
                end.size_in = 1.0


MISTAKES: list[tuple[Callable[[Model], None], str, dict[str, dict[str, Any]], Said]] = [
    (
        _nothing, code, {"water": {"static_pressure": "95 psi", "residual_pressure": "90 psi"}},
        {("static-pressure-limit", "Ball Valve:346870", "violation")},
    )
    for code in ("upc-2021", "ipc-2021", "irc-2021")
] + [
    (
        _meter_of_half_an_inch, "upc-2021", {},
        {("supply-by-table", "Pipe Types:Copper - Type L:749666", "advisory")},
    ),
]  + [
    (
        _main_of_one_inch, code, {},
        {("gas-pipe-size", TRUNK, "violation")},
    )
    for code in ("upc-2021", "ipc-2021", "irc-2021")
]  # fmt: skip


@pytest.mark.parametrize(
    ("mistake", "code", "told", "expected"),
    MISTAKES,
    ids=[f"{m[0].__name__[1:]}-{m[1]}" for m in MISTAKES],
)
def test_a_mistake_in_the_restaurant_is_found_and_nothing_else(
    mistake: Callable[[Model], None], code: str, told: dict[str, dict[str, Any]], expected: Said
) -> None:
    right, wrong = fresh(RESTAURANT), fresh(RESTAURANT)
    mistake(wrong)
    new = _said(wrong, code, told) - _said(right, code, {})
    assert {said for said in new if said[2] != "unverified"} == expected
