"""Lettering and numbers on a drawing: put where they cover least, or left off and counted."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ifclint.report.arrange import Item, plain
from ifclint.report.drawing import Flag, Word
from ifclint.report.sheet import Box, Pixel, Sheet, Spot, beside

CHARACTER, LINE_HEIGHT = 7.1, 15.0  # px, of the lettering
LABEL_LIMIT = 40  # characters
FLAG = 18.0  # px, size of a finding's number
THINNEST = 1.2  # px


@dataclass(frozen=True, slots=True)
class Label:
    """Lettering still to be placed: beside any of some places, clear of what stands there."""

    text: str
    places: list[Pixel]
    clear: float = 0.0
    style: str = "label"


def letter(sheet: Sheet, labels: Iterable[Label]) -> tuple[list[Word], int]:
    """Labels on the sheet, in turn, and how many were left off because they would cover others."""
    words, left_off = [], 0
    for label in labels:
        text = plain(label.text, LABEL_LIMIT)
        width = len(text) * CHARACTER + 4
        spot = sheet.best(beside(label.places, width, LINE_HEIGHT, label.clear))
        if sheet.full(spot.box):
            left_off += 1
            continue
        sheet.take_box(spot.box)
        words.append(Word(*middle(spot.box), text, label.style, leader(spot, 9)))
    return words, left_off


def flag(sheet: Sheet, spot: Spot, item: Item, drawing: str) -> Flag:
    """A finding's number at a spot of the sheet."""
    sheet.take_box(spot.box)
    return Flag(*middle(spot.box), item, f"{drawing}-mark-{item.number}", leader(spot, 3))


def leader(spot: Spot, close: float) -> Pixel | None:
    """Where a thin line should start, if lettering is too far off to be read as belonging there."""
    x, y = spot.place
    return (round(x, 1), round(y, 1)) if spot.gap > close else None


def weight(size_in: float | None) -> float:
    """Line weight in px for a nominal size in inches; the thinnest where it is not known."""
    known = size_in is not None and math.isfinite(size_in)
    return round(min(0.7 + 0.95 * size_in, 9.0), 2) if size_in and known else THINNEST


def middle(box: Box) -> Pixel:
    return round((box[0] + box[2]) / 2, 1), round((box[1] + box[3]) / 2, 1)
