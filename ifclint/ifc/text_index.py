"""The text of an IFC file, instance by instance, found again by number or by class.

Asking the library for each attribute of a hundred thousand points, placements, ports and pipes
costs more than everything else together; their own text is simple enough to be read directly.
The library is asked for what is rare, and for whatever is not written in the usual way.

A reference is the number of an instance, 0 for none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cached_property
from typing import Any

from ifclint.errors import InputError

Ref = int
_COMMENT = re.compile(rb"('(?:[^']|'')*')|/\*.*?\*/", re.S)
_INSTANCE = re.compile(rb"(#\d{1,18})\s*+=\s*+(I\w+)\s*+(\((?:[^';]++|'[^']*+')*+);", re.I)
_SPACE = re.compile(rb"('(?:[^']|'')*+')|[ \t\r\n]++")
_ESCAPE = re.compile(
    rb"\\(?:X2\\(?:[0-9A-Fa-f]{4})*\\X0\\|X4\\(?:[0-9A-Fa-f]{8})*\\X0\\|X\\[0-9A-Fa-f]{2}|S\\."
    rb"|P[A-I]\\|\\)"
)
LONGEST_NUMBER = 18  # digits of an instance number
SHORT = 11  # letters of a class name
DENSE = 50  # a table by number is made where numbers are less than so many times the instances
PIECE = 1 << 20  # bytes
MOST_SEMICOLONS = 100_000  # inside strings; with more, the text is rewritten


class TextIndex:
    """Finds instances in the text of a file.

    The text is indexed as it stands where every instance has a line of its own, as nearly all
    programs write it; other text is first rewritten that way. `sound` tells that this was not
    needed and that no damage is seen at a glance. `signs` are the bytes of the text, `ends` the
    place of the semicolon after each instance.
    """

    def __init__(self, data: bytes) -> None:
        scanned = _scan(data)
        self.sound = scanned is not None and _sound(data)
        if scanned is None:
            data = _rewritten(data)
            scanned = _scan(data, comments=False)
            if scanned is None and b"\n#" in data:
                raise InputError("its instances cannot be told apart")
        self._data = data
        columns = _each_once(*(scanned or _nothing()))
        self._ids, self._starts, self._parens, self.ends, self._keys = columns
        self._start_at, self._end_at = memoryview(self._starts), memoryview(self.ends)
        self.signs, self.eights = _signs(data)

    def get(self, ref: Ref) -> bytes | None:
        """An instance as b"IFCCLASS(arguments)"."""
        row = self._row(ref)
        return self._data[self._start_at[row] : self._end_at[row]] if row >= 0 else None

    def __len__(self) -> int:
        return len(self._ids)

    def of_class(self, name: bytes) -> tuple[Any, list[bytes]]:
        """Numbers (an array) and arguments (without their parentheses) of a class's instances."""
        rows = self.rows(name)
        return self.numbers(rows), self.arguments(rows)

    def count(self, name: bytes) -> int:
        """How many instances a class has."""
        return len(self.rows(name))

    def rows(self, name: bytes) -> Any:
        """Rows of a class's instances (an array), in file order."""
        import numpy as np

        return np.flatnonzero(self._keys == _key(name))

    def rows_of(self, refs: Any, name: bytes) -> Any:
        """The row of each reference of an array, -1 where it is no instance of the class."""
        import numpy as np

        table = self._by_number
        if isinstance(table, dict):
            rows = np.array([table.get(ref, -1) for ref in refs.tolist()], dtype=np.int64)
        elif not len(table):
            return np.full(len(refs), -1)
        else:
            inside = (refs >= 0) & (refs < len(table))
            rows = np.where(inside, np.asarray(table)[np.where(inside, refs, 0)], -1)
        return np.where((rows >= 0) & (self._keys[rows] == _key(name)), rows, -1)

    def distinct(self, refs: Any, name: bytes) -> tuple[Any, Any]:
        """Ascending numbers and rows of the instances of a class among references, each once."""
        import numpy as np

        met = np.zeros(len(self) + 1, dtype=bool)
        met[self.rows_of(refs, name)] = True
        met[-1] = False  # row -1, none
        rows = np.flatnonzero(met)
        ids = self.numbers(rows)
        if (ids[1:] < ids[:-1]).any():
            order = np.argsort(ids)
            ids, rows = ids[order], rows[order]
        return ids, rows

    def numbers(self, rows: Any) -> Any:
        """Instance numbers of rows."""
        return self._ids[rows]

    def arguments(self, rows: Any) -> list[bytes]:
        """What stands between the parentheses of each row."""
        data, ends = self._data, (self.ends[rows] - 1).tolist()
        return [data[a:b] for a, b in zip((self._parens[rows] + 1).tolist(), ends, strict=True)]

    def without(self, names: Iterable[bytes]) -> bytes:
        """The text of the file without these classes."""
        import numpy as np

        left_out = np.isin(self._keys, np.array([_key(n) for n in names], dtype="<u8"))
        rows = np.flatnonzero(~left_out)
        columns = (self._ids, self._starts, self.ends)
        places = zip(*(column[rows].tolist() for column in columns), strict=True)
        lines = [b"#%d=%b;\n" % (number, self._data[a:b]) for number, a, b in places]
        header = self._data[: self._data.find(b"DATA;")]
        return b"%bDATA;\n%bENDSEC;\nEND-ISO-10303-21;\n" % (header, b"".join(lines))

    def _row(self, ref: Ref) -> int:
        rows = self._by_number
        if isinstance(rows, dict):
            return rows.get(ref, -1)
        return rows[ref] if 0 <= ref < len(rows) else -1

    @cached_property
    def _by_number(self) -> dict[int, int] | memoryview[int]:
        """Row of each instance number: a table where numbers are dense, else a dictionary."""
        import numpy as np

        ids = self._ids
        if len(ids) and ids.max() > DENSE * len(ids) + 1000:
            return {number: row for row, number in enumerate(ids.tolist())}
        table = np.full(int(ids.max()) + 1 if len(ids) else 0, -1, dtype=np.int32)
        table[ids] = np.arange(len(ids), dtype=np.int32)
        return memoryview(table)  # type: ignore[arg-type]


