"""Toilets and urinals that take no water."""

from __future__ import annotations

import pytest

from ifclint.testing.questions import context_of

HOUSE = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 10 0 0
lavatory L  cold 10 0 0 > 10 1 0
pipe 2 P2 system=sanitary_drainage  10 1 0 > 20 1 -0.3
sewer-connection S  20 1 -0.3
water-closet C{said}  30 5 0
pipe 3 V system={system}  30 5 0 > 30 5 12
"""


def of(said: str, system: str = "vent", closet: str = "water-closet") -> tuple[bool, bool]:
    """Whether the closet of a house is one that drains, and one that takes water."""
    text = HOUSE.replace("water-closet", closet).format(said=said, system=system)
    plumbing = context_of(text).plumbing
    drains = any(f.element.guid == "C" for f in plumbing.fixtures)
    return drains, any(f.element.guid == "C" for f in plumbing.supply.fixtures)


@pytest.mark.parametrize(
    ("said", "system", "closet", "drains", "takes"),
    [
        ("", "vent", "water-closet", True, True),
        (" nonwater=yes", "vent", "water-closet", False, False),
        (" nonwater=yes", "sanitary_drainage", "water-closet", True, False),  # what seeps from it
        (" nonwater=yes", "vent", "urinal", True, False),
        ("", "vent", "urinal", True, True),
    ],
)
def test_what_takes_no_water(said, system, closet, drains, takes):
    assert of(said, system, closet) == (drains, takes)
