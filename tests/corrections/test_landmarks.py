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
