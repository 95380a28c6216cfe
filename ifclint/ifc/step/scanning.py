"""Where each instance stands in the text of a file, found for all of them at once.

The text is gone through once, in pieces that fit the processor's cache; then the head of each line
(`#12=IFCWALL(`) is taken apart eight signs at a time, for many lines together.
"""

import os
import re
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import NamedTuple, TypeVar

import numpy as np

from ifclint.ifc.step.arrays import Bools, Bytes, Eights, Ints, Keys
from ifclint.ifc.step.digits import EACH, number_at_start

T = TypeVar("T")
Columns = tuple[Ints, Ints, Ints, Keys]
LONGEST_NUMBER = 18  # digits of an instance number
LARGEST_SHORT = 2**31  # numbers below are kept in half the room
LONGEST_NAME = 64  # letters of a class name
SHORT = 11  # letters of a class name
PIECE = 1 << 20  # bytes
BLOCK = 1 << 15  # lines
TAB, LINE_FEED, CARRIAGE_RETURN, SPACE, QUOTE, STAR, SLASH, EQUALS, CAPITAL_I = b"\t\n\r '*/=I"
DOT, SMALL_A, SEMICOLON = b".a;"
_HEADER = re.compile(rb"(?:[^'E/]++|'[^']*+'|/\*.*?\*/|/|E(?!NDSEC\s*;))*+ENDSEC\s*;", re.S | re.I)
_BACKSLASH = re.compile(
    rb"\\(?:X2\\(?:[0-9A-Fa-f]{4})*\\X0\\|X4\\(?:[0-9A-Fa-f]{8})*\\X0\\|X\\[0-9A-Fa-f]{2}|S\\."
    rb"|P[A-I]\\|N\\|\\)|(\\)"
)
MIXING = np.uint64(0x9E3779B97F4A7C15)  # odd, so that every letter tells in the upper half
_TOPS = 0x8080808080808080
_SMALL = EACH * 0x40  # of the signs of a name, only small letters have this bit and the next lower
_PARENTHESES = EACH * 40


class ScannedText(NamedTuple):
    """Of all instances in file order: numbers, starts of their class names, opening parentheses,
    the semicolons after them and keys of their classes (arrays). `sound` tells that parentheses
    and quotes are in pairs, strings begin and end where arguments do, backslashes begin what is
    known and there is one equals sign for each instance, `plain` that there are only letters and
    signs of ASCII that can be printed."""

    ids: Ints
    starts: Ints
    parens: Ints
    ends: Ints
    keys: Keys
    sound: bool
    plain: bool


COLUMNS = ScannedText._fields[:5]  # the arrays


def eights_of(data: bytes) -> Eights:
    """Every eight bytes in a row as one number, the first of them lowest."""
    return np.ndarray((max(0, len(data) - 7),), "<u8", data, strides=(1,))


def header_end(data: bytes) -> int:
    """Where the header section has ended; 0 where there is none."""
    found = _HEADER.match(data)
    return found.end() if found else 0


def scan(data: bytes, comments: bool = True) -> ScannedText | None:
    """All instances; None where some line of the data section is not one instance, or there may
    be `comments`."""
    first, last = header_end(data), data.rfind(b"ENDSEC;")
    begin = data.find(b"\n#", first) + 1
    if not first < begin < last or data[first:begin].strip() != b"DATA;" or b"#" in data[last:]:
        return None
    text = np.frombuffer(data, dtype=np.uint8)[:last]
    signs = _Signs(text, begin)
    if (
        signs.unusual
        or signs.broken_strings
        or (comments and (text[signs.stars - 1] == SLASH).any())
    ):
        return None
    stops = signs.stops
    if not len(stops) or data[stops[-1] : last].strip():
        return None
    starts = np.concatenate((np.array([begin], stops.dtype), stops[:-1] + 1))
    ends = stops - (text[stops - 1] == 13) - 1
    columns = _columns(eights_of(data), starts, ends)
    if columns is None:
        return None
    if signs.semicolons != len(ends) and not _only_in_strings(text, begin, ends):
        return None
    ids, names, parens, keys = columns
    sound = signs.paired and signs.equals == len(ends) and not _odd_backslashes(data)
    return ScannedText(ids, names, parens, ends, keys, sound, signs.plain)


def side_by_side(function: Callable[[int], T], places: Iterable[int]) -> list[T]:
    """The function at each place; on arrays, several run at once."""
    with ThreadPoolExecutor(max_workers=min(4, os.cpu_count() or 1)) as pool:
        return list(pool.map(function, places))


