"""Lettering and numbers on a drawing: put where they cover least, or left off and counted."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ifclint.report.arrange import Item, plain
from ifclint.report.drawing import Flag, Word
from ifclint.report.sheet import FULL, Box, Pixel, Sheet, Spot, beside

CHARACTER, LINE_HEIGHT = 7.1, 15.0  # px, of the lettering
LABEL_LIMIT = 40  # characters
CLOSE = 9  # px; farther off a thin line leads to what is named
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
    """Labels on the sheet, in turn, and how many were left off because they would cover anything.

    A label stands level where it can, else turned; farther off only where its leader is free too.
    """
    words, left_off = [], 0
    for label in labels:
        text = plain(label.text, LABEL_LIMIT)
        width = len(text) * CHARACTER + 4
        found = _free(sheet, label, width, LINE_HEIGHT), False
        if found[0] is None:
            found = _free(sheet, label, LINE_HEIGHT, width), True
        spot, turned = found
        if spot is None:
            left_off += 1
            continue
        start = leader(spot, CLOSE)
        line = (start, edge(spot.box, start)) if start is not None else None
        if line is not None:
            sheet.take_paths([line], FULL)
        sheet.take_box(spot.box)
        words.append(Word(*middle(spot.box), text, label.style, line, turned))
    return words, left_off


def edge(box: Box, toward: Pixel) -> Pixel:
    """The point of a box that is nearest to a place."""
    x, y = min(max(toward[0], box[0]), box[2]), min(max(toward[1], box[1]), box[3])
    return round(x, 1), round(y, 1)


def _free(sheet: Sheet, label: Label, width: float, height: float) -> Spot | None:
    """The nearest spot where nothing is."""
    for spot in beside(label.places, width, height, label.clear):
        if not sheet.clear(spot.box):
            continue
        if spot.gap <= CLOSE or sheet.open(spot.place, spot.box, label.clear + 2):
            return spot
    return None


def flag(sheet: Sheet, spot: Spot, item: Item, drawing: str) -> Flag:
    """A finding's number at a spot of the sheet."""
    sheet.take_box(spot.box)
    start = leader(spot, 3)
    line = (start, middle(spot.box)) if start is not None else None
    return Flag(*middle(spot.box), item, f"{drawing}-mark-{item.number}", line)


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
