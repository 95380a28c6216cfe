"""The arguments of an instance as they are written in the file."""

import re
from contextlib import suppress

import numpy as np

from ifclint.ifc.step.text_index import Ref

LONG = 4096  # bytes
_OTHERS = re.compile(rb"[\x80-\xff]+")
_STRING = rb"'[^']*(?:''[^']*)*'"
_FIELD = re.compile(
    rb"\s*("
    rb"%(string)b"
    rb"|\w*\((?:[^()']++|%(string)b|\((?:[^()']++|%(string)b|\([^()]*\))*\))*\)"  # a list
    rb"|[^,()'\s]*(?:\s+[^,()'\s]+)*"
    rb")\s*," % {b"string": _STRING}
)


def fields(text: bytes) -> list[bytes]:
    """The arguments of an instance (or the members of a list) as they are written."""
    return arguments(text[text.index(b"(") + 1 : text.rindex(b")")])


def arguments(inner: bytes) -> list[bytes]:
    """The same for what stands between the parentheses."""
    if b"'" not in inner and b"(" not in inner:
        return [f.strip() for f in inner.split(b",")]
    return _FIELD.findall(inner + b",")


def class_and_arguments(instance: bytes | None) -> tuple[bytes, list[bytes]]:
    """The class and arguments of b"IFCCLASS(arguments)"; no class for None."""
    name, _, rest = (instance or b"").partition(b"(")
    return name, arguments(rest[:-1]) if name else []


def members(field: bytes) -> list[bytes]:
    """The members of a list as they are written; none where it is not set."""
    inner = field[1:-1].strip() if field[:1] == b"(" else b""
    return arguments(inner) if inner else []


def string(field: bytes) -> str:
    """The text of a string field; empty where it is not set. What backslashes say that begin
    nothing known is left as it is written; such instances are noted (`TextIndex.broken`)."""
    if field[:1] != b"'":
        return ""
    if b"\\" in field:
        import ifcopenshell

        with suppress(RuntimeError, ifcopenshell.Error):
            return str(ifcopenshell.decode_spf_string(escaped(field).decode("ascii")))
    raw = field[1:-1].replace(b"''", b"'")
    return raw.decode("ascii") if raw.isascii() else _decoded(raw)


def escaped(text: bytes) -> bytes:
    """Text with letters outside of ASCII as the format wants them, which the library else drops."""
    return text if text.isascii() else _OTHERS.sub(_escape, text)


def _escape(match: re.Match[bytes]) -> bytes:
    return b"\\X4\\%b\\X0\\" % _decoded(match[0]).encode("utf-32-be").hex().upper().encode()


def _decoded(raw: bytes) -> str:
    """UTF-8, else Latin-1."""
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def number(field: bytes) -> Ref:
    """The instance a field refers to, 0 for none: b"#12" is 12."""
    field = field.strip()
    if field[:1] != b"#":
        return 0
    try:
        return int(field[1:])
    except ValueError:
        return 0


def numbers(inner: bytes) -> list[Ref]:
    """The instances a list refers to: b"#12,#13" is [12, 13]."""
    if len(inner) > LONG and (found := _many_numbers(inner)) is not None:
        return found
    try:
        return [int(r) for r in inner.replace(b"#", b"").split(b",")]
    except ValueError:  # empty, or something else than references in it
        return [n for f in inner.split(b",") if (n := number(f))]


def _many_numbers(inner: bytes) -> list[Ref] | None:
    """The same for a long list, None where it is not plain."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("error")  # how text that is no number is told
        try:
            text = inner.replace(b"#", b"").decode("ascii")
            found = np.fromstring(text, dtype=np.int64, sep=",")
        except (DeprecationWarning, ValueError):
            return None
    return found.tolist() if len(found) == inner.count(b",") + 1 else None
