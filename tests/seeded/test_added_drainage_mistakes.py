"""Storm drainage, sumps, gutters and interceptors drawn beside the corrected demos, right and then
with one mistake at a time: found on the right element, and nothing else.

The parts are the small networks of the rules' own cases, moved beside the building.
"""

from __future__ import annotations

from typing import Any

import pytest

from ifclint.ifc.elements import Model
from ifclint.testing.networks import read_network
from tests.seeded.demos import DWELLING, RESTAURANT, fresh
from tests.seeded.test_site_mistakes import SITE, _said

BOTH = (DWELLING, RESTAURANT)
ALL = ("upc-2021", "ipc-2021", "irc-2021")
ICC = ("ipc-2021", "irc-2021")
STORM = """
system=storm_drainage
roof-drain 4 RD1  100 20 20
pipe 4 LEADER  100 20 20 > 100 20 -1
cleanout 4 SCO  100 19 0
pipe 4 RUN  100 20 -1 > 100 60 -1.8333
p-trap 4 TRAP  100 60 -1.8333 > 101 60 -1.86
pipe 4 OUT  101 60 -1.86 > 140 60 -2.7
manhole MH  140 60 -2.7
roof-drain 4 OD1 called=Overflow_drain_OD1  102 20 20.2
pipe 4 OVER  102 20 20.2 > 102 20 2
roof-drain 4 RD2  120 20 12
pipe 4 LEADER2  120 20 12 > 120 20 -1
cleanout 4 SCO2  120 19 0
pipe 4 RUN2  120 20 -1 > 120 60 -1.8333
p-trap 4 TRAP2  120 60 -1.8333 > 121 60 -1.86
pipe 4 OUT2  121 60 -1.86 > 140 70 -2.7
manhole MH2  140 70 -2.7
roof-drain 4 OD2 called=Overflow_drain_OD2  122 20 12.2
pipe 4 OVER2  122 20 12.2 > 122 20 2
gutter 6 GUTTER slope=0.0104167  90 0 9
scupper SCUPPER box=125,18,12.2,126,19.2,12.7  125.5 18.5 12.4
"""
PITS = """
system=storm_drainage
sump PIT box=200,-0.75,-3,202,1.25,-0.5  200 0 -1.2
pump PU  201 0 -2.5
pipe 1.5 UP1  201 0 -2.5 > 201 0 1
check CV  201 0 1 > 201 0 1.3
pipe 1.5 UP2  201 0 1.3 > 201 0 5
sump PIT2 box=220,-0.75,-3,222,1.25,-0.5  220 0 -1.2
pump PU2  221 0 -2.5
pipe 1.5 UP3  221 0 -2.5 > 221 0 1
check CV2  221 0 1 > 221 0 1.3
pipe 1.5 UP4  221 0 1.3 > 221 0 5
"""
EJECTOR = """
system=sanitary_drainage material=pvc
water-closet CLOSET  150 0 0
pipe 3 DROP  150 0 0 > 150 0 -1
pipe 3 BRANCH  150 0 -1 > 160 0 -1.3
sump SUMP box=160,-1,-3,162,1,-0.5  160 0 -1.3 > 162 0 -1
pipe 3 LIFT  162 0 -1 > 162 0 8
pipe 3 OFF  162 0 8 > 180 0 8
pump P1  161 0 -2.5
pump P2  161 0.5 -2.5
sewer-connection OTHER  180 0 8
"""
GARAGE = """
system=sanitary_drainage material=pvc
floor-drain WASH called=Car_wash_drain  300 5 -2
p-trap 3 WT  300 5 -2 > 300.5 5 -2.5
pipe 3 WA  300.5 5 -2.5 > 310 5 -3
sand SAND called=Sand_interceptor box=310,3,-7,314,7,-2.8  310 5 -3 > 314 5 -3.1
pipe 4 WB  314 5 -3.1 > 340 5 -3.8
sewer-connection WS  340 5 -3.8
floor-drain WASH2 called=Car_wash_drain_2  300 25 -2
p-trap 3 WT2  300 25 -2 > 300.5 25 -2.5
pipe 3 WA2  300.5 25 -2.5 > 310 25 -3
sand SAND2 called=Sand_interceptor_2 box=310,23,-7,314,27,-2.8  310 25 -3 > 314 25 -3.1
pipe 4 WB2  314 25 -3.1 > 340 25 -3.8
sewer-connection WS2  340 25 -3.8
"""
GREASE = """
system=sanitary_drainage material=pvc
sink SINK1 called=Pot_sink_1  400 0 2
p-trap 2 KT1  400 0 2 > 400.5 0 -2.5
pipe 2 KA1  400.5 0 -2.5 > 402 0 -2.54
pipe 3 G11  402 0 -2.54 > 410 0 -3
grease GI1 called=Interceptor_1_50_gpm_100_lb box=410,-2,-7,414,2,-2.5  410 0 -3 > 414 0 -3.1
sanitary-tee 3 TEE1  414 0 -3.1 > 415 0 -3.12 > 414.5 0 -3
pipe 3 G21  415 0 -3.12 > 440 0 -3.8
pipe 2 V1 system=vent  414.5 0 -3 > 414.5 0 20
vent-through-roof R1 system=vent  414.5 0 20
sewer-connection S1  440 0 -3.8
sink SINK2 called=Pot_sink_2  400 40 2
p-trap 2 KT2  400 40 2 > 400.5 40 -2.5
pipe 2 KA2  400.5 40 -2.5 > 402 40 -2.54
pipe 3 G12  402 40 -2.54 > 410 40 -3
grease GI2 called=Interceptor_2_50_gpm_100_lb box=410,38,-7,414,42,-2.5  410 40 -3 > 414 40 -3.1
sanitary-tee 3 TEE2  414 40 -3.1 > 415 40 -3.12 > 414.5 40 -3
pipe 3 G22  415 40 -3.12 > 440 40 -3.8
pipe 2 V2 system=vent  414.5 40 -3 > 414.5 40 20
vent-through-roof R2 system=vent  414.5 40 20
sewer-connection S2  440 40 -3.8
"""
TOLD: dict[str, Any] = {
    "storm": {
        "rate": "4 in/hour",
        "parapets": True,
        "combined_sewer": True,
        "areas": [
            {"element": "RD1", "area": "2000 ft**2"},
            {"element": "RD2", "area": "2000 ft**2"},
            {"element": "OD1", "area": "2000 ft**2"},
            {"element": "OD2", "area": "2000 ft**2"},
            {"element": "GUTTER", "area": "1000 ft**2"},
        ],
    }
}
Change = tuple[str, str]
Mistake = tuple[str, str, tuple[str, ...], Change, set[tuple[str, str, str]]]
MISTAKES: list[Mistake] = [
    (
        "roof drain smaller than its roof asks", STORM, ("upc-2021",),
        ("roof-drain 4 RD1", "roof-drain 2 RD1"), {("roof-drain-size", "RD1", "violation")},
    ),
    (
        "storm drain narrower than its leader", STORM, ("upc-2021",),
        ("pipe 4 OUT ", "pipe 3 OUT "),
        {("storm-not-reduced", "OUT", "violation"), ("storm-drain-size", "OUT", "violation")},
    ),
    (
        "no overflow on one of two roofs", STORM, ALL,
        ("roof-drain 4 OD1 called=Overflow_drain_OD1  102 20 20.2\npipe 4 OVER ", "#"),
        {("secondary-drainage", "RD1", "violation")},
    ),
    (
        "scupper of 3 in", STORM, ALL, ("126,19.2,12.7", "126,19.2,12.45"),
        {("scupper-size", "SCUPPER", "violation")},
    ),
    (
        "gutter of 4 in", STORM, ("upc-2021",), ("gutter 6 GUTTER", "gutter 4 GUTTER"),
        {("gutter-size", "GUTTER", "violation")},
    ),
    (
        "one leader without a cleanout at its foot", STORM, ("upc-2021",),
        ("cleanout 4 SCO  100 19 0", ""), {("leader-cleanout", "LEADER", "violation")},
    ),
    (
        "no trap before the combined sewer", STORM, ("upc-2021", "ipc-2021"),
        ("p-trap 4 TRAP ", "quarter-bend 4 TRAP "), {("storm-trapped", "MH", "violation")},
    ),
    (
        "pit of 16 in", PITS, ICC, ("202,1.25,-0.5", "202,0.5833,-0.5"),
        {("storm-sump-size", "PIT", "violation")},
    ),
    (
        "storm pump without a check valve", PITS, ICC, ("check CV  ", "pipe 1.5 CV  "),
        {("storm-pump-checked", "PIT", "violation")},
    ),
    (
        "sewage pit of 16 in", EJECTOR, ICC, ("162,1,-0.5", "162,0.3333,-0.5"),
        {("sump-size", "SUMP", "violation")},
    ),
    (
        "discharge of 1-1/2 in from a closet", EJECTOR, ALL,
        ("pipe 3 LIFT", "pipe 1.5 LIFT"), {("ejector-discharge-size", "LIFT", "violation")},
    ),
    (
        "no sand interceptor after the car wash", GARAGE, ("upc-2021", "ipc-2021"),
        ("sand SAND called=Sand_interceptor box=310,3,-7,314,7,-2.8", "pipe 4 SAND"),
        {("oil-intercepted", "Car wash drain", "violation")},
    ),
    (
        "a tank over the sand interceptor", GARAGE, ("upc-2021", "ipc-2021"),
        ("pipe 4 WB ", "expansion-tank TANK box=309,2,0,315,8,6\npipe 4 WB "),
        {("interceptor-access", "Sand interceptor", "violation")},
    ),
]  # fmt: skip
ONE_BUILDING: list[tuple[str, str, str, Mistake]] = [
    *(
        (
            "grease", DWELLING, code,
            (
                "one of two interceptors without its vent", GREASE, (),
                ("sanitary-tee 3 TEE1  414 0 -3.1 > 415 0 -3.12 > 414.5 0 -3\n",
                 "coupling 3 TEE1  414 0 -3.1 > 415 0 -3.12\n"),
                {("interceptor-vented", "Interceptor 1 50 gpm 100 lb", "violation")},
            ),
        )
        for code in ("upc-2021", "ipc-2021")
    ),
    (
        "public sump", RESTAURANT, "upc-2021",
        (
            "one pump in public use", EJECTOR, (), ("pump P2  161 0.5 -2.5", ""),
            {("sump-two-pumps", "SUMP", "violation")},
        ),
    ),
]  # fmt: skip


