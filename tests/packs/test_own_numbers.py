"""No number of ours changes unseen."""

from __future__ import annotations

import os

from tests.packs.own_numbers import PAGE, listed, numbers, page


def test_every_number_of_ours_is_listed_as_it_is() -> None:
    if os.environ.get("IFCLINT_WRITE_GOLDEN"):
        PAGE.write_text(page(), encoding="utf-8")
    assert numbers() == listed(), "IFCLINT_WRITE_GOLDEN: writes plugins/NUMBERS.md anew"