def _signs(data: bytes) -> tuple[Any, Any]:
    """The bytes of the text as an array, and every eight in a row of them as one number."""
    import numpy as np

    eights = np.ndarray((max(0, len(data) - 7),), "<u8", data, strides=(1,))
    return np.frombuffer(data, dtype=np.uint8), eights


def _scan(data: bytes, comments: bool = True) -> tuple[Any, ...] | None:
    """Numbers, starts, opening parentheses, ends and class keys of all instances, in file order.

    None where some line of the data section is not one instance, or there may be `comments`.
    """
    import numpy as np

    first, last = data.find(b"DATA;"), data.rfind(b"ENDSEC;")
    begin = data.find(b"#", first) if first >= 0 else -1
    if begin < 0 or begin >= last or data[begin - 1 : begin] != b"\n":
        return None
    text = np.frombuffer(data, dtype=np.uint8)[:last]
    stops = _places(np, text, begin, b"\n")
    starts = np.concatenate((np.array([begin], stops.dtype), stops[:-1] + 1))
    ends = stops - (text[stops - 1] == 13)
    equals = _first_after(np, text, begin, b"=", starts)
    parens = _first_after(np, text, begin, b"(", equals)
    if equals is None or parens is None or (parens > ends).any() or (text[starts] != 35).any():
        return None
    if (text[ends - 1] != 59).any() or (text[ends - 2] != 41).any():
        return None
    stars = _places(np, text, begin, b"*")
    if (comments and (text[stars - 1] == 47).any()) or not _only_in_strings(
        np, data, text, starts, ends
    ):
        return None
    ids = _numbers_before(np, text, starts, equals)
    plain = (text[equals + 1] == 73) & (text[parens - 1] > 32)
    if ids is None or not plain.all():
        return None
    return ids, equals + 1, parens, ends - 1, _keys(np, data, equals + 1, parens)


def _sound(data: bytes) -> bool:
    """Whether parentheses and quotes are in pairs and backslashes begin what is known."""
    import numpy as np

    text = np.frombuffer(data, dtype=np.uint8)
    counts = dict.fromkeys(b"()'", 0)
    for at in range(0, len(text), PIECE):
        piece = text[at : at + PIECE]
        for sign in counts:
            counts[sign] += int(np.count_nonzero(piece == sign))
    paired = counts[40] == counts[41] and counts[39] % 2 == 0
    escapes = data.count(b"\\")
    known = sum(m[0].count(b"\\") for m in _ESCAPE.finditer(data)) if escapes else 0
    return paired and known == escapes


