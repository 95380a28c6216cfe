"""What passes an element: how many of some, and to which outlet."""

from __future__ import annotations

from ifclint.engineering.arithmetic import or_zero
from ifclint.testing import context_of

DRAIN = """
lavatory L1  0 0 3
pipe 2 P1  0 0 3 > 0 0 0
pipe 2 P2  0 0 0 > 5 0 -0.1
sewer-connection S  5 0 -0.1
pipe 1 W system=cold_water  0 9 0 > 5 9 0
"""


def test_how_many_pass_and_where_to() -> None:
    drainage = context_of(DRAIN).plumbing.drainage
    lavatory, upper, lower, sewer, water = range(5)
    through = drainage.how_many([lavatory, lavatory, water])
    assert (through[upper], through[lower], through[water]) == (2, 2, 1)
    outlet = drainage.outlet_of(lavatory)
    assert outlet is drainage.outlet_of(sewer) is drainage.outlets[0]
    assert drainage.outlet_of(water) is None


def test_what_is_not_known_counts_as_nothing() -> None:
    assert [or_zero(value) for value in (None, 0.0, 2.5)] == [0.0, 0.0, 2.5]
