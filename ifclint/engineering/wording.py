"""How quantities are written, in one place: trade fractions, slopes, feet and inches.

Values come in the unit their name says and go out as text a plumber reads off a drawing.
Nothing here decides anything, and nothing here is parsed back.
"""

import math
import re
import textwrap
from collections.abc import Callable, Sequence
from functools import cache, partial
from typing import TypeVar

from ifclint.engineering.units import IN_PER_FT

T = TypeVar("T")
FRACTION = 16  # a rule is read to sixteenths of an inch
BEYOND = 1e12  # no building holds a quantity like this; it is written with an exponent
NOTHING = 1e-5  # less is the noise of coordinates, in whatever unit
UNKNOWN = "not known"
TO_THE_INCH_FT = 10.0  # lengths from here on are told to the inch
READ_IN = 1 / 64  # what nobody reads off a tape
FINEST = 6  # digits, and 2 to this power parts of an inch, that a value is told apart with
LONGEST_SYMBOL = 4  # letters of a unit: "psi", "gpm"; longer words are what is counted
_Y = re.compile(r"[^aeiou]y\Z")
_NUMBER = re.compile(r"([0-9]{1,18})")


def as_counted(name: str) -> list[str | int]:
    """A name, to be sorted by the numbers in it as they are counted.

    >>> sorted(["L-10", "L-2", "L-1"], key=as_counted)
    ['L-1', 'L-2', 'L-10']
    """
    return [int(part) if i % 2 else part for i, part in enumerate(_NUMBER.split(name))]


def shortened(items: Sequence[T], rest: Callable[[str], T], ends: int = 4) -> list[T]:
    """The first and the last of a long list, and what stands for the rest between them.

    >>> shortened("abcdef", lambda more: f"({more})", ends=2)
    ['a', 'b', '(… 2 more …)', 'e', 'f']
    """
    left_out = len(items) - 2 * ends
    if left_out <= 1:  # one is told as shortly as left out
        return list(items)
    return [*items[:ends], rest(f"… {left_out} more …"), *items[-ends:]]


def so_with_more(count: int) -> str:
    """What follows a sentence about the first of so many."""
    return f" So it is with {count - 1} more." if count > 1 else ""


def wrapped(
    text: str, width: int, first: str = "", then: str = "", keep_words: bool = False
) -> list[str]:
    """The text in lines, the first and those after it begun so; broken at no hyphen, and within a
    word longer than a line unless those are kept."""
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=then,
        break_on_hyphens=False,
        break_long_words=not keep_words,
    )


def how_many(count: float, one: str) -> str:
    """1 load, 2 loads."""
    return f"{number_text(count)} {one if count == 1 else plural(one)}"


def plural(noun: str) -> str:
    """Loads, lavatories, bathtubs or showers, pieces of pipe."""
    noun, *of = noun.split(" of ", 1)
    several = [f"{n[:-1]}ies" if _Y.search(n) else f"{n}s" for n in noun.split(" or ")]
    return " of ".join((" or ".join(several), *of))


def above_or_below(height: float) -> str:
    """On which side of something a height over it lies.

    >>> above_or_below(0.5), above_or_below(0), above_or_below(-0.5)
    ('above', 'above', 'below')
    """
    return "below" if height < 0 else "above"


def number_text(value: float, digits: int = 4) -> str:
    """`digits` significant digits; the whole part is kept in full: "143,500", "0.24"."""
    if not math.isfinite(value):
        return UNKNOWN
    if abs(value) < NOTHING:
        return "0"
    if abs(value) >= BEYOND:
        return f"{value:.{digits}g}"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def sentence(label: str) -> str:
    """A label as the beginning of a sentence."""
    return label[:1].upper() + label[1:]


def with_article(noun: str) -> str:
    """A noun after "a" or "an": "an oil interceptor", "an S-trap", "a urinal", "an 8 in trap"."""
    vowel = noun[:1].lower() in "aeio" or noun.startswith(("S-", "8 ", "11 ", "18 ", "unvented"))
    return f"{'an' if vowel else 'a'} {noun}"