class _Signs:
    """Where lines end and stars stand in a text, how often what comes in pairs is there, whether
    there are spaces between arguments or small letters in enumerations (`unusual`), and whether a
    string goes on in the next line (`broken_strings`)."""

    def __init__(self, text: Bytes, begin: int) -> None:
        starts = range(begin, len(text), PIECE)
        pieces = side_by_side(lambda at: _Piece(text, at), starts)
        self.stops = np.concatenate([piece.stops for piece in pieces])
        self.stars = np.concatenate([piece.stars for piece in pieces])
        quotes = 0
        self.unusual = self.broken_strings = self.misplaced = False
        for at, piece in zip(starts, pieces, strict=True):
            if piece.suspect and not self.unusual:
                self.unusual = _is_unusual(text, at, quotes % 2)
            self.broken_strings = self.broken_strings or piece.broken[quotes % 2]
            self.misplaced = self.misplaced or piece.misplaced[quotes % 2]
            quotes += piece.counts[QUOTE]
        opened, closed, self.semicolons, self.equals = (
            sum(p.counts[s] for p in pieces) for s in b"();="
        )
        self.plain = all(piece.plain for piece in pieces)
        self.paired = opened == closed and quotes % 2 == 0 and not self.misplaced


class _Piece:
    """What one piece of the text holds; `suspect` where it may be written in an unusual way."""

    def __init__(self, text: Bytes, at: int) -> None:
        piece = text[at : at + PIECE]
        kind = np.int32 if len(text) < 2**31 - 1 else np.int64
        self.stops = (np.flatnonzero(piece == LINE_FEED) + at).astype(kind)
        quotes = np.flatnonzero(piece == QUOTE)
        inside = np.searchsorted(quotes, self.stops - at) % 2
        self.broken = [bool((inside != q).any()) for q in (0, 1)]
        self.misplaced = [bool(_misplaced(text, quotes + at, q).any()) for q in (0, 1)]
        self.stars = np.flatnonzero(piece == STAR) + at
        self.counts = {sign: int(np.count_nonzero(piece == sign)) for sign in b"();'="}
        breaks = len(self.stops) + int(np.count_nonzero(piece == CARRIAGE_RETURN))
        self.plain = int(np.count_nonzero((piece - SPACE).astype(np.uint8) > 94)) == breaks
        self.suspect = any(len(places) for places in _unusual(text, at))


def _misplaced(text: Bytes, quotes: Ints, in_string: int) -> Bools:
    """Whether a string begins or ends at each quote where no argument does."""
    around = text[quotes - 1], text[np.minimum(quotes + 1, len(text) - 1)]
    wrong = np.empty(len(quotes), dtype=bool)
    for first, signs, beside in ((in_string, b"(,'", 0), (1 - in_string, b",)'", 1)):
        wrong[first::2] = ~_among(signs)[around[beside][first::2]]
    return wrong


def broken(scanned: ScannedText, data: bytes) -> list[int]:
    """The numbers of instances in which a string begins or ends where no argument does, a backslash
    begins nothing that is known, the parentheses outside of strings are not in pairs, or an equals
    sign tells that it holds the next one, as where the semicolon between them is missing."""
    starts, ends = scanned.starts, scanned.ends
    text = np.frombuffer(data, dtype=np.uint8)[: int(ends[-1])]
    quotes = np.flatnonzero(text[starts[0] :] == QUOTE) + starts[0]
    wrong = np.zeros(len(starts), dtype=bool)
    odd = [*quotes[_misplaced(text, quotes, 0)].tolist(), *_odd_backslashes(data)]
    wrong[np.searchsorted(starts, odd, side="right") - 1] = True
    counts = []
    for sign in b"()=":
        places = np.flatnonzero(text[starts[0] :] == sign) + starts[0]
        places = places[np.searchsorted(quotes, places) % 2 == 0]
        counts.append(np.searchsorted(places, ends) - np.searchsorted(places, starts))
    wrong |= (counts[0] != counts[1]) | (counts[2] > 0)
    return [int(number) for number in scanned.ids[wrong]]


def _unusual(text: Bytes, at: int) -> tuple[Ints, Ints, Ints]:
    """Places in the piece of tabs, of spaces beside what may be an argument, and of the dots before
    what may be an enumeration in small letters."""
    piece = text[at : at + PIECE]
    last = len(text) - 1
    spaces = np.flatnonzero(piece == SPACE) + at
    before, after = text[spaces - 1], text[np.minimum(spaces + 1, last)]
    opens, begins, ends = (_among(signs) for signs in (b",(", b" #$'.(*-+I0123456789", b",)"))
    spaces = spaces[(opens[before] & begins[after]) | ends[after]]
    second, third = text[at + 1 : at + 1 + PIECE], text[at + 2 : at + 2 + PIECE]
    small = np.maximum(second[: len(third)], third) >= SMALL_A
    dots = np.flatnonzero(small & (piece[: len(third)] == DOT)) + at
    dots = dots[opens[text[dots - 1]]]
    return np.flatnonzero(piece == TAB), spaces - at, dots - at


def _is_unusual(text: Bytes, at: int, in_string: int) -> bool:
    """Whether any of these is outside of strings."""
    piece = text[at : at + PIECE]
    outside = (np.cumsum(piece == QUOTE, dtype=np.uint8) + np.uint8(in_string)) & 1 == 0
    return any(outside[places].any() for places in _unusual(text, at))


def _among(signs: bytes) -> Bools:
    """For every byte, whether it is one of the signs."""
    table = np.zeros(256, dtype=bool)
    table[list(signs)] = True
    return table


