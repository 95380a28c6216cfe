"""One mistake at a time around fuel and in materials, in the corrected buildings: found on the
right element, and nothing else is.

Each building is read once; a mistake changes the model as read.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from ifclint import codes, ifc, job, network
from ifclint.ifc.elements import Element, Model, Point, Role, Space, Surface, System
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build

MODELS = Path(__file__).parents[2] / "models"
LOADED = load_packs()
PACKS = [pack for pack in LOADED.loaded if pack.name in ("combustion", "materials")]
FILES = {
    "dwelling_corrected": ("dwelling_corrected.ifc",),
    "restaurant_corrected": ("restaurant_corrected.ifc", "restaurant_architecture.ifc"),
}
DWELLING, RESTAURANT = FILES
BUILDINGS = {
    name: (
        ifc.read([MODELS / file for file in files]),
        tomllib.loads((MODELS / f"{name}.toml").read_text("utf-8")),
    )
    for name, files in FILES.items()
}
FT = 0.3048
HEATERS = {
    "dwelling_corrected": {"Gas storage water heater WH-1", "Gas storage water heater WH-2"},
    "restaurant_corrected": {"Water Heater - Gas, 75 Gal:538223"},
}
MECHANICAL = ("Mechanical room", "Mechanical")
Said = set[tuple[str, str]]


def _said(name: str, model: Model, code: str, told: dict[str, Any] | None = None) -> Said:
    """The rules that a building breaks, with the element to click."""
    stated = dict(BUILDINGS[name][1])
    for section, keys in (told or {}).items():
        stated[section] = {**stated.get(section, {}), **keys}
    the_job = job.job_of(stated, LOADED.sections)
    context = Context(codes.load(code), build(network.connect(model)), the_job)
    made = judge(PACKS, context)
    assert not made.failures
    labels = {e.guid: e.label for e in model.elements}
    wrong = [f for f in made.findings if f.outcome.value == "violation"]
    return {(f.rule, labels[f.element_ids[0]]) for f in wrong}


def _heater_room_is(use: str) -> Callable[[Model], None]:
    def change(model: Model) -> None:
        model.spaces = [replace(s, name=use) if s.name in MECHANICAL else s for s in model.spaces]
        for element in model.elements:
            if element.space in MECHANICAL:
                element.space = use
            if element.role is Role.HEATER:
                element.properties["draft"] = "natural"

    return change


def _first_pipe(model: Model, system: System) -> Element:
    return next(e for e in model.elements if e.role is Role.PIPE and e.system is system)


def _made_of(system: System, material: str) -> Callable[[Model], None]:
    def change(model: Model) -> None:
        _first_pipe(model, system).material = material

    return change


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize("name", BUILDINGS)
def test_the_corrected_buildings_break_none_of_these_rules(name: str, code: str) -> None:
    assert _said(name, deepcopy(BUILDINGS[name][0]), code) == set()


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize("use", ["Bedroom 3", "Hall bath"])
@pytest.mark.parametrize("name", BUILDINGS)
def test_heaters_in_a_bedroom_or_bath_are_found(name: str, use: str, code: str) -> None:
    model = deepcopy(BUILDINGS[name][0])
    _heater_room_is(use)(model)
    assert _said(name, model, code) == {("appliance-room", h) for h in HEATERS[name]}


@pytest.mark.parametrize(
    ("system", "material"),
    [
        (System.HOT_WATER, "pvc"),
        (System.COLD_WATER, "lead"),
        (System.SANITARY, "pex"),
        (System.VENT, "vitrified clay"),
    ],
)
@pytest.mark.parametrize("name", BUILDINGS)
def test_a_pipe_of_a_wrong_material_is_found(name: str, system: System, material: str) -> None:
    model = deepcopy(BUILDINGS[name][0])
    _made_of(system, material)(model)
    label = _first_pipe(model, system).label
    assert _said(name, model, "upc-2021") == {("material-allowed", label)}


def _named(model: Model, start: str) -> Element:
    return next(e for e in model.elements if e.name.startswith(start))


def _at(x: float, y: float, z: float) -> Point:
    return (x * FT, y * FT, z * FT)


def _draft_hoods(model: Model) -> None:
    for element in model.elements:
        if element.role is Role.HEATER:
            element.properties["draft"] = "natural"


def _in_a_cellar(model: Model) -> None:
    for element in model.elements:
        if element.role is Role.HEATER:
            element.storey, element.space = "Basement", "Cellar"
    model.spaces.append(Space("Cellar", "Basement", _at(0, 0, -9), _at(20, 30, -1)))


def _csst(model: Model) -> None:
    _last_of(model, System.GAS).name = "CSST gas tubing"


def _last_of(model: Model, system: System) -> Element:
    return [e for e in model.elements if e.role is Role.PIPE and e.system is system][-1]


def _no_service_shutoff(model: Model) -> None:
    """Of two meters one has its shutoff, the other's is gone."""
    _service_valve(model, _named(model, "Gas Meter"))
    regulator = _named(model, "Gas service shutoff") if False else None
    assert regulator is None


def _service_valve(model: Model, meter: Element) -> None:
    below = next(
        e for e in model.elements
        if e.role is Role.PIPE and any(_same(a.position, meter.ends[0].position) for a in e.ends)
    )  # fmt: skip
    below.role, below.kind, below.name = Role.VALVE, "gas-shutoff", "Gas service cock"


def _same(a: Point | None, b: Point | None) -> bool:
    return a is not None and b is not None and all(abs(p - q) < 1e-3 for p, q in zip(a, b, strict=True))
