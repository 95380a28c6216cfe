"""Text in the form that is quickly read: one instance a line, and spaces and small letters only in
strings."""

import re

import numpy as np

from ifclint.ifc.step.arrays import Bytes
from ifclint.ifc.step.scanning import PIECE, header_end

_COMMENT = re.compile(rb"('[^']*+')|/\*.*?\*/", re.S)
_INSTANCE = re.compile(rb"(#\d{1,18})\s*+=\s*+(I\w+)\s*+(\((?:[^';]++|'[^']*+')*+);", re.I)
_STRING = re.compile(rb"('[^']*+')|[^']++")
_BETWEEN = re.compile(
    rb"(?:\s++|/\*.*?\*/|(?:(?:END-)?ISO-10303-21|HEADER|ENDSEC)\s*;"
    rb"|(?:DATA|FILE_\w+)\s*(?:\((?:[^';]++|'[^']*+')*+)?;)*+",
    re.I | re.S,
)
_DATA = re.compile(rb"\s*+DATA;")
_CAPITALS = bytes(range(256)).upper()
_PADDING = b"\0\x1a \t\r\n"  # that disks and old programs leave after the end
LONGEST_STRAY = 40  # bytes
LINE_FEED, SPACE, QUOTE, SEMICOLON = b"\n ';"


def squeezed(data: bytes) -> bytes | None:
    """The text without spaces and line breaks outside of strings, but for one line break after a
    semicolon, and there in capitals; None where there may be comments. It is of use only where each
    instance is followed by a space or a line break."""
    found = _DATA.match(data, header_end(data))
    first, last = found.end() if found else 0, data.rfind(b"ENDSEC;")
    if not found or last < first or data.find(b"/*", first) >= 0 or b"#" in data[last:]:
        return None
    text = np.frombuffer(data, dtype=np.uint8)[first:last]
    kept, before, in_string = [], SEMICOLON, 0
    for at in range(0, len(text), PIECE):
        piece = text[at : at + PIECE]
        squeezed_piece, in_string = _squeezed_piece(piece, before, in_string)
        kept.append(squeezed_piece.tobytes())
        before = int(piece[-1])
    return b"%b%bENDSEC;\nEND-ISO-10303-21;\n" % (data[:first], b"".join(kept))


def _squeezed_piece(piece: Bytes, before: int, in_string: int) -> tuple[Bytes, int]:
    """A piece of the text after the sign `before`, and whether a string goes on after it."""
    quotes = np.cumsum(piece == QUOTE, dtype=np.uint8) + np.uint8(in_string)
    inside = (quotes & 1).astype(bool)
    blank = piece <= SPACE
    ended = np.empty(len(piece), dtype=bool)  # after a semicolon; in a string it does no harm
    ended[0], ended[1:] = before == SEMICOLON, piece[:-1] == SEMICOLON
    capitals = np.frombuffer(_CAPITALS, dtype=np.uint8)[piece]
    signs = np.where(inside, piece, capitals)
    squeezed_piece = np.where(blank, np.where(inside, SPACE, LINE_FEED), signs).astype(np.uint8)
    return squeezed_piece[inside | ~blank | ended], int(inside[-1])


def rewritten(data: bytes) -> tuple[bytes, list[bytes]]:
    """The instances that can be told apart; and the beginnings of whatever else stands there, apart
    from comments and the words that the format has for its sections."""
    data = without_comments(data).rstrip(_PADDING)
    start = header_end(data)
    lines: list[bytes] = []
    strays: list[bytes] = []
    at = 0
    for m in _INSTANCE.finditer(data, start):
        if not m[3].rstrip().endswith(b")"):
            continue
        lines.append(b"%b=%b%b;\n" % (m[1], m[2].upper(), _STRING.sub(_kept, m[3])))
        strays += _stray(data, at, m.start())
        at = m.end()
    strays += _stray(data, at, len(data))
    return b"%bDATA;\n%bENDSEC;" % (data[:start], b"".join(lines)), strays


def _stray(data: bytes, start: int, end: int) -> list[bytes]:
    """The beginning of what stands between two instances and belongs there in no file, if any."""
    if (between := _BETWEEN.match(data, start, end)) and between.end() < end:
        return [data[between.end() : min(end, between.end() + LONGEST_STRAY)]]
    return []


def without_comments(data: bytes) -> bytes:
    """The text without its comments; what opens one and closes none is left."""
    closed = data.rfind(b"*/") + 2
    if closed < 2:
        return data
    last = data.find(b"'", closed) + 1 or closed  # it may stand in a string
    return _COMMENT.sub(rb"\1", data[:last]) + data[last:]


def _kept(match: re.Match[bytes]) -> bytes:
    """A string in one line; what stands between strings in capitals, without spaces."""
    if match[1]:
        return b" ".join(match[1].splitlines())
    return match[0].translate(_CAPITALS, b" \t\r\n")
