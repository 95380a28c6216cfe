"""Arguments of many instances at once, as arrays.

References are read from the closing parenthesis of an instance backwards, straight from the bytes
of the file. What is written in an unusual way is told from the rest (`well`) and left to whoever
reads single instances.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ifclint.ifc.step.arrays import Bools, Bytes, Eights, Floats, Ints
from ifclint.ifc.step.digits import EACH, number_at_end
from ifclint.ifc.step.scanning import LONGEST_NUMBER
from ifclint.ifc.step.text_index import TextIndex

MOST_MEMBERS = 64  # of a list that is read here; longer ones are rare
MIXING = 0x9E3779B97F4A7C15  # odd, its bits spread evenly
FIRST = np.array([(1 << 8 * count) - 1 for count in range(9)], dtype="<u8")  # so many of eight
_OF_NUMBERS = b"0123456789.-+E"
_UNSET_IS_ZERO = bytes.maketrans(b"$", b"0")
HASH, DOLLAR, STAR, COMMA, QUOTE, OPENING, CLOSING = b"#$*,'()"


class Lists(NamedTuple):
    """The references in each of many lists: how many, and all in turn.

    `before` is where the argument before the list ends; `well` where the list was plain.
    """

    counts: Ints
    members: Ints
    before: Ints
    well: Bools


def references(text: TextIndex, at: Ints, width: int) -> tuple[Ints, Ints, Bools]:
    """The arguments (n, width) that end at each place, 0 where unset; the place of the sign before
    them; and where all were plain."""
    found = np.zeros((len(at), width), dtype=np.int64)
    well = np.ones(len(at), dtype=bool)
    for column in range(width - 1, -1, -1):
        found[:, column], at, plain = reference_before(text, at)
        well &= plain
        if column:
            well &= text.signs[at] == COMMA
            at = at - 1
    return found, at, well


def reference_before(text: TextIndex, at: Ints) -> tuple[Ints, Ints, Bools]:
    """The reference that ends at each place (0 where unset), the place of the sign before it, and
    where it was plain."""
    eight = text.eights[at - 7]  # the last eight signs, the very last of them on top
    last = eight >> 56
    unset = (last == DOLLAR) | (last == STAR)
    found, digits = number_at_end(eight)
    _add_longer(text.signs, at, digits == 8, found, digits)
    before = at - digits - ~unset
    well = unset | ((digits > 0) & (text.signs[before + 1] == HASH))
    return found, np.where(unset, at - 1, before), well


def _add_longer(signs: Bytes, at: Ints, run: Bools, found: Ints, digits: Ints) -> None:
    """What stands before the last eight digits of numbers that are longer."""
    rows = np.flatnonzero(run)
    for k in range(8, LONGEST_NUMBER):
        digit = signs[at[rows] - k] - np.uint8(48)
        rows, digit = rows[digit < 10], digit[digit < 10]
        if not len(rows):
            break
        found[rows] += digit.astype(np.int64) * 10**k
        digits[rows] += 1


def lists(text: TextIndex, at: Ints) -> Lists:
    """The lists of references whose closing parentheses are at these places."""
    signs = text.signs
    well, at = signs[at] == CLOSING, at - 1
    counts = np.zeros(len(at), dtype=np.int64)
    open_ = np.flatnonzero(well)
    rounds: list[tuple[Ints, Ints]] = []
    for _ in range(MOST_MEMBERS):
        if not len(open_):
            break
        number, before, plain = reference_before(text, at[open_])
        sign = signs[before]
        plain &= (number > 0) & ((sign == COMMA) | (sign == OPENING))
        well[open_[~plain]] = False
        rounds.append((open_[plain], number[plain]))
        counts[open_[plain]] += 1
        at[open_] = before - 1
        open_ = open_[plain & (sign == COMMA)]
    well[open_] = False
    well &= (signs[at] == COMMA) | (signs[at] == OPENING)
    counts[~well] = 0
    return Lists(counts, _in_turn(counts, rounds, well), at - 1, well)


def _in_turn(counts: Ints, rounds: list[tuple[Ints, Ints]], well: Bools) -> Ints:
    """Members of all lists, read from the last of each to its first."""
    after = np.cumsum(counts)
    members = np.zeros(int(counts.sum()), dtype=np.int64)
    for number, (rows, found) in enumerate(rounds):
        fit = well[rows]
        members[after[rows[fit]] - 1 - number] = found[fit]
    return members


def texts(text: TextIndex, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Which pieces of the text are alike: a code for each, and a row of each code."""
    sizes = ends - starts
    mixed = sizes.astype("<u8")
    for rows, window in _windows(text, starts, sizes, np.arange(len(sizes))):
        mixed[rows] = (mixed[rows] ^ window) * MIXING
        mixed[rows] ^= mixed[rows] >> np.uint64(29)
    _, examples, codes = np.unique(mixed, return_index=True, return_inverse=True)
    like = examples[codes]
    well = sizes == sizes[like]
    pairs = zip(
        _windows(text, starts, sizes, np.flatnonzero(well)),
        _windows(text, starts[like], sizes, np.flatnonzero(well)),
        strict=True,
    )
    for (rows, own), (_, other) in pairs:
        well[rows[own != other]] = False
    odd = np.flatnonzero(~well)  # pieces that only look alike when mixed: each is its own kind
    codes[odd] = np.arange(len(odd)) + len(examples)
    return codes, np.concatenate([examples, odd])


