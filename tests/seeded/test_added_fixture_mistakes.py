"""Rooms, showers and devices drawn beside the corrected demos, right and then with one mistake at a
time: found on the right element, and nothing else of the packs of rough-in, fixtures and
protection.

The parts are small networks of the rules' own cases, moved 500 ft off the building.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from ifclint import codes, job, network
from ifclint.ifc.elements import Model
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.testing.networks import read_network
from tests.seeded.demos import DWELLING, RESTAURANT, fresh

LOADED = load_packs()
PACKS = [p for p in LOADED.loaded if p.name in ("roughin", "fixtures", "protection")]
BOTH = (DWELLING, RESTAURANT)
ALL = ("upc-2021", "ipc-2021", "irc-2021")
USE: dict[str, dict[str, Any]] = {
    DWELLING: {"building": {"occupancy": "private"}},
    RESTAURANT: {
        "building": {"occupancy": "public"},
        "fixtures": {"occupancies": [{"classification": "restaurant", "occupants": 10}]},
    },
}
Said = set[tuple[str, str, str]]

CLOSET_AND_BIDET = """
wall N 500 10 0 > 520 10.5 9
water-closet CLOSET box=504.4,8,0,505.6,9.95,2.5 at=505,9,0  505 9.2 0
bidet BIDET box=507,8,0,508.2,9.95,2.5 at=507.6,9,0  507.6 9.2 0
"""
SHOWER = """
shower SHOWER box=502,2,0,505,5,7 at=503,3,0  503 3 0
wall W 501.5 0 0 > 502 12 9
wall S 501.5 1.5 0 > 512 2 9
wall N 500 5.25 0 > 512 5.75 9
wall E 507.2 0 0 > 507.7 12 9
door DOOR swings=+x 505 2.5 0 > 505.1 4.5 7
"""
HEAD = """
shower-head HEAD storey=Level_1 at=505,5,6.9
"""
LONG_PIPE = """
system=vent material=PVC
pipe 2 LONG  500 0 10 > 530 0 10.2
coupling JOINT called=Expansion_joint  540 5 9 > 540 5 9.5
"""
IRRIGATION = """
system=cold_water material=copper
water-meter 1 M  in 500 0 0 > out 501 0 0
pipe 1 P1  501 0 0 > 520 0 0
pipe 0.5 B0  520 0 0 > 520 5 0
lavatory LAV  cold 520 5 0
pipe 0.75 P2  520 0 0 > 530 0 HIGH
vacuum-breaker 0.75 BREAKER called=AVB  530 0 HIGH > 530.5 0 HIGH
pipe 0.75 P3  530.5 0 HIGH > 531 0 0
fixture SPRAY called=Irrigation  cold 531 0 0
"""
HIGH, LOW = IRRIGATION.replace("HIGH", "0.5"), IRRIGATION.replace("HIGH", "0.25")
REDUCED_PRESSURE = """
system=cold_water material=copper
water-meter 1 M  in 500 0 0 > out 501 0 0
pipe 1 P1  501 0 0 > 520 0 0
backflow-preventer 0.75 DEVICE called=RPZ at=520.5,0,0  520 0 0 > 521 0 0
pipe 0.75 P2  521 0 0 > 530 0 0
lavatory LAV  cold 530 0 0
floor-drain FD system=sanitary_drainage at=524,0,-3  524 0 -3
pipe 1 W system=sanitary_drainage  520.5 0 -1.5 > 530 0 -2
sewer-connection SC system=sanitary_drainage  530 0 -2
"""
TOILETS = """
room Men storey=Level_1 600 0 0 > 610 10 9
room Women storey=Level_1 620 0 0 > 630 10 9
room Kitchen_2 storey=Level_1 600 10.4 0 > 630 20 9
wall BETWEEN 600 10 0 > 630 10.4 9
door DM 599.8 3 0 > 600 6 7
door DW 630 3 0 > 630.2 6 7
water-closet MC1 space=Men storey=Level_1 602 2 0
urinal MU1 space=Men storey=Level_1 605 2 0
lavatory ML1 space=Men storey=Level_1 608 2 0
water-closet WC1 space=Women storey=Level_1 622 2 0
water-closet WC2 space=Women storey=Level_1 625 2 0
lavatory WL1 space=Women storey=Level_1 628 2 0
drinking-fountain DF storey=Level_1 640 2 3
"""
SIXTY = {"fixtures": {"occupancies": [{"classification": "business", "occupants": 60}]}}

Mistake = tuple[str, str, tuple[str, ...], tuple[str, ...], tuple[str, str], dict[str, Any], Said]
MISTAKES: list[Mistake] = [
    (
        "bidet 3 in nearer", CLOSET_AND_BIDET, BOTH, ("upc-2021", "ipc-2021"),
        ("box=507,8,0,508.2,9.95,2.5 at=507.6,9,0  507.6",
         "box=506.7,8,0,507.9,9.95,2.5 at=507.3,9,0  507.3"),
        {}, {("fixtures-apart", "BIDET", "violation")},
    ),
    (
        "wall 4 in nearer to the shower", SHOWER, BOTH, ("irc-2021",),
        ("wall E 507.2 0 0", "wall E 506.8 0 0"),
        {}, {("room-before-shower", "SHOWER", "violation")},
    ),
    (
        "shower door that opens inward", SHOWER, BOTH, ("irc-2021",), ("swings=+x", "swings=-x"),
        {}, {("shower-door", "SHOWER", "violation")},
    ),
    (
        "shower door of 20 in", SHOWER, BOTH, ALL, ("505.1 4.5 7", "505.1 4.1667 7"),
        {}, {("shower-door", "SHOWER", "violation")},
    ),
    (
        "32 ft of PVC without a joint", LONG_PIPE, BOTH, ("upc-2021",), ("> 530 0", "> 532 0"),
        {}, {("plastic-may-expand", "LONG", "violation")},
    ),
    (
        "shower head far up", HEAD, BOTH, ALL, ("505,5,6.9", "505,5,7.5"),
        {}, {("roughin-height", "HEAD", "advisory")},
    ),
    (
        "vacuum breaker 3 in above the sprays", HIGH, BOTH, ALL,
        (HIGH, LOW), {}, {("vacuum-breaker-height", "AVB", "violation")},
    ),
    (
        "relief port joined to the drain", REDUCED_PRESSURE, BOTH, ALL,
        ("> 521 0 0\n", "> 521 0 0 > 520.5 0 -1.5\n"),
        {}, {("relief-port-drains", "RPZ", "violation")},
    ),
    (
        "no urinal", TOILETS, (RESTAURANT,), ("upc-2021",),
        ("urinal MU1 space=Men storey=Level_1 605 2 0", ""),
        SIXTY, {("urinals-enough", "CLICKED", "violation")},
    ),
    (
        "no drinking fountain", TOILETS, (RESTAURANT,), ("upc-2021", "ipc-2021"),
        ("drinking-fountain DF storey=Level_1 640 2 3", ""),
        SIXTY, {("drinking-fountains-enough", "CLICKED", "violation")},
    ),
    (
        "toilet room entered from a kitchen", TOILETS, (RESTAURANT,), ("ipc-2021",),
        ("door DM 599.8 3 0 > 600 6 7", "door DM 603 10 0 > 606 10.4 7"),
        SIXTY, {("toilet-room-from-food", "MC1", "violation")},
    ),
]  # fmt: skip


def _with(name: str, text: str) -> Model:
    model, drawn = fresh(name), read_network(text).model
    first = len(model.elements)
    model.elements += drawn.elements
    model.joints += [j._replace(a=j.a + first, b=j.b + first) for j in drawn.joints]
    model.spaces += drawn.spaces
    model.surfaces += drawn.surfaces
    return model


def _said(name: str, model: Model, code: str, told: dict[str, Any]) -> Said:
    the_job = job.job_of({**USE[name], **told}, LOADED.sections)
    made = judge(PACKS, Context(codes.load(code), build(network.connect(model)), the_job))
    assert not made.failures
    labels = {e.guid: e.label for e in model.elements}
    return {
        (f.rule, labels[f.element_ids[0]] if f.element_ids else "", f.outcome.value)
        for f in made.findings
    }


CASES = [
    (what, name, code, text, change, told, expected)
    for what, text, names, adopted, change, told, expected in MISTAKES
    for name in names
    for code in adopted
]


@pytest.mark.parametrize(
    ("what", "name", "code", "text", "change", "told", "expected"),
    CASES,
    ids=[f"{c[0]}, {c[1]}, {c[2]}" for c in CASES],
)
def test_a_mistake_is_found_and_nothing_else(
    what: str,
    name: str,
    code: str,
    text: str,
    change: tuple[str, str],
    told: dict[str, Any],
    expected: Said,
) -> None:
    assert text.count(change[0]) == 1, f"{what}: not one place to change"
    before = _said(name, _with(name, text), code, told)
    new = _said(name, _with(name, text.replace(*change)), code, told) - before
    anywhere = {rule for rule, label, _ in expected if label == "CLICKED"}  # of the building
    assert {(r, "CLICKED" if r in anywhere else label, o) for r, label, o in new} == expected


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_building_whose_use_is_not_told_is_asked(code: str) -> None:
    use = {"building": {"occupancy": "public"}, "fixtures": {}}
    before = _said(RESTAURANT, fresh(RESTAURANT), code, {})
    new = _said(RESTAURANT, fresh(RESTAURANT), code, use) - before
    assert {(rule, outcome) for rule, _, outcome in new} == {("building-use-told", "unverified")}


@pytest.mark.parametrize("code", ALL)
def test_a_dwelling_without_tub_or_shower_is_asked(code: str) -> None:
    model = fresh(DWELLING)
    for element in model.elements:
        if element.kind in ("bathtub", "shower"):
            element.kind = "mop-sink"
    new = _said(DWELLING, model, code, {}) - _said(DWELLING, fresh(DWELLING), code, {})
    assert "baths-enough" in {rule for rule, _, outcome in new if outcome == "unverified"}


@pytest.mark.parametrize("code", ["upc-2021"])
def test_a_dishwasher_that_drains_straight_is_found(code: str) -> None:
    """The air gap fitting of the house's dishwasher is taken away, and one is drawn elsewhere."""
    model = fresh(DWELLING)
    gap = next(e for e in model.elements if "air gap" in e.name.lower())
    gap.name, gap.type_name = "Coupling", ""
    model.elements.append(deepcopy(gap))
    model.elements[-1].guid, model.elements[-1].name = "gap", "Dishwasher air gap"
    model.elements[-1].ends, model.elements[-1].position = [], (200.0, 0.0, 1.0)
    new = _said(DWELLING, model, code, {}) - _said(DWELLING, fresh(DWELLING), code, {})
    assert {(rule, outcome) for rule, _, outcome in new} == {("dishwasher-drain", "violation")}


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_room_of_people_far_from_every_closet_is_found(code: str) -> None:
    near = "room Store storey=Level_1 30 0 0 > 60 20 9\n"
    far = near.replace("60 20 9", "700 20 9")
    of_store = {"classification": "mercantile", "spaces": ["Store"], "area_per_person": "60 ft**2"}
    told = {"fixtures": {"occupancies": [of_store]}}
    for text, wrong in ((near, False), (far, True)):
        said = _said(RESTAURANT, _with(RESTAURANT, text), code, told)
        assert ("toilet-rooms-near" in {r for r, _, o in said if o == "violation"}) is wrong


def test_an_institution_with_rooms_for_patients_alone_is_found() -> None:
    of_staff = {"classification": "institution-employees", "occupants": 10}
    told = {"fixtures": {"occupancies": [of_staff]}}
    for name, wrong in (("Staff toilet", False), ("Patient toilet", True)):
        model = fresh(RESTAURANT)
        for element in model.elements:
            if element.space in ("Restroom", "Bath"):
                element.space = name if element.space == "Restroom" else "Ward bath"
        said = _said(RESTAURANT, model, "ipc-2021", told)
        assert ("staff-rooms-apart" in {r for r, _, o in said if o == "violation"}) is wrong