def _with(name: str, text: str) -> Model:
    """A building with what a text draws beside it, far enough not to touch."""
    model, drawn = fresh(name), read_network(text).model
    first = len(model.elements)
    model.elements += drawn.elements
    model.joints += [j._replace(a=j.a + first, b=j.b + first) for j in drawn.joints]
    return model


CASES = [
    (what, name, code, text, change, expected)
    for what, text, adopted, change, expected in MISTAKES
    for name in BOTH
    for code in adopted
] + [
    (what, name, code, text, change, expected)
    for _, name, code, (what, text, _, change, expected) in ONE_BUILDING
]


@pytest.mark.parametrize(
    ("what", "name", "code", "text", "change", "expected"),
    CASES,
    ids=[f"{c[0]}, {c[1]}, {c[2]}" for c in CASES],
)
def test_a_mistake_is_found_and_nothing_else(
    what: str,
    name: str,
    code: str,
    text: str,
    change: Change,
    expected: set[tuple[str, str, str]],
) -> None:
    told = TOLD if text is STORM else {}
    assert text.count(change[0]) == 1, f"{what}: not one place to change"
    before = _said(name, _with(name, text), code, told)
    new = _said(name, _with(name, text.replace(*change)), code, told) - before
    assert {said for said in new if said[2] == "violation"} == expected
    assert not {said for said in before if said[2] == "violation"}


def test_a_sewer_too_near_a_well_is_found() -> None:
    told = {"of": "building-sewer", "to": "well", "distance": "20 ft"}
    site = {**SITE[DWELLING]["site"], "distances": [told]}
    new = _said(DWELLING, fresh(DWELLING), "upc-2021", {"site": site})
    assert {said[0] for said in new if said[2] == "violation"} == {"site-distance"}
