"""Quantities are written as the trade reads them, and never as something they are not."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ifclint.engineering.units import IN_PER_FT
from ifclint.engineering.wording import (
    above_or_below,
    apart_text,
    feet_text,
    fraction_text,
    how_many,
    measure_text,
    number_text,
    shortened,
    slope_text,
    tape_text,
    trade_size,
)


@pytest.mark.parametrize(
    ("size", "text"),
    [
        (0.5, "1/2 in"),
        (1.25, "1-1/4 in"),
        (1.5, "1-1/2 in"),
        (2, "2 in"),
        (12.0, "12 in"),
        (None, "size not known"),
    ],
)
def test_sizes_are_trade_fractions(size: float | None, text: str) -> None:
    assert trade_size(size) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (14.0, "14"),
        (0.24, "0.24"),
        (2.0833333, "2.083"),
        (143_500.4, "143,500"),
        (0.00001, "0.00001"),
        (-0.000004, "0"),
        (-3.5, "-3.5"),
        (math.nan, "not known"),
        (math.inf, "not known"),
    ],
)
def test_numbers_are_short_and_without_exponent(value: float, text: str) -> None:
    assert number_text(value) == text


@pytest.mark.parametrize(
    ("slope", "text"),
    [
        (1 / 48, "1/4 in/ft (2.08 %)"),
        (1 / 96, "1/8 in/ft (1.04 %)"),
        (0.02, "0.24 in/ft (2 %)"),
        (-1 / 96, "-1/8 in/ft (-1.04 %)"),
        (None, "slope not known"),
    ],
)
def test_slopes_are_inches_in_a_foot_and_percent(slope: float | None, text: str) -> None:
    assert slope_text(slope) == text


@pytest.mark.parametrize(
    ("feet", "text"),
    [
        (7.25, "7 ft 3 in"),
        (6.0, "6 ft 0 in"),
        (0.5, "6 in"),
        (-1.5, "-1 ft 6 in"),
        (5.9999, "6 ft 0 in"),
        (0.0, "0 in"),
        (None, "length not known"),
    ],
)
def test_lengths_are_feet_and_inches(feet: float | None, text: str) -> None:
    assert feet_text(feet) == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (4.2, "4-1/4 in"),
        (4.26, "4-1/4 in"),
        (4.27, "4-1/2 in"),
        (12.0, "1 ft 0 in"),
        (11.9, "1 ft 0 in"),
        (36.1, "3 ft 1/4 in"),
        (119.9, "10 ft 0 in"),
        (120.1, "10 ft 1 in"),
        (float("nan"), "length not known"),
    ],
)
def test_what_has_to_move_moves_far_enough_as_a_tape_shows_it(inches: float, text: str) -> None:
    assert tape_text(inches / IN_PER_FT) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1.5, "in", "1-1/2 in"),
        (0.25, "in/ft", "1/4 in/ft (2.08 %)"),
        (5.31, "ft", "5.31 ft (5 ft 3-3/4 in)"),
        (6.0, "ft", "6 ft"),
        (14, "DFU", "14 DFU"),
        (45.0, "°", "45°"),
        (3.0, "", "3"),
        (None, "DFU", "not known"),
    ],
)
def test_measures_are_written_in_their_unit(value: float | None, unit: str, text: str) -> None:
    assert measure_text(value, unit) == text


@given(st.integers(min_value=1, max_value=16 * 48))
def test_every_sixteenth_of_an_inch_reads_back(sixteenths: int) -> None:
    whole, _, rest = fraction_text(sixteenths / 16).partition("-")
    read = Fraction(whole) + (Fraction(rest) if rest else 0)
    assert read == Fraction(sixteenths, 16)


@given(st.floats(min_value=-1e9, max_value=1e9))
def test_a_written_number_is_within_its_last_digit(value: float) -> None:
    read = float(number_text(value).replace(",", ""))
    assert read == pytest.approx(value, rel=6e-4, abs=1e-5)


@given(st.floats(allow_nan=True, allow_infinity=True))
def test_no_float_stops_the_writing(value: float) -> None:
    for unit in ("in", "in/ft", "ft", "DFU", ""):
        assert measure_text(value, unit)


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (1, "cleanouts", "1 cleanout"),
        (2, "cleanouts", "2 cleanouts"),
        (1, "water closets", "1 water closet"),
        (1, "psi", "1 psi"),
        (1, "mins", "1 mins"),  # a word of four letters is a symbol
        (1, "traps", "1 trap"),
        (1, "ft/s", "1 ft/s"),
    ],
)
def test_what_is_counted_is_one_or_several(value: float, unit: str, said: str) -> None:
    assert measure_text(value, unit) == said


@pytest.mark.parametrize(
    ("value", "number", "fraction", "feet", "tape"),
    [
        (0.98e12, "980,000,000,000", "980000000000", "980,000,000,000 ft 0 in",
         "980,000,000,000 ft 0 in"),
        (1e12, "1e+12", "1e+12", "1e+12 ft", "1e+12 ft"),
        (1.02e12, "1.02e+12", "1.02e+12", "1.02e+12 ft", "1.02e+12 ft"),
    ],
)  # fmt: skip
def test_what_no_building_holds_is_written_with_an_exponent(
    value: float, number: str, fraction: str, feet: str, tape: str
) -> None:
    assert (number_text(value), fraction_text(value)) == (number, fraction)
    assert (feet_text(value), tape_text(value)) == (feet, tape)


@pytest.mark.parametrize(
    ("feet", "text"),
    [(0.0, "0 in"), (-0.0, "0 in"), (-0.004, "0 in"), (-0.5, "-6 in"), (-1.5, "-1 ft 6 in")],
)
def test_what_is_rounded_to_nothing_has_no_sign(feet: float, text: str) -> None:
    assert feet_text(feet) == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (1 + 0.98 / 64, "1 in"),  # what nobody reads off a tape
        (1 + 1.02 / 64, "1-1/4 in"),
        (119.9, "10 ft 0 in"),
        (119.7, "9 ft 11-3/4 in"),
        (120.0, "10 ft 0 in"),
        (120.1, "10 ft 1 in"),  # from 10 ft on to the inch
        (117.1, "9 ft 9-1/4 in"),
    ],
)
def test_a_length_to_move_goes_up_to_the_next_mark(inches: float, text: str) -> None:
    assert tape_text(inches / 12) == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [(-0.75, "-3/4"), (-1.5, "-1-1/2"), (1.00009, "1"), (1.00011, "1"), (0.3127, "0.3127"),
     (0.31258, "5/16"), (0.0, "0"), (1 / 32, "0.03125")],
)  # fmt: skip
def test_inches_are_fractions_where_they_are_ones(inches: float, text: str) -> None:
    assert fraction_text(inches) == text


def test_on_which_side_a_height_lies() -> None:
    assert [above_or_below(height) for height in (0.5, 0, -0.5)] == ["above", "above", "below"]


def test_a_long_list_is_shortened_in_its_middle() -> None:
    letters = list("abcdefghij")
    assert shortened(letters[:9], str) == letters[:9]
    assert shortened(letters, str) == ["a", "b", "c", "d", "… 2 more …", "g", "h", "i", "j"]
    assert shortened(letters, str, ends=1) == ["a", "… 8 more …", "j"]


@pytest.mark.parametrize(
    ("value", "limit", "unit", "text"),
    [
        (80.12, 80, "psi", "80.1 psi"),
        (14.977, 15, "psi", "14.98 psi"),
        (5.022, 5, "ft", "5 ft 1/4 in"),
        (6.004, 6, "ft", "6 ft 1/16 in"),
        (5 + 1 / 768, 5, "ft", "5 ft 0.01562 in"),
        (7.25, 5, "ft", "7 ft 3 in"),
        (80.0002, 80, "psi", "80.0002 psi"),
        (0.2496, 0.25, "in per ft", "0.2496 in per ft"),
        (21, 20, "DFU", "21 DFU"),
        (3, 3, "in", "3 in"),
    ],
)
def test_a_value_is_told_apart_from_its_limit(
    value: float, limit: float, unit: str, text: str
) -> None:
    assert apart_text(value, limit, unit) == text


@pytest.mark.parametrize(
    ("count", "one", "said"),
    [
        (1, "load", "1 load"),
        (2.0, "load", "2 loads"),
        (0, "cap", "0 caps"),
        (1, "fixture or drain", "1 fixture or drain"),
        (3, "fixture or drain", "3 fixtures or drains"),
        (2, "lavatory", "2 lavatories"),
        (2, "laundry tray", "2 laundry trays"),
        (4, "piece of pipework or pipe", "4 pieces of pipework or pipe"),
    ],
)
def test_one_is_told_in_the_singular(count: float, one: str, said: str) -> None:
    assert how_many(count, one) == said
