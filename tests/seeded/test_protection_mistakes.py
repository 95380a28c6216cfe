"""One mistake at a time in the corrected buildings: found on the right element, and nothing else.

Each building is read once; a mistake changes the elements as read.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from functools import cache
from pathlib import Path

import pytest

from ifclint import codes, ifc, job, network
from ifclint.ifc.elements import Element, Model
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build

MODELS = Path(__file__).parents[2] / "models"
INSTALLED = load_packs()
PACKS = [pack for pack in INSTALLED.loaded if pack.name == "protection"]
JOBS = {
    name: job.load(MODELS / f"{name}.toml", INSTALLED.sections)[0]
    for name in ("dwelling_corrected", "restaurant_corrected")
}
IN = 0.0254
Said = set[tuple[str, str, str]]


@cache
def _read(name: str) -> Model:
    return ifc.read([MODELS / f"{name}.ifc"])


def _said(name: str, model: Model, code: str) -> Said:
    made = judge(PACKS, Context(codes.load(code), build(network.connect(model)), JOBS[name]))
    assert not made.failures
    labels = {e.guid: e.label for e in model.elements}
    return {(f.rule, labels[f.element_ids[0]], f.outcome.value) for f in made.findings}


def _named(model: Model, start: str) -> Element:
    return next(e for e in model.elements if e.name.startswith(start))


def _bibb_without_breaker(model: Model) -> None:
    _named(model, "Hose bibb HB-2").name = "Hose bibb HB-2 (rear)"


def _lavatory_on_rain_water(model: Model) -> None:
    for element in model.elements:
        if "cold branch, Lavatory L-1" in element.name:
            element.system_name = "Rainwater"


def _shower_sides_changed(model: Model) -> None:
    shower = _named(model, "Shower SH-1")
    hot, cold = (next(e for e in shower.ends if e.name == side) for side in ("hot", "cold"))
    hot.name, cold.name, hot.system, cold.system = "cold", "hot", cold.system, hot.system


def _tub_says_its_valve(model: Model) -> None:
    tub = _named(model, "Bathtub B-1")
    tub.type_name = "Bathtub, thermostatic filler"


def _receptor_raised(model: Model) -> None:
    sink = next(e for e in model.elements if e.kind == "floor-sink")
    assert sink.box is not None
    (low, (x, y, z)) = sink.box
    sink.box = (low, (x, y, z + 3 * IN))


def _sink_is_a_carbonator(model: Model) -> None:
    _named(model, "Hand Sink").name = "Carbonator"


MISTAKES: list[tuple[str, str, Callable[[Model], None], Said]] = [
    (
        "dwelling_corrected", "upc-2021", _bibb_without_breaker,
        {("hose-protected", "Hose bibb HB-2 (rear)", "violation")},
    ),
    (
        "dwelling_corrected", "irc-2021", _lavatory_on_rain_water,
        {("potable-fed", "Lavatory L-1 (Powder room)", "violation")},
    ),
    (
        "dwelling_corrected", "ipc-2021", _shower_sides_changed,
        {("hot-on-left", "Shower SH-1 (Bath 3)", "advisory")},
    ),
    (
        "dwelling_corrected", "upc-2021", _tub_says_its_valve,
        {("temperature-limited", "Shower SH-1 (Bath 3)", "violation")},
    ),
    (
        "restaurant_corrected", "ipc-2021", _sink_is_a_carbonator,
        {("hazard-isolated", "Carbonator", "unverified")},
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "code", "mistake", "expected"), MISTAKES, ids=[m[2].__name__[1:] for m in MISTAKES]
)
def test_a_mistake_is_found_and_nothing_else(
    name: str, code: str, mistake: Callable[[Model], None], expected: Said
) -> None:
    model = deepcopy(_read(name))
    before = _said(name, model, code)
    mistake(model)
    assert _said(name, model, code) - before == expected


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_receptor_raised_closes_the_air_gap(code: str) -> None:
    model = deepcopy(_read("restaurant_corrected"))
    before = _said("restaurant_corrected", model, code)
    _receptor_raised(model)
    new = _said("restaurant_corrected", model, code) - before
    assert {(rule, outcome) for rule, _, outcome in new} == {("indirect-waste", "violation")}


def test_a_greater_air_gap_never_turns_a_pass_into_a_violation() -> None:
    passed = False
    for lowered in range(-6, 7):
        model = deepcopy(_read("restaurant_corrected"))
        sink = next(e for e in model.elements if e.kind == "floor-sink")
        assert sink.box is not None
        (low, (x, y, z)) = sink.box
        sink.box = (low, (x, y, z - lowered * IN))
        said = _said("restaurant_corrected", model, "upc-2021")
        wrong = ("indirect-waste", "violation") in {(rule, outcome) for rule, _, outcome in said}
        assert not (passed and wrong)
        passed = not wrong
    assert passed
