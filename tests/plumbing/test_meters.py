"""A meter of a dwelling is no source; meters side by side on one service are."""

from __future__ import annotations

import pytest

from ifclint.plumbing.supply.water_supply import find_supply
from ifclint.testing import read_network

DWELLINGS = """
pipe 1.5 RISER  1 0 0 > 10 0 0
pipe 1.5 TOP  10 0 0 > 20 0 0
pipe 0.75 A  10 0 0 > 10 5 0
water-meter 0.75 MA  {into}10 5 0 > {out}10 6 0
pipe 0.75 A2  10 6 0 > 10 9 0
lavatory LA  cold 10 9 0
pipe 0.75 B  20 0 0 > 20 5 0
water-meter 0.75 MB  {into}20 5 0 > {out}20 6 0
pipe 0.75 B2  20 6 0 > 20 9 0
"""
MAIN = "water-meter 1.5 MAIN  {into}0 0 0 > {out}1 0 0\npipe 2 STREET  -9 0 0 > 0 0 0\n"
LAVATORY = "lavatory LB  cold 20 9 0\n"
TOLD, UNSTATED = {"into": "in ", "out": "out "}, {"into": "", "out": ""}


def heads(text: str, ends: dict[str, str]) -> set[str]:
    network = read_network("system=cold_water material=copper\n" + text.format(**ends))
    return {network.elements[i].guid for i in find_supply(network).heads}


@pytest.mark.parametrize("ends", [TOLD, UNSTATED])
@pytest.mark.parametrize("second", [LAVATORY, ""])  # a dwelling that is not drawn
def test_the_meters_of_dwellings_are_no_sources(ends: dict[str, str], second: str) -> None:
    assert heads(MAIN + DWELLINGS + second, ends) == {"STREET"}  # before the building's own meter
    assert heads(DWELLINGS + second + MAIN, ends) == {"STREET"}


@pytest.mark.parametrize("ends", [TOLD, UNSTATED])
@pytest.mark.parametrize("main", ["{into}0 0 0 > {out}1 0 0", "{out}1 0 0"])
def test_nothing_need_be_drawn_before_the_meter_of_the_building(
    ends: dict[str, str], main: str
) -> None:
    assert heads(f"water-meter 1.5 MAIN  {main}\n" + DWELLINGS + LAVATORY, ends) == {"MAIN"}
    alike = f"water-meter 0.75 MAIN  {main}\n" + DWELLINGS + LAVATORY
    before_them = "pipe 0.5 L  10 0 0 > 10 -5 0\nlavatory LX  cold 10 -5 0\n"
    assert heads(alike + before_them, ends) == {"MAIN"}
    assert (heads(alike, ends) == {"MAIN"}) == (ends is TOLD)  # else it may be a dwelling's


@pytest.mark.parametrize("ends", [TOLD, UNSTATED])
def test_the_meter_of_a_dwelling_that_is_not_drawn_is_no_source(ends: dict[str, str]) -> None:
    third = "water-meter 0.75 MC  {into}10 0 0 > {out}10 1 0\n"
    assert "MC" not in heads(MAIN + DWELLINGS + LAVATORY + third, ends)


@pytest.mark.parametrize("ends", [TOLD, UNSTATED])
def test_two_meters_on_one_service_are_both_at_the_street(ends: dict[str, str]) -> None:
    found = heads(DWELLINGS + LAVATORY, ends)
    network = read_network("system=cold_water\n" + (DWELLINGS + LAVATORY).format(**ends))
    supply = find_supply(network)
    served = {f.element.guid for f in supply.fixtures if any(t.segment for t in f.taps)}
    assert served == {"LA", "LB"}
    assert found & {"MA", "MB", "A", "B", "RISER", "TOP"}


def test_two_services_of_two_buildings() -> None:
    lone = "water-meter 1 M2  in 0 90 0 > out 1 90 0\npipe 1 P2  1 90 0 > 9 90 0\n"
    assert heads(MAIN + DWELLINGS + LAVATORY + lone, TOLD) == {"STREET", "M2"}


@pytest.mark.parametrize(
    ("past", "found"),
    [
        ("pipe 1 LONG 1 0 0 > 40 0 0\n", "STUB"),  # the longer leads to the house
        ("pipe 1 LONG 1 0 0 > 2 0 0\nisolating 1 V 2 0 0 > 2.1 0 0\n", "STUB"),  # so does a valve
        ("pipe 1 LONG 1 0 0 > 4 0 0\n", "M"),  # nothing tells them apart
        ("pipe 1 LONG 1 0 0 > 2 0 0\nlavatory L  cold 2 0 0\n", "STUB"),
    ],
)
def test_the_side_of_a_lone_meter_that_leads_to_the_house(past: str, found: str) -> None:
    """A site drawing: no fixtures, and no directions at the ends of the meter."""
    text = "water-meter 1 M  0 0 0 > 1 0 0\npipe 1 STUB -3 0 0 > 0 0 0\n"
    assert heads(text + past, UNSTATED) == {found}