def _columns(eights: Eights, starts: Ints, ends: Ints) -> Columns | None:
    """Numbers, class names, opening parentheses and keys of all lines, found block by block; None
    where one is no instance."""
    ids: Ints = np.empty(len(starts), np.int64)
    names, parens = np.empty_like(starts), np.empty_like(starts)
    keys: Keys = np.empty(len(starts), "<u4")

    def fill(at: int) -> bool:
        block = slice(at, at + BLOCK)
        found = _heads(eights, starts[block], ends[block])
        if found is not None:
            ids[block], names[block], parens[block], keys[block] = found
        return found is not None

    if not all(side_by_side(fill, range(0, len(starts), BLOCK))):
        return None
    return (ids.astype(np.int32) if ids.max() < LARGEST_SHORT else ids), names, parens, keys


def _heads(eights: Eights, starts: Ints, ends: Ints) -> Columns | None:
    """Numbers, class names, opening parentheses and keys of lines; None where one is no instance
    that ends with a closing parenthesis and a semicolon."""
    if (ends < starts + 8).any() or (eights[ends - 7] >> 48 != 0x3B29).any():
        return None
    first = eights[starts]
    if (first & 255 != 35).any():
        return None
    ids, digits = numbers_at(eights, starts + 1)
    equals = starts + 1 + digits
    equals += eights[equals] & 255 == SPACE  # one space before and one after is usual
    begun = eights[equals]
    names = equals + 1 + (begun >> 8 & 255 == SPACE)
    begun_well = (begun & 255 == EQUALS) & (eights[names] & 255 == CAPITAL_I)
    if (digits == 0).any() or not begun_well.all():
        return None
    parens = _parentheses(eights, names)
    if parens is None or (parens > ends).any():
        return None
    before = eights[parens - 8]
    if (before >> 56 <= 32).any() or (before & (before << 1) & _SMALL).any():
        return None
    sizes = (parens - names).astype("<u8")
    before >>= 8 * (8 - np.minimum(sizes, 8))  # what stands before a short name is none of it
    keys = _mixed(eights[names + 3] * (sizes >= SHORT), before, sizes)
    return ids, names, parens, keys


def numbers_at(eights: Eights, places: Ints) -> tuple[Ints, Ints]:
    """The numbers that begin at places, and how many digits they have."""
    numbers, digits = number_at_start(eights[np.minimum(places, len(eights) - 1)])
    longer = np.flatnonzero(digits == 8)
    for k in range(8, LONGEST_NUMBER):
        digit = (eights[np.minimum(places[longer] + k, len(eights) - 1)] & 255) - 48
        longer, digit = longer[digit < 10], digit[digit < 10]
        if not len(longer):
            break
        numbers[longer] = numbers[longer] * 10 + digit.astype(np.int64)
        digits[longer] += 1
    return numbers, digits.astype(places.dtype)


def _parentheses(eights: Eights, names: Ints) -> Ints | None:
    """The first opening parenthesis after each class name begins; None where there is none."""
    found = np.zeros(len(names), dtype=names.dtype)
    rows = np.arange(len(names))
    for k in range(0, LONGEST_NAME, 8):
        places = names[rows] + k
        eight = eights[np.minimum(places, len(eights) - 1)] ^ _PARENTHESES
        zeros = (eight - EACH) & ~eight & _TOPS  # the lowest bit tells the first of them
        hit = zeros != 0
        lowest = (zeros & (~zeros + 1))[hit].astype(np.float64)
        found[rows[hit]] = places[hit] + (np.frexp(lowest)[1] - 1) // 8
        rows = rows[~hit]
        if not len(rows):
            return found
    return None


def _only_in_strings(text: Bytes, begin: int, ends: Ints) -> bool:
    """Whether every semicolon that does not end a line stands inside a string."""
    semicolons, quotes = (
        np.flatnonzero(text[begin:] == sign) + begin for sign in (SEMICOLON, QUOTE)
    )
    inner = np.setdiff1d(semicolons, ends, assume_unique=True)
    return bool((np.searchsorted(quotes, inner) % 2).all())


@cache
def key(name: bytes) -> np.uint32:
    """A number for a class name, made of its length, its last eight letters and, where it is long
    enough, the eight after IFC: another for every class that is read."""
    after = int.from_bytes(name[3:11], "little") if len(name) >= SHORT else 0
    before = int.from_bytes(name[-8:], "little")
    one, two, size = (np.array([v], dtype="<u8") for v in (after, before, len(name)))
    mixed: np.uint32 = _mixed(one, two, size)[0]
    return mixed


def _mixed(one: Eights, two: Eights, size: Eights) -> Keys:
    return ((one * 1_000_003 + two * 7_919 + size) * MIXING >> 32).astype("<u4")


def _odd_backslashes(data: bytes) -> list[int]:
    """Places of the backslashes that begin nothing that is known."""
    if b"\\" not in data:
        return []
    return [m.start() for m in _BACKSLASH.finditer(data, header_end(data)) if m[1]]
