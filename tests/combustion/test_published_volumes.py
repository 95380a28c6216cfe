"""Volumes of rooms for combustion air as they are tabulated elsewhere, each through the rule.

Furnace makers reproduce the method of known infiltration of NFPA 54 (2002 8.3.2.2, later 9.3.2.2)
as a table: Bryant 350AAV (easymanua.ls/bryant/350aav, page 18) and International Comfort Products
441 01 2314 06 (manualmachine.com, page 8) print the same one. Worksheet E-1 of the Minnesota Fuel
Gas Code (city of Orono MN, permit file, publicinfo.ci.orono.mn.us doc 49992) takes 0.20 air changes
for a newer house: 55,000 Btu/h fan-assisted ask for 4,125 ft3.
"""

from __future__ import annotations

import pytest

from ifclint import job
from ifclint.findings import Outcome
from ifclint.packs import load_packs
from ifclint.rules.combustion.air import combustion_air
from ifclint.testing import ask

PACK = next(pack for pack in load_packs().loaded if pack.name == "combustion")
W_PER_BTU_PER_H = 0.2930710702
HOUSE = """
system=fuel_gas material=steel
gas-meter 1 M  out -2 1 1
pipe 1 P1  -2 1 1 > 1 1 1
furnace F energy=gas draft={draft} input_rating_w={watts} space=Cellar at=1,1,1 gas 1 1 1
room Cellar 0 0 0 > 2 2 2
"""
# air changes: ft3 for 30, 40, 50 thousand Btu/h of natural draft; for 50, 75, 100, 125 fan-assisted
TABLE = {
    0.60: ((1050, 1400, 1750), (1250, 1875, 2500, 3125)),
    0.50: ((1260, 1680, 2100), (1500, 2250, 3000, 3750)),
    0.40: ((1575, 2100, 2625), (1875, 2813, 3750, 4688)),
    0.30: ((2100, 2800, 3500), (2500, 3750, 5000, 6250)),
    0.20: ((3150, 4200, 5250), (3750, 5625, 7500, 9375)),
    0.10: ((6300, 8400, 10500), (7500, 11250, 15000, 18750)),
}
CELLS = [
    (changes, draft, kbtuh, volume)
    for changes, (natural, fan) in TABLE.items()
    for draft, inputs, volumes in (
        ("natural", (30, 40, 50), natural),
        ("fan", (50, 75, 100, 125), fan),
    )
    for kbtuh, volume in zip(inputs, volumes, strict=True)
]


def asked_for_ft3(code: str, draft: str, kbtuh: float, air_changes: float | None) -> float:
    """What the rule requires of a room of 8 ft3 without openings."""
    room = {"room": "Cellar", "openings": [], "air_changes": air_changes}
    assert PACK.section is not None
    told = job.job_of({"combustion": {"rooms": [room]}}, {"combustion": PACK.section})
    text = HOUSE.format(draft=draft, watts=kbtuh * 1000 * W_PER_BTU_PER_H)
    (answer,) = ask(combustion_air, text, code, told, subjects=PACK.subjects).values()
    assert answer.outcome is Outcome.VIOLATION
    assert answer.required is not None
    return float(answer.required.value)


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
@pytest.mark.parametrize(("changes", "draft", "kbtuh", "volume"), CELLS)
def test_known_infiltration(
    code: str, changes: float, draft: str, kbtuh: float, volume: float
) -> None:
    """From 0.40 air changes on the standard method, 50 ft3 for 1,000 Btu/h, may be taken too."""
    least = min(volume, 50 * kbtuh) if changes >= 0.40 else volume
    assert asked_for_ft3(code, draft, kbtuh, changes) == pytest.approx(least, abs=0.51)


def test_no_more_than_six_tenths_of_an_air_change_count() -> None:
    assert asked_for_ft3("ipc-2021", "fan", 100, 0.9) == pytest.approx(2500)


def test_a_worksheet_of_minnesota() -> None:
    assert asked_for_ft3("ipc-2021", "fan", 55, 0.20) == pytest.approx(4125)
    assert asked_for_ft3("ipc-2021", "fan", 55, None) == pytest.approx(2750)
