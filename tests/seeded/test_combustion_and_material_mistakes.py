"""One mistake at a time around fuel and in materials, in the corrected buildings: found on the
right element, and nothing else is.

Each building is read once; a mistake changes the model as read.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Element, End, Joint, Model, Point, Role, Surface, System
from ifclint.judge import judge
from ifclint.packs import Context, adopt, load_packs
from ifclint.plumbing import build
from ifclint.plumbing.surroundings.obstacles import Surroundings
from ifclint.testing.networks import read_network
from tests.seeded.demos import DWELLING, MODELS, RESTAURANT, fresh

LOADED = load_packs()
PACKS = [pack for pack in LOADED.loaded if pack.name in ("combustion", "materials")]
STATED = {
    name: tomllib.loads((MODELS / f"{name}.toml").read_text("utf-8"))
    for name in (DWELLING, RESTAURANT)
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
    stated = dict(STATED[name])
    for section, keys in (told or {}).items():
        stated[section] = {**stated.get(section, {}), **keys}
    the_job = job.job_of(stated, LOADED.sections)
    _, adopted = adopt(LOADED, codes.load(code))
    context = Context(adopted, build(network.connect(model)), the_job)
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
@pytest.mark.parametrize("name", STATED)
def test_the_corrected_buildings_break_none_of_these_rules(name: str, code: str) -> None:
    assert _said(name, fresh(name), code) == set()


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize("use", ["Bedroom 3", "Hall bath"])
@pytest.mark.parametrize("name", STATED)
def test_heaters_in_a_bedroom_or_bath_are_found(name: str, use: str, code: str) -> None:
    model = fresh(name)
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
@pytest.mark.parametrize("name", STATED)
def test_a_pipe_of_a_wrong_material_is_found(name: str, system: System, material: str) -> None:
    model = fresh(name)
    _made_of(system, material)(model)
    label = _first_pipe(model, system).label
    assert _said(name, model, "upc-2021") == {("material-allowed", label)}


def _named(model: Model, start: str) -> Element:
    return next(e for e in model.elements if e.name.startswith(start))


def _at(x: float, y: float, z: float) -> Point:
    return (x * FT, y * FT, z * FT)


def _last_pipe(model: Model, system: System) -> Element:
    return [e for e in model.elements if e.role is Role.PIPE and e.system is system][-1]


def _draft_hoods(model: Model) -> None:
    for element in model.elements:
        if element.role is Role.HEATER:
            element.properties["draft"] = "natural"


def _in_a_cellar(model: Model) -> None:
    for element in model.elements:
        if element.role is Role.HEATER:
            element.storey, element.space = "Basement", "Cellar"


def _csst(model: Model) -> None:
    _last_pipe(model, System.GAS).name = "CSST tubing"


def _second_meter(model: Model) -> None:
    """Beside the one with its shutoff another meter, and a pipe from it, without one."""
    a, b, c = (_at(60, y, 2) for y in (50, 51, 60))
    for name, role, kind, ends in (
        ("Meter 2", Role.METER, "gas", (a, b)), ("Pipe of meter 2", Role.PIPE, "", (b, c)),
    ):  # fmt: skip
        made = Element(name, name=name, role=role, kind=kind, system=System.GAS)
        made.ends, made.position, made.size_in = [End(p, 1.0) for p in ends], ends[0], 1.0
        made.material = "steel"
        model.elements.append(made)
    count = len(model.elements)
    model.joints.append(Joint(count - 2, 1, count - 1, 0))


def _two_more_meters(model: Model) -> None:
    """One with its shutoff, and one without."""
    drawn = read_network("""
        system=fuel_gas material=steel
        gas-meter 1 M3 called=Meter_3  out 60 70 2
        gas-shutoff 1 V3 called=Gas_shutoff  60 70 2 > 60 70.5 2
        pipe 1 P3 called=Pipe_of_meter_3  60 70.5 2 > 60 80 2
    """).model
    first = len(model.elements)
    model.elements += drawn.elements
    model.joints += [j._replace(a=j.a + first, b=j.b + first) for j in drawn.joints]
    _second_meter(model)


def _range_beside_the_meter(model: Model) -> None:
    meter = next(e for e in model.elements if e.role is Role.METER and e.kind == "gas")
    kitchen_range = next(e for e in model.elements if e.kind == "range")
    place = meter.ends[0].position
    assert place is not None
    outwards = 0.3 if place[0] > 0 else -0.3
    kitchen_range.position, kitchen_range.box = (place[0] + outwards, *place[1:]), None


def _window_beside_the_regulator(model: Model) -> None:
    low, high = _at(43.5, 12, 1), _at(44, 13, 5)
    model.surfaces.append(Surface("new", "window", "New window", low, high))


def _regulator_by_a_window(model: Model) -> None:
    """A further regulator, a foot before an outside window, on a pipe of its own."""
    around = Surroundings(model)
    window = next(o for o in around.outdoor_openings if o.kind == "window")
    middle = [(a + b) / 2 for a, b in zip(window.low, window.high, strict=True)]
    thin = min((0, 1), key=lambda k: window.high[k] - window.low[k])
    assert around.footprint is not None
    for at in (window.low[thin] - FT, window.high[thin] + FT):
        middle[thin] = at
        place = (middle[0], middle[1], middle[2])
        if not around.footprint.holds(place):
            break
    made = Element("REG", name="Regulator by the window", role=Role.REGULATOR, kind="gas")
    made.system, made.ends, made.position, made.size_in = System.GAS, [End(place, 1.0)], place, 1.0
    model.elements.append(made)


def _hose_on_the_dryer(model: Model) -> None:
    hose = _named(model, "1/2 in gas connection, DR-1")
    hose.name, hose.length_m = "Flexible gas connector", 2.5


def _hose_on_the_range(model: Model) -> None:
    hose = _named(model, "Pipe Types:Black Steel - Sch 40:315459")
    hose.name, hose.length_m = "Flexible gas connector", 2.5


def _tank_by_the_wall(model: Model) -> None:
    """A propane tank of 500 gal, 4 ft before the south wall."""
    tank = Element("tank", name="Propane tank, 500 gal", role=Role.TANK, kind="fuel")
    tank.box = (_at(2, -8, 0), _at(12, -4, 4))
    tank.position, tank.system = _at(7, -6, 2), System.GAS
    tank.properties["storage_volume_m3"] = 500 * 0.003785411784
    model.elements.append(tank)


def _steel_between_copper(model: Model) -> None:
    """A steel pipe in the cold water, in a building where a dielectric union is drawn elsewhere."""
    _inner_pipe(model, System.COLD_WATER).material = "galvanized steel"
    union = Element("union", name="Dielectric union", role=Role.FITTING, position=_at(0, 0, 1))
    model.elements.append(union)


def _inner_pipe(model: Model, system: System) -> Element:
    """A pipe with a fitting of the same service at both ends."""
    joined = network.connect(model)
    for index, e in enumerate(model.elements):
        beside = [model.elements[i] for i in joined.neighbours(index)]
        between = len(beside) == 2 and all(b.role is Role.FITTING for b in beside)
        if e.role is Role.PIPE and e.system is system and between:
            return e
    raise AssertionError("no such pipe")


def _no_primer_here(model: Model) -> None:
    """The primer's line is gone, and a floor drain elsewhere has one."""
    for element in model.elements:
        if "primer" in element.name.lower():
            element.system, element.ends, element.name = None, [], "left over"
            element.role = Role.OTHER
    kept = {i for i, e in enumerate(model.elements) if e.role is not Role.OTHER}
    model.joints = [j for j in model.joints if j.a in kept and j.b in kept]
    model.elements.append(
        Element("primer", name="Trap primer", role=Role.VALVE, position=_at(0, 0, 1))
    )