def _windows(
    text: TextIndex, starts: Ints, sizes: Ints, rows: Ints
) -> Iterator[tuple[Ints, Eights]]:
    """Eight bytes after eight of the pieces in these rows; rows, and what they have there."""
    k = 0
    while len(rows := rows[sizes[rows] > k]):
        yield rows, text.eights[starts[rows] + k] & FIRST[np.minimum(sizes[rows] - k, 8)]
        k += 8


def first_of(text: TextIndex, sign: int, starts: Ints, ends: Ints) -> Ints:
    """The first place of a sign between starts and ends; the end where there is none."""
    found = ends.astype(np.int64)
    rows, at = np.arange(len(ends)), starts.astype(np.int64)
    while len(rows):
        eight = text.eights[at] ^ (EACH * sign)
        place = np.full(len(rows), -1)
        for k in range(7, -1, -1):
            place = np.where((eight >> (8 * k)) & 255 == 0, at + k, place)
        hit = (place >= 0) & (place < ends[rows])
        found[rows[hit]] = place[hit]
        on = (place < 0) & (at + 8 < ends[rows])
        rows, at = rows[on], at[on] + 8
    return found


def last_of(text: TextIndex, sign: int, ends: Ints, starts: Ints) -> Ints:
    """The last place of a sign between starts and ends; -1 where there is none."""
    found = np.full(len(ends), -1, dtype=np.int64)
    rows, at = np.arange(len(ends)), ends - 8
    while len(rows):
        eight = text.eights[at] ^ (EACH * sign)
        hit = np.zeros(len(rows), dtype=bool)
        place = at + 7
        for k in range(7, -1, -1):
            here = ~hit & ((eight >> (8 * k)) & 255 == 0)
            place[here] = at[here] + k
            hit |= here
        inside = hit & (place >= starts[rows])
        found[rows[inside]] = place[inside]
        on = ~hit & (at > starts[rows])
        rows, at = rows[on], np.maximum(at[on] - 8, 0)
    return found


def numbers(arguments: list[bytes], pattern: bytes, unset: bytes = b"") -> tuple[Floats, Bools]:
    """All numbers (n, width) of arguments like b"#1,$,(0.,1.)", and where they were plain.

    `pattern` is what all have in common without their digits: b"#,,(,)". References count as
    numbers; signs in `unset` as 0.
    """
    count, width = len(arguments), pattern.count(b",") + 1
    text, alike = b",".join(arguments), b",".join([pattern] * count)
    well = np.ones(count, dtype=bool)
    if text.translate(None, _OF_NUMBERS + unset) != alike:
        plain = [a.translate(None, _OF_NUMBERS + unset) == pattern for a in arguments]
        well = np.array(plain, dtype=bool)
        arguments = [a for a, fit in zip(arguments, plain, strict=True) if fit]
        text = b",".join(arguments)
    at_once = _parsed(text, len(arguments) * width)
    if at_once is None:
        nothing = np.full(width, np.nan)
        rows = [_parsed(a, width) for a in arguments]
        at_once = np.array([nothing if row is None else row for row in rows])
    found = np.zeros((count, width))
    found[well] = at_once.reshape(-1, width)
    well &= np.isfinite(found).all(axis=1)
    return found, well


def _parsed(text: bytes, count: int) -> Floats | None:
    """So many numbers with commas between them, None where they are otherwise."""
    import warnings

    text = text.translate(_UNSET_IS_ZERO, b"#()")
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # how text that is no number is told
        try:
            found = np.fromstring(text.decode("ascii"), dtype="float64", sep=",")
        except (DeprecationWarning, ValueError):
            return None
    return found if found.size == count else None


def rows_of(ids: Ints, wanted: Ints) -> Ints:
    """Row of each wanted number among ascending ids, -1 where it is not among them."""
    if not len(ids):
        return np.full(len(wanted), -1)
    at = np.minimum(np.searchsorted(ids, wanted), len(ids) - 1)
    return np.where(ids[at] == wanted, at, -1)
