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

import numpy as np

from ifclint.errors import InputError
from ifclint.ifc.step import scanning
from ifclint.ifc.step.arrays import Bytes, Ints
from ifclint.ifc.step.rewriting import rewritten, squeezed

Ref = int
COMMA, PARENTHESIS, HASH = b",(#"
_NUMBER = rb" *+[+-]?+(?:\d++\.?+\d*+|\.\d++)(?:[Ee][+-]?+\d++)?+ *+"
_NO_NUMBERS = re.compile(  # points and directions of anything else than one to three numbers
    rb"IFC(?:CARTESIANPOINT|DIRECTION)\((?! *+\("
    + _NUMBER
    + rb"(?:,"
    + _NUMBER
    + rb"){0,2}+\) *+\))"
)
DENSE = 50  # a table by number is made where numbers are less than so many times the instances


class TextIndex:
    """Finds instances in the text of a file.

    The text is indexed as it stands where every instance has a line of its own, as most programs
    write it; other text is first brought into that form. `strays` are the beginnings of what
    belongs to no instance, `broken` the numbers of instances in which quotes, parentheses or
    backslashes are not as they should be, or that hold the next, where no semicolon ends them.
    `signs` are the bytes of the text, `starts`, `opens` and `ends` the places of the class name, of
    the opening parenthesis and of the semicolon of each instance. `repeated` are the numbers that
    stand for several unlike instances, of which the last is read.
    """

    def __init__(self, data: bytes) -> None:
        strays: list[bytes] = []
        scanned = scanning.scan(data)
        if scanned is None and (plainer := squeezed(data)) and (scanned := scanning.scan(plainer)):
            data = plainer
        if scanned is None:
            data, strays = rewritten(data)
            scanned = scanning.scan(data, comments=False)
            if scanned is None and b"\n#" in data:
                raise InputError("its instances cannot be told apart")
        self.strays = strays
        self.broken = [] if scanned is None or scanned.sound else scanning.broken(scanned, data)
        self._data = data
        found = _each_once(scanned or _nothing())
        self.repeated = (
            _repeated(data, scanned) if scanned and len(found.ids) < len(scanned.ids) else []
        )
        self._ids, self.starts, self.opens, self.ends, self._keys, _, self.plain = found
        self._start_at, self._end_at = _items(self.starts), _items(self.ends)
        self.signs, self.eights = _bytes(data), scanning.eights_of(data)

    def get(self, ref: Ref) -> bytes | None:
        """An instance as b"IFCCLASS(arguments)"."""
        row = self._row(ref)
        return self._data[self._start_at[row] : self._end_at[row]] if row >= 0 else None

    def lost(self) -> list[Ref]:
        """The numbers, ascending, that instances refer to and that no instance has."""
        found = scanning.side_by_side(self._lost_in, range(0, len(self.signs), scanning.PIECE))
        return sorted(set[int]().union(*found))

    def without_numbers(self) -> list[Ref]:
        """The points and directions, as they stand, that tell no place in numbers."""
        found = [match.start() for match in _NO_NUMBERS.finditer(self._data)]
        before = [self._data[self._data.rfind(b"#", 0, at) + 1 : at].strip() for at in found]
        named = [said[:-1].rstrip() for said in before if said.endswith(b"=")]
        return [int(number) for number in named if number.isdigit()]

    def _lost_in(self, at: int) -> set[int]:
        """Those that a piece of the text refers to."""
        places = np.flatnonzero(self.signs[at : at + scanning.PIECE] == HASH) + at
        before = self.signs[places - 1]
        places = places[(before == COMMA) | (before == PARENTHESIS)]
        refs, digits = scanning.numbers_at(self.eights, places + 1)
        unknown = np.flatnonzero((digits > 0) & (self._rows(refs) < 0))
        rows = np.searchsorted(self.opens, places[unknown]) - 1
        pairs = zip(places[unknown].tolist(), rows.tolist(), refs[unknown].tolist(), strict=True)
        return {ref for place, row, ref in pairs if self._refers(place, row)}

    def _refers(self, place: int, row: int) -> bool:
        """Whether what looks like a reference stands in an instance, and in no string of it."""
        begin = self.opens[row]
        inside = row >= 0 and place < self.ends[row]
        return bool(inside and self._data.count(b"'", begin, place) % 2 == 0)

    def with_guid(self, guid: str) -> bytes | None:
        """The instance whose first attribute this is, as b"IFCCLASS(arguments)"."""
        at = self._data.find(b"('" + guid.encode("utf-8", "replace") + b"',")
        row = int(np.searchsorted(self.starts, at, "right")) - 1 if at >= 0 else -1
        return self._data[self._start_at[row] : self._end_at[row]] if row >= 0 else None

    def says(self, what: bytes) -> bool:
        """Whether a text stands anywhere in the file."""
        return what in self._data

    def __len__(self) -> int:
        return len(self._ids)

    @property
    def largest(self) -> int:
        """The largest number of an instance."""
        return int(self._ids.max(initial=0))

    def of_class(self, name: bytes) -> tuple[Ints, list[bytes]]:
        """Numbers (an array) and arguments (without their parentheses) of a class's instances."""
        rows = self.rows(name)
        return self.numbers(rows), self.arguments(rows)

    def count(self, name: bytes) -> int:
        """How many instances a class has."""
        return len(self.rows(name))

    def classes(self) -> list[tuple[str, int]]:
        """Every class that is written, in capitals, with how many instances it has, by name."""
        _, rows, counts = np.unique(self._keys, return_index=True, return_counts=True)
        names = self.between(self.starts[rows], self.opens[rows])
        return sorted(
            (n.decode("latin-1").strip(), c) for n, c in zip(names, counts.tolist(), strict=True)
        )

    def rows(self, name: bytes) -> Ints:
        """Rows of a class's instances (an array), in file order."""
        return np.flatnonzero(self._keys == scanning.key(name))

    def rows_of(self, refs: Ints, name: bytes) -> Ints:
        """The row of each reference of an array, -1 where it is no instance of the class."""
        if not len(self):
            return np.full(len(refs), -1)
        rows = self._rows(refs)
        return np.where((rows >= 0) & (self._keys[rows] == scanning.key(name)), rows, -1)

    def _rows(self, refs: Ints) -> Ints:
        """The row of each reference of an array, -1 where there is no such instance."""
        table = self._by_number
        if isinstance(table, dict):
            return np.array([table.get(ref, -1) for ref in refs.tolist()], dtype=np.int64)
        inside = (refs >= 0) & (refs < len(table))
        return np.where(inside, np.asarray(table)[np.where(inside, refs, 0)], -1)

    def distinct(self, refs: Ints, name: bytes) -> tuple[Ints, Ints]:
        """Ascending numbers and rows of the instances of a class among references, each once."""
        rows = self.rows_of(refs, name)
        rows = rows[rows >= 0]
        if not (rows[1:] > rows[:-1]).all():
            met = np.zeros(len(self), dtype=bool)
            met[rows] = True
            rows = np.flatnonzero(met)
        ids = self.numbers(rows)
        if (ids[1:] < ids[:-1]).any():
            order = np.argsort(ids)
            ids, rows = ids[order], rows[order]
        return ids, rows

    def numbers(self, rows: Ints) -> Ints:
        """Instance numbers of rows."""
        return self._ids[rows].astype(np.int64)

    def arguments(self, rows: Ints) -> list[bytes]:
        """What stands between the parentheses of each row."""
        return self.between(self.opens[rows] + 1, self.ends[rows] - 1)

    def between(self, starts: Ints, ends: Ints) -> list[bytes]:
        """The text from each start up to its end."""
        data = self._data
        return [data[a:b] for a, b in zip(starts.tolist(), ends.tolist(), strict=True)]

    def only(self, names: Iterable[bytes], refs: Iterable[Ref]) -> bytes:
        """The text of the file with no instances but those of some classes, and some others."""
        kept = np.isin(self._keys, np.array([scanning.key(n) for n in names], dtype="<u4"))
        kept[[row for ref in set(refs) if (row := self._row(ref)) >= 0]] = True
        rows = np.flatnonzero(kept)
        columns = (self._ids, self.starts, self.ends)
        places = zip(*(column[rows].tolist() for column in columns), strict=True)
        lines = [b"#%d=%b;\n" % (number, self._data[a:b]) for number, a, b in places]
        header = self._data[: scanning.header_end(self._data)]
        return b"%bDATA;\n%bENDSEC;\nEND-ISO-10303-21;\n" % (header, b"".join(lines))

    def _row(self, ref: Ref) -> int:
        rows = self._by_number
        if isinstance(rows, dict):
            return rows.get(ref, -1)
        return rows[ref] if 0 <= ref < len(rows) else -1

    @cached_property
    def _by_number(self) -> dict[int, int] | memoryview[int]:
        """Row of each instance number: a table where numbers are dense, else a dictionary."""
        ids = self._ids
        if len(ids) and ids.max() > DENSE * len(ids) + 1000:
            return {number: row for row, number in enumerate(ids.tolist())}
        table = np.full(int(ids.max()) + 1 if len(ids) else 0, -1, dtype=np.int32)
        table[ids] = np.arange(len(ids), dtype=np.int32)
        return _items(table)


