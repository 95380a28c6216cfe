"""What a correction without a room is said to be near."""

from __future__ import annotations

import pytest

from ifclint.corrections.landmarks import REACH_M, Landmarks
from ifclint.ifc.elements import Element, Location, Role


def lavatory(
    at: float, name: str = "Lavatory", tag: str = "", space: str = "", storey: str = "Level 3"
) -> Element:
    return Element(
        guid=f"{name}{at}{storey}",
        name=name,
        tag=tag,
        role=Role.FIXTURE,
        position=(at, 0.0, 6.0),
        storey=storey,
        space=space,
    )


@pytest.mark.parametrize(
    ("elements", "near"),
    [
        ([lavatory(1)], "Lavatory"),
        ([lavatory(1, tag="L-3A"), lavatory(9, tag="L-3B")], "Lavatory L-3A"),
        ([lavatory(1, tag="L-3A"), lavatory(9, tag="L-4A", storey="Level 4")], "Lavatory"),
        (  # the mark of its type, not its own
            [lavatory(1, tag="L-1", space="Bath 3A"), lavatory(9, tag="L-1", space="Bath 3B")],
            "Lavatory in Bath 3A",
        ),
        ([lavatory(1, space="Bath 3A"), lavatory(9, space="Bath 3B")], "Lavatory in Bath 3A"),
        ([lavatory(1, space="Restroom"), lavatory(2, space="Restroom")], "Lavatory"),
        (  # numbers that an authoring program gives are nothing to look for
            [
                lavatory(1, "Lavatory:22 x 18:334455", "334455", "Bath 3A"),
                lavatory(9, "Lavatory:22 x 18:334466", "334466", "Bath 3B"),
            ],
            "Lavatory:22 x 18:334455 in Bath 3A",
        ),
        ([lavatory(1, "Lavatory L-3A", "L-3A"), lavatory(9, "Lavatory L-3B")], "Lavatory L-3A"),
        ([lavatory(REACH_M + 0.1)], ""),
    ],
)
def test_the_nearest_is_told_from_others_alike(elements: list[Element], near: str) -> None:
    place = Location(storey="Level 3", x=0.0, y=0.0, z=6.0)
    assert Landmarks(elements).near(place) == near
    assert Landmarks(elements[::-1]).near(place) == near


@pytest.mark.parametrize(("away_m", "is_near"), [(7.98, True), (8.02, False)])
def test_what_is_farther_than_eight_metres_is_no_help(away_m: float, is_near: bool) -> None:
    sink = Element("s", name="Sink", role=Role.FIXTURE, storey="L1", position=(0.0, away_m, 0.0))
    said = Landmarks([sink]).near(Location("L1", "", 0.0, 0.0, 0.0))
    assert said == ("Sink" if is_near else "")
    assert Landmarks([]).near(Location("L1", "", 0.0, 0.0, 0.0)) == ""
