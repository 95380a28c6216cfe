"""The number that eight signs of a text begin or end with, for many texts at once.

The eight are one integer each, the first sign lowest. What is no digit is marked in its byte, with
all that lies beyond it; of the rest, neighbours are put together: two, four and eight.
"""

import numpy as np

from ifclint.ifc.step.arrays import Eights, Ints

EACH = 0x0101010101010101
_PAIRS = tuple(  # bits of a half, what the first half counts, where the sums stand
    (bits, np.uint64(10 ** (bits // 8)), np.uint64(sums))
    for bits, sums in ((8, 0x00FF00FF00FF00FF), (16, 0x0000FFFF0000FFFF), (32, 0xFFFFFFFF))
)


def number_at_start(eight: Eights) -> tuple[Ints, Ints]:
    """The number that eight signs begin with, and how many digits it has."""
    value, other = _values(eight)
    for bits in (8, 16, 32):
        other |= other << bits
    count = (other * EACH) >> 56
    return _sum(value << (8 * count)), 8 - count.astype(np.int64)


def number_at_end(eight: Eights) -> tuple[Ints, Ints]:
    """The number that eight signs end with, and how many digits it has."""
    value, other = _values(eight)
    for bits in (8, 16, 32):
        other |= other >> bits
    count = (other * EACH) >> 56
    return _sum(value & ~(other * 0xFF)), 8 - count.astype(np.int64)


def _values(eight: Eights) -> tuple[Ints, Ints]:
    """What each sign is as a digit, and 1 in the bytes of those that are none."""
    value = eight ^ np.uint64(EACH * 0x30)
    other = (((value & (EACH * 0x7F)) + EACH * 6) | value) & (EACH * 0xF0)
    other |= other >> 1
    other |= other >> 2
    return value, (other >> 4) & EACH


def _sum(value: Ints) -> Ints:
    """The number of eight digits, of which any first ones are 0."""
    for bits, factor, sums in _PAIRS:
        value = (value * factor + (value >> bits)) & sums
    return value.astype(np.int64)
