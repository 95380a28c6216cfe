"""Where the text of the models has an element: file and line."""

import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePath
from typing import NamedTuple
from urllib.parse import quote

_GUID = re.compile(rb"'([0-3][0-9A-Za-z_$]{21})'")


class SourceLine(NamedTuple):
    file: str  # from the working folder where it lies below it; with forward slashes
    line: int  # from 1


@dataclass(frozen=True, slots=True)
class SourceLines:
    """Lines by GlobalId; empty for models that are not plain text."""

    files: tuple[str, ...]
    lines: dict[str, SourceLine] = field(default_factory=dict)

    def of(self, element_ids: Iterable[str]) -> SourceLine:
        """Where the first element that is found stands; the first line of the first model else."""
        for guid in element_ids:
            if guid in self.lines:
                return self.lines[guid]
        return SourceLine(self.files[0] if self.files else "model.ifc", 1)


def sources(models: Sequence[Path], wanted: Iterable[str]) -> SourceLines:
    """Find the lines that define some elements: the first one in which a GlobalId stands."""
    sought = {guid.encode("utf-8", "replace") for guid in wanted}
    lines: dict[str, SourceLine] = {}
    for path in models:
        text = _text(path)
        name, line, at = _named(path), 1, 0
        for match in _GUID.finditer(text):
            guid = match[1]
            if guid in sought:
                sought.discard(guid)
                line += text.count(b"\n", at, match.start())
                at = match.start()
                lines[guid.decode()] = SourceLine(name, line)
    return SourceLines(tuple(map(_named, models)), lines)


def uri_of(file: str) -> str:
    """A file as a URI reference (RFC 3986): relative, or whole where its path is."""
    path = PurePath(file)
    return path.as_uri() if path.is_absolute() else quote(file)


def _named(path: Path) -> str:
    """As it was given, but from the working folder where that holds it: hosts of code match paths
    with their own, which are."""
    here = Path.cwd()
    return (path.relative_to(here) if path.is_relative_to(here) else path).as_posix()


def _text(path: Path) -> bytes:
    """A model's text; nothing of one that is packed, of which a line would mean nothing."""
    return b"" if zipfile.is_zipfile(path) else path.read_bytes()
