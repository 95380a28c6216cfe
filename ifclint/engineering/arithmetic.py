"""Arithmetic as a reader can check it by hand: values in the units of the code, line by line."""

from __future__ import annotations

from dataclasses import dataclass


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