def _items(numbers: Ints) -> memoryview[int]:
    """The numbers, to be had one by one at little cost."""
    return memoryview(numbers)  # type: ignore[arg-type]


def _bytes(data: bytes) -> Bytes:
    return np.frombuffer(data, dtype=np.uint8)


def _each_once(found: scanning.ScannedText) -> scanning.ScannedText:
    """Instances without those whose number stands again further down."""
    ids = found.ids
    if not len(ids) or (ids[1:] > ids[:-1]).all():
        return found
    _, last = np.unique(ids[::-1], return_index=True)
    rows = np.sort(len(ids) - 1 - last)
    if len(rows) == len(ids):
        return found
    columns = {name: getattr(found, name)[rows] for name in scanning.COLUMNS}
    return found._replace(**columns)


def _repeated(data: bytes, found: scanning.ScannedText) -> list[int]:
    """The numbers, ascending, that two instances have which are not alike."""
    order = np.argsort(found.ids, kind="stable")
    ids = found.ids[order]
    again = np.flatnonzero(ids[1:] == ids[:-1])
    places = zip(order[again].tolist(), order[again + 1].tolist(), strict=True)

    def instance(row: int) -> bytes:
        return data[found.starts[row] : found.ends[row]]

    return sorted({int(found.ids[a]) for a, b in places if instance(a) != instance(b)})


def _nothing() -> scanning.ScannedText:
    none = np.zeros(0, dtype=np.int64)
    return scanning.ScannedText(none, none, none, none, none.astype("<u4"), False, False)
