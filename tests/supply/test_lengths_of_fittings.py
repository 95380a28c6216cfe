"""Fittings of pipe whose joints no table lists, in inside diameters."""

from __future__ import annotations

import pytest

from ifclint.rules.supply.losses import fittings_m
from ifclint.rules.supply.pressure_model import solution
from ifclint.testing import context_of

LINE = """
system=cold_water material=pex
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 20 0 0
{fitting}
pipe 1 P2  20 0 0 > {to}
water-closet WC flush_type=gravity-tank  cold {to}
"""


@pytest.mark.parametrize(
    ("fitting", "to", "diameters"),
    [
        ("bend 1 F  20 0 0 > 20 0 0", "20 5 0", 30.0),  # Crane TP 410 (from memory), as the rest
        ("eighth-bend 1 F  20 0 0 > 20 0 0", "25 5 0", 16.0),
        ("tee 1 F  20 0 0 > 20 0 0 > 20 0 0", "25 0 0", 20.0),
    ],
)
def test_a_fitting_is_so_many_diameters(fitting: str, to: str, diameters: float) -> None:
    context = context_of(LINE.format(fitting=fitting, to=to))
    found = [
        fittings_m(s, 1.0, 0.02, s.length_m, context)[0] for s in solution(context).supply.segments
    ]
    assert sum(found) == pytest.approx(diameters * 0.02)
