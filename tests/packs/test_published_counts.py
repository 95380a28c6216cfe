"""Counts of fixtures as people work them out elsewhere, by the rules' own arithmetic."""

from __future__ import annotations

import pytest

from ifclint import job
from ifclint.packs import load_packs
from ifclint.rules.fixtures.needs import need
from ifclint.testing import context_of

PACK = next(pack for pack in load_packs().loaded if pack.name == "fixtures")


def closets(code: str, classification: str, men: int, women: int) -> tuple[int, int]:
    """Water closets for men and for women."""
    assert PACK.section is not None
    people = {
        "classification": classification,
        "occupants": men + women,
        "male_share": men / (men + women),
    }
    told = job.job_of({"fixtures": {"occupancies": [people]}}, {"fixtures": PACK.section})
    context = context_of("lavatory L  0 0 0", code, told)
    return (
        need(context, "water-closet", "male").number,
        need(context, "water-closet", "female").number,
    )


# thebuildingcodeforum.com thread 38899, an office by UPC Table 422.1: 60 men and 60 women need 2
# and 4; 1 serves 50 men, 2 serve 30 women, 1 serves 15 women
@pytest.mark.parametrize(
    ("men", "women", "needed"), [(60, 60, (2, 4)), (50, 30, (1, 2)), (10, 15, (1, 1))]
)
def test_upc_office(men: int, women: int, needed: tuple[int, int]) -> None:
    assert closets("upc-2021", "business", men, women) == needed


# Building code forum on IPC 403.1: a three-storey office of 100 persons a floor needs 2 and 2 a
# floor; 67 persons at one closet for 40 need 33.5 / 40 = 0.84, one for each sex
def test_ipc_office_and_bar() -> None:
    assert closets("ipc-2021", "business", 50, 50) == (2, 2)
    assert closets("ipc-2021", "nightclub", 33, 34) == (1, 1)
