"""Writes an IFC4 file as plain STEP text, so that the same drawing is the same bytes anywhere."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

_ID_LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"
_HEADER = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('ViewDefinition [DesignTransferView_V1.0]'),'2;1');
FILE_NAME('{name}','2026-01-05T08:00:00',('Thistle drawing office'),(''),'','','');
FILE_SCHEMA(('IFC4'));
ENDSEC;
DATA;
"""


@dataclass(frozen=True)
class Ref:
    """A line of the file."""

    number: int


@dataclass(frozen=True)
class Word:
    """An enumeration value, or the star of a derived attribute."""

    text: str


@dataclass(frozen=True)
class Typed:
    """A value with its type, as a property holds it."""

    type: str
    value: object


def global_id(key: str) -> str:
    """The same GlobalId for the same key, always."""
    number = int.from_bytes(hashlib.sha256(key.encode()).digest()[:16], "big")
    letters = []
    for _ in range(22):
        number, digit = divmod(number, 64)
        letters.append(_ID_LETTERS[digit])
    return "".join(reversed(letters))


class Step:
    """The lines written so far; equal lines that carry no identity are written once."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._known: dict[str, Ref] = {}

    def add(self, entity: str, *attributes: object) -> Ref:
        text = f"{entity}({','.join(_text(each) for each in attributes)})"
        if text not in self._known:
            self._lines.append(f"#{len(self._lines) + 1}={text};")
            self._known[text] = Ref(len(self._lines))
        return self._known[text]

    def point(self, *coordinates: float) -> Ref:
        return self.add("IFCCARTESIANPOINT", tuple(float(each) for each in coordinates))

    def direction(self, *ratios: float) -> Ref:
        return self.add("IFCDIRECTION", tuple(float(each) for each in ratios))

    def write(self, path: Path) -> None:
        body = "\n".join(self._lines)
        text = _HEADER.format(name=path.name) + body + "\nENDSEC;\nEND-ISO-10303-21;\n"
        path.write_bytes(text.encode("ascii"))


def _text(value: object) -> str:
    if value is None:
        return "$"
    if isinstance(value, Ref):
        return f"#{value.number}"
    if isinstance(value, Word):
        return value.text if value.text == "*" else f".{value.text}."
    if isinstance(value, Typed):
        return f"{value.type}({_text(value.value)})"
    if isinstance(value, bool):
        return ".T." if value else ".F."
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return _real(value)
    if isinstance(value, str):
        return "'" + value.replace("'", "''") + "'"
    if isinstance(value, tuple | list):
        return "(" + ",".join(_text(each) for each in value) + ")"
    raise TypeError(value)


def _real(value: float) -> str:
    text = f"{value:.6f}".rstrip("0")
    return "0." if text == "-0." else text
