"""Where signs stand in the text of a file: searched eight bytes at a time, as found one by one; and
the same in whatever pieces the text is gone through."""

from __future__ import annotations

import numpy as np
import pytest

from ifclint.ifc.step import scanning
from ifclint.ifc.step.columns import COMMA, first_of, last_of
from ifclint.ifc.step.text_index import TextIndex
from tests.ifc.worker import ROOT

DATA = (ROOT / "models" / "smallest.ifc").read_bytes()
WIDTHS = [*range(0, 30), 77]


@pytest.fixture(scope="module")
def text() -> TextIndex:
    return TextIndex(DATA)


@pytest.fixture(scope="module")
def spans(text: TextIndex) -> tuple[np.ndarray, np.ndarray]:
    """Every place of some instances, and what follows it as far as each of the widths."""
    begin = int(text.opens[20])
    places = [(at, at + width) for at in range(begin, begin + 400) for width in WIDTHS]
    starts, ends = np.array(places, dtype=np.int64).T
    return starts, ends


def test_the_first_of_a_sign(text: TextIndex, spans: tuple[np.ndarray, np.ndarray]) -> None:
    signs, (starts, ends) = bytes(text.signs), spans
    found = first_of(text, COMMA, starts, ends).tolist()
    pairs = list(zip(starts.tolist(), ends.tolist(), strict=True))
    one_by_one = [signs.find(b",", a, b) for a, b in pairs]
    assert found == [b if at < 0 else at for at, (_, b) in zip(one_by_one, pairs, strict=True)]
    assert len(set(found)) > 20


def test_the_last_of_a_sign(text: TextIndex, spans: tuple[np.ndarray, np.ndarray]) -> None:
    signs, (starts, ends) = bytes(text.signs), spans
    found = last_of(text, COMMA, ends, starts).tolist()
    pairs = zip(starts.tolist(), ends.tolist(), strict=True)
    assert found == [signs.rfind(b",", a, b) for a, b in pairs]


def told(data: bytes) -> tuple[object, ...]:
    """What a text holds, and how it seems to be written."""
    begin = scanning.header_end(data)
    signs = scanning._Signs(np.frombuffer(data, dtype=np.uint8), begin)
    seems = signs.unusual, signs.broken_strings, signs.plain, signs.paired, signs.semicolons
    places = signs.stops.tolist(), signs.stars.tolist()
    scanned = scanning.scan(data)
    if scanned is None:
        return seems, places
    parts = (part.tolist() if isinstance(part, np.ndarray) else part for part in scanned)
    return seems, places, *parts


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"", b""), (b"'Drain of L-1'", b"'Drain; of\n L-1'"), (b"'Drain", b"x'Drain"),
        (b"of L-1'", b"of L-1'x"), (b"Drain of", b"Drain /* of */"), (b"of L-1'", b"of L-1"),
    ],
)  # fmt: skip
def test_pieces_of_any_length_tell_the_same(
    monkeypatch: pytest.MonkeyPatch, old: bytes, new: bytes
) -> None:
    """Some begin within a text, and some in the middle of a sign."""
    assert old in DATA
    data = DATA.replace(old, new, 1)
    whole = told(data)
    for piece in range(61, 1500, 53):
        monkeypatch.setattr(scanning, "PIECE", piece)
        assert told(data) == whole, piece
