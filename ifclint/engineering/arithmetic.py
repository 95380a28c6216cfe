"""Arithmetic as a reader can check it by hand: values in the units of the code, line by line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class Source(str):
    """A table or clause as it is cited, which knows where the value under it was read.

    `kind` is "read in a published source", "from memory" and so on, in a word; see
    `ifclint.codes.provenance`.
    """

    read_in: str
    kind: str

    def __new__(cls, cited: str, read_in: str = "", kind: str = "") -> Source:
        made = super().__new__(cls, cited)
        made.read_in, made.kind = read_in, kind
        return made


def kind_of(source: str) -> str:
    """How the value under a source was come by, "" where the source is no table of a code."""
    return source.kind if isinstance(source, Source) else ""


def or_zero(value: float | None) -> float:
    """A value; 0 where none is known."""
    return 0.0 if value is None else value


def not_below_zero(value: float) -> float:
    """A value; 0 where it is less."""
    return max(value, 0.0)


def largest(values: Iterable[float]) -> float:
    """The largest of some values; 0 where there are none."""
    return max(values, default=0.0)


@dataclass(frozen=True, slots=True)
class Measure:
    """A value in the unit its code table uses. `bound` is "at least", "at most" or ""."""

    value: float
    unit: str
    bound: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One line of arithmetic a reader can check by hand, with the table or formula it used."""

    text: str
    value: float | None = None
    unit: str = ""
    source: str = ""