def _two_closets_in_the_restroom(model: Model) -> None:
    closet = next(e for e in model.elements if e.kind == "water-closet" and e.space == "Restroom")
    for number in (2, 3):
        more = replace(closet, guid=f"closet {number}", name=f"Closet {number}", ends=[])
        model.elements.append(more)


def _first_fitting(model: Model, system: System) -> Element:
    return next(e for e in model.elements if e.role is Role.FITTING and e.system is system)


def _abs_in_the_pvc(model: Model) -> None:
    _inner_pipe(model, System.VENT).material = "abs"
    coupling = Element("coupling", name="Transition coupling", role=Role.FITTING)
    coupling.position = _at(0, 0, 1)
    model.elements.append(coupling)


PROPANE = {"gas": {"kind": "propane", "heating_value": "2500 Btu/ft**3", "specific_gravity": 1.52}}
CSST_UNBONDED = {"combustion": {"csst_bonded": False}}
NO_OPENINGS = {"combustion": {"rooms": [{"room": room, "openings": []} for room in MECHANICAL]}}
SMALL_OPENINGS = {
    "combustion": {
        "rooms": [
            {
                "room": room,
                "openings": [
                    {"to": "outdoors", "area": "8 in**2", "from_top": "6 in"},
                    {"to": "outdoors", "area": "8 in**2", "from_bottom": "6 in"},
                ],
            }
            for room in MECHANICAL
        ]
    }
}
HEATER = {
    DWELLING: "Gas storage water heater WH-1",
    RESTAURANT: "Water Heater - Gas, 75 Gal:538223",
}
METER = {DWELLING: "Gas meter GM-1", RESTAURANT: "Gas Meter:210158"}
BOTH = (DWELLING, RESTAURANT)
Mistake = tuple[str, str, Callable[[Model], None], dict[str, Any], Said]
MISTAKES: list[Mistake] = [
    *(
        (name, code, _draft_hoods, told, {("combustion-air", HEATER[name])})
        for name in BOTH
        for code in ("upc-2021", "ipc-2021", "irc-2021")
        for told in (NO_OPENINGS, SMALL_OPENINGS)
    ),
    *(
        (
            name, "upc-2021", _in_a_cellar, PROPANE,
            {("propane-low-place", heater) for heater in HEATERS[name]},
        )
        for name in BOTH
    ),
    *(
        (name, code, _csst, CSST_UNBONDED, {("csst-bonded", "CSST tubing")})
        for name in BOTH
        for code in ("upc-2021", "ipc-2021", "irc-2021")
    ),
    *(
        (
            name, code, _tank_by_the_wall, {"building": {"grade_elevation": "-0.5 ft"}},
            {("propane-tank-distance", "Propane tank, 500 gal")},
        )
        for name in BOTH
        for code in ("upc-2021", "ipc-2021", "irc-2021")
    ),
    *(
        (DWELLING, code, _second_meter, {}, {("gas-building-shutoff", "Meter 2")})
        for code in ("upc-2021", "ipc-2021", "irc-2021")
    ),
    *(
        (
            RESTAURANT, code, _two_more_meters, {},  # once one is drawn, its own meter lacks it too
            {("gas-building-shutoff", m) for m in ("Meter 2", METER[RESTAURANT])},
        )
        for code in ("upc-2021", "ipc-2021", "irc-2021")
    ),
    *(
        (
            name, code, _regulator_by_a_window, PROPANE,
            {("gas-regulator-openings", "Regulator by the window")},
        )
        for name in BOTH
        for code in ("upc-2021", "ipc-2021", "irc-2021")
    ),
    *(
        (name, code, _range_beside_the_meter, {}, {("gas-meter-clearance", METER[name])})
        for name in BOTH
        for code in ("upc-2021", "ipc-2021")
    ),
    (
        DWELLING, "upc-2021", _window_beside_the_regulator, PROPANE,
        {("gas-regulator-openings", "Gas service regulator")},
    ),
    (DWELLING, "upc-2021", _hose_on_the_dryer, {}, {("gas-connector", "Flexible gas connector")}),
    (RESTAURANT, "ipc-2021", _hose_on_the_range, {}, {("gas-connector", "Flexible gas connector")}),
    (
        DWELLING, "upc-2021", _no_primer_here, {},
        {("floor-drain-primed", "Floor drain FD-1 (Mechanical room)")},
    ),
    (
        RESTAURANT, "upc-2021", _two_closets_in_the_restroom, {},
        {("floor-drain-due", "Water Closet - Tank, ADA:537568")},
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "code", "mistake", "told", "expected"),
    MISTAKES,
    ids=[f"{m[2].__name__[1:]}-{m[0]}-{m[1]}-{n}" for n, m in enumerate(MISTAKES)],
)
def test_a_mistake_is_found_and_nothing_else(
    name: str, code: str, mistake: Callable[[Model], None], told: dict[str, Any], expected: Said
) -> None:
    model = fresh(name)
    mistake(model)
    assert _said(name, model, code, told) == expected


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize("name", BOTH)
def test_steel_between_copper_is_found_at_both_ends(name: str, code: str) -> None:
    model = fresh(name)
    pipe = _inner_pipe(model, System.COLD_WATER)
    _steel_between_copper(model)
    assert _said(name, model, code) == {("metals-parted", pipe.label)}


@pytest.mark.parametrize("system", [System.COLD_WATER, System.HOT_WATER])
@pytest.mark.parametrize("name", BOTH)
def test_a_fitting_of_a_wrong_material_is_found(name: str, system: System) -> None:
    model = fresh(name)
    fitting = _first_fitting(model, system)
    fitting.material = "lead"
    assert _said(name, model, "ipc-2021") == {("fitting-material", fitting.label)}


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize("name", BOTH)
def test_abs_among_pvc_is_found(name: str, code: str) -> None:
    model = fresh(name)
    pipe = _inner_pipe(model, System.VENT)
    _abs_in_the_pvc(model)
    assert _said(name, model, code) == {("plastics-joined", pipe.label)}