def _each_once(*columns: Any) -> tuple[Any, ...]:
    """The columns without instances whose number stands again further down."""
    import numpy as np

    ids = columns[0]
    if not len(ids) or (ids[1:] > ids[:-1]).all():
        return columns
    _, last = np.unique(ids[::-1], return_index=True)
    rows = np.sort(len(ids) - 1 - last)
    return columns if len(rows) == len(ids) else tuple(column[rows] for column in columns)


def _places(np: Any, text: Any, begin: int, sign: bytes) -> Any:
    """Where a sign stands, looked for in pieces that fit the processor's cache."""
    kind = np.int32 if len(text) < 2**31 - 1 else np.int64
    found = [
        (np.flatnonzero(text[at : at + PIECE] == sign[0]) + at).astype(kind)
        for at in range(begin, len(text), PIECE)
    ]
    return np.concatenate(found)


def _first_after(np: Any, text: Any, begin: int, sign: bytes, places: Any) -> Any:
    """For each place the first such sign after it; None where there is none after some place."""
    if places is None:
        return None
    found = _places(np, text, begin, sign)
    if len(found) == len(places) and (found > places).all() and (found[:-1] < places[1:]).all():
        return found
    which = np.searchsorted(found, places)
    return found[which] if len(found) and which[-1] < len(found) else None


def _only_in_strings(np: Any, data: bytes, text: Any, starts: Any, ends: Any) -> bool:
    """Whether every semicolon that does not end a line stands inside a string."""
    places = _places(np, text, int(starts[0]), b";")
    if len(places) == len(ends):
        return True
    inner = np.setdiff1d(places, ends - 1, assume_unique=True)
    if len(inner) > MOST_SEMICOLONS:
        return False
    lines = starts[np.searchsorted(starts, inner, side="right") - 1]
    spans = zip(lines.tolist(), inner.tolist(), strict=True)
    return all(data.count(b"'", a, b) % 2 for a, b in spans)


def _numbers_before(np: Any, text: Any, starts: Any, equals: Any) -> Any:
    """The instance numbers written between "#" and "="; None where one is no number."""
    longest = int((equals - starts).max()) - 1
    if longest > LONGEST_NUMBER or int((equals - starts).min()) < 2:
        return None
    numbers = np.zeros(len(starts), dtype=np.int64)
    for k in range(longest):
        places = equals - 1 - k
        digits = np.where(places > starts, text[places] - 48, 0)
        if (digits > 9).any():
            return None
        numbers += digits.astype(np.int64) * 10**k
    return numbers


def _keys(np: Any, data: bytes, names: Any, parens: Any) -> Any:
    """A number for each class name: its length, its last eight letters and, where it is long
    enough, the eight after IFC."""
    eight = np.ndarray((len(data) - 7,), "<u8", data, strides=(1,))
    sizes = (parens - names).astype("<u8")
    return _mixed(eight[names + 3] * (sizes >= SHORT), eight[parens - 8], sizes)


def _key(name: bytes) -> Any:
    import numpy as np

    text = b"=" + name  # so that seven letters are eight
    after = int.from_bytes(name[3:11], "little") if len(name) >= SHORT else 0
    before = int.from_bytes(text[-8:], "little")
    one, two, size = (np.array([v], dtype="<u8") for v in (after, before, len(name)))
    return _mixed(one, two, size)[0]


def _mixed(one: Any, two: Any, size: Any) -> Any:
    return one * 1_000_003 + two * 7_919 + size


def _nothing() -> tuple[Any, ...]:
    import numpy as np

    none = np.zeros(0, dtype=np.int64)
    return none, none, none, none, none.astype("<u8")


def _rewritten(data: bytes) -> bytes:
    """The same instances, each in one line without comments and spaces outside of strings."""
    if b"/*" in data:
        data = _COMMENT.sub(rb"\1", data)
    start = max(0, data.find(b"DATA"))
    found = _INSTANCE.finditer(data, start)
    lines = [
        b"%b=%b%b;\n" % (m[1], m[2].upper(), _SPACE.sub(_kept, m[3]))
        for m in found
        if m[3].rstrip().endswith(b")")
    ]
    return data[:start] + b"DATA;\n" + b"".join(lines) + b"ENDSEC;"


def _kept(match: re.Match[bytes]) -> bytes:
    """A string in one line, and nothing for spaces."""
    return b" ".join((match[1] or b"").splitlines())
