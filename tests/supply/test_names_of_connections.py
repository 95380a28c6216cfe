"""A connection is for cold or hot water by its name, in the languages that names are read in."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import End
from ifclint.plumbing.supply.water_fixtures import labelled


@pytest.mark.parametrize(
    ("name", "side"),
    [
        ("Cold water inlet", "cold"), ("Hot", "hot"), ("Agua fría", "cold"),
        ("Agua caliente", "hot"), ("Kaltwasser", "cold"), ("Eau chaude", "hot"), ("Drain", ""),
        ("Gas", ""), ("", ""), ("Fria", "cold"), ("Caliente", "hot"), ("froid", "cold"),
        ("Eau", ""),
    ],
)  # fmt: skip
def test_the_name_of_a_connection_tells_its_side(name: str, side: str) -> None:
    assert labelled(End(None, name=name)) == side