def fraction_text(inches: float, digits: int = 4) -> str:
    """Inches as a trade fraction where they are one: "1-1/2", "3/4", "3"; else decimals: "0.53"."""
    if not abs(inches) < BEYOND:
        return number_text(inches, digits)
    parts = round(abs(inches) * FRACTION)
    close = FRACTION * 10.0**-digits
    if not parts or not math.isclose(abs(inches) * FRACTION, parts, rel_tol=0.0, abs_tol=close):
        return number_text(inches, digits)
    whole, rest = divmod(parts, FRACTION)
    common = math.gcd(rest, FRACTION)
    fraction = f"{rest // common}/{FRACTION // common}" if rest else ""
    sign = "-" if inches != abs(inches) else ""
    return sign + "-".join(part for part in (str(whole) if whole else "", fraction) if part)


@cache
def trade_size(size_in: float | None) -> str:
    """A nominal pipe size: 1.5 -> "1-1/2 in"; None -> "size not known"."""
    return "size not known" if size_in is None else f"{fraction_text(size_in)} in"


def of_size(size_in: float | None) -> str:
    """The size before the name of what has it: 1.5 -> "1-1/2 in "; None -> ""."""
    return "" if size_in is None else f"{trade_size(size_in)} "


def slope_text(slope: float | None, digits: int = 4) -> str:
    """A slope as rise over run: 1/48 -> "1/4 in/ft (2.08 %)"; negative rises in flow direction."""
    if slope is None or not math.isfinite(slope):
        return "slope not known"
    per_foot = fraction_text(slope * IN_PER_FT, digits)
    return f"{per_foot} in/ft ({number_text(slope * 100, digits - 1)} %)"


def feet_text(feet: float | None, nearest_in: float = 0.125) -> str:
    """A length in feet: 7.25 -> "7 ft 3 in", to the nearest eighth of an inch unless told."""
    if feet is None or not math.isfinite(feet):
        return "length not known"
    if abs(feet) >= BEYOND:
        return f"{number_text(feet)} ft"
    inches = round(feet * IN_PER_FT / nearest_in) * nearest_in
    whole, rest = divmod(abs(inches), IN_PER_FT)
    sign = "-" if inches < 0 else ""
    if not whole:
        return f"{sign}{fraction_text(rest)} in"
    return f"{sign}{whole:,.0f} ft {fraction_text(rest)} in"


def apart_text(value: float, limit: float, unit: str = "", digits: int = 3) -> str:
    """A value in its unit, written as shortly as tells it from a limit.

    >>> apart_text(80.12, 80, "psi"), apart_text(5.022, 5, "ft"), apart_text(7.25, 5, "ft")
    ('80.1 psi', '5 ft 1/4 in', '7 ft 3 in')
    """
    by_tape = unit == "ft"
    writers = (
        [partial(feet_text, nearest_in=2.0**-power) for power in range(3, FINEST + 1)]
        if by_tape
        else [partial(number_text, digits=count) for count in range(digits, FINEST + 1)]
    )
    written = (write(value) for write in writers if write(value) != write(limit))
    text = next(written, writers[-1](value))
    return text if by_tape else f"{text} {unit}".strip()


def tape_text(feet: float) -> str:
    """A length by which something has to move, up to the next quarter inch of a tape, from 10 ft on
    to the next inch: 0.35 -> "4-1/4 in", 3.01 -> "3 ft 1/4 in"."""
    if not abs(feet) < BEYOND:
        return feet_text(feet)
    part_in = 0.25 if feet < TO_THE_INCH_FT else 1.0
    parts = math.ceil(feet * IN_PER_FT / part_in - READ_IN / part_in)
    return feet_text(parts * part_in / IN_PER_FT, part_in)


def measure_text(value: float | None, unit: str = "", digits: int = 4) -> str:
    """A value in its unit: sizes and slopes as fractions, feet with inches beside the decimals."""
    if value is None or not math.isfinite(value):
        return UNKNOWN
    if unit == "in":
        return f"{fraction_text(value, digits)} in"
    if unit == "in/ft":
        return slope_text(value / IN_PER_FT, digits)
    number = number_text(value, digits)
    if unit == "ft":
        inches = feet_text(value)
        return f"{number} ft" if inches.endswith(" 0 in") else f"{number} ft ({inches})"
    if unit in ("°", "deg"):
        return f"{number}°"
    return f"{number} {_one(unit) if value == 1 else unit}".strip()


def _one(unit: str) -> str:
    """What is counted, in the singular: "cleanouts" -> "cleanout"; units of measure stay."""
    counted = unit.endswith("s") and len(unit) > LONGEST_SYMBOL and unit.replace(" ", "").isalpha()
    return unit[:-1] if counted else unit
