"""Values that may be missing or below zero."""

from __future__ import annotations

from ifclint.engineering.arithmetic import largest, not_below_zero, or_zero


def test_what_is_not_known_is_zero_where_it_is_added_up() -> None:
    assert or_zero(None) == 0
    assert or_zero(-2.5) == -2.5


def test_nothing_is_less_than_nothing() -> None:
    assert not_below_zero(-1e-3) == 0
    assert not_below_zero(2.5) == 2.5


def test_the_largest_of_none_is_zero_and_of_some_may_be_less() -> None:
    assert largest([]) == 0
    assert largest(iter([2.5, -1.0])) == 2.5
    assert largest([-2.5, -1.0]) == -1.0
