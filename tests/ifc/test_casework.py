"""Which furniture is fixed to the building."""

from __future__ import annotations

import pytest

from ifclint.ifc.building.architecture import FIXED_WORDS


@pytest.mark.parametrize(
    ("name", "is_fixed"),
    [
        ('Base Cabinet-Double Door & 2 Drawer:36"', True),
        ("Kitchen island casework", True),
        ("Built-in wardrobe", True),
        ("Waschtischunterschrank 80", True),
        ("Meuble bas cuisine", True),
        ("Armario empotrado", True),
        ("File cabinet, 4 drawers", False),
        ("Filing Cabinet", False),
        ("Mobile cabinet", False),
        ("Desk", False),
        ("Wardrobe", False),
        ("Islander chair", False),
    ],
)
def test_what_is_fixed(name: str, is_fixed: bool) -> None:
    assert bool(FIXED_WORDS.match(name)) is is_fixed
