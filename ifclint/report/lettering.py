"""Lettering and numbers on a drawing: put where they meet nothing, ever shorter where there is
little room, or left off and counted."""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TypeAlias

from ifclint.ifc.elements import mark_in, without_number
from ifclint.report.arrange import Item, plain
from ifclint.report.drawing import Flag, Word
from ifclint.report.sheet import FARTHER, FULL, Box, Pixel, Sheet, Spot, at, beside

Lines: TypeAlias = tuple[str, ...]

FONT, LINE_HEIGHT = 13.0, 15.0  # px, of the lettering
NARROW, WIDE = frozenset("ijlI.,:;!|'·()[]/ -ftr³\""), frozenset("mwMW→…%@")
LABEL_LIMIT = 40  # characters of a line
CLOSE = 9  # px; farther off a thin line leads to what is named
FLAG = 18.0  # px, size of a finding's number
THINNEST = 1.2  # px
BETWEEN = " · "  # of a name and its figures
_MORE = re.compile(r" - |, | with |[(:;]")  # before what a name says beyond what a thing is


@dataclass(frozen=True, slots=True)
class Label:
    """Lettering still to be placed: beside any of some places, clear of what stands there."""

    text: str
    places: list[Pixel]
    clear: float = 0.0
    style: str = "label"
    upon: bool = False  # may stand right over the first of its places
    spare: bool = False  # the drawing says it otherwise too
    service: str = ""  # of the pipe it stands beside

    def forms(self) -> list[Lines]:
        """Its lines as they read best, then more lines, then fewer words: of "Lavatory L-2 (Bath 2)
        · 1 DFU" at last "L-2", of "Lavatory - Wall Hung · 1 DFU" at last "Lavatory"."""
        name, *figures = self.text.split(BETWEEN)
        name = without_number(name)
        called = mark_in(name) or _MORE.split(name, maxsplit=1)[0].strip()
        forms = [_lines([name, *figures])]
        if figures:
            forms.append((*_lines([name]), *_lines(figures)))
        if len(name) > LABEL_LIMIT // 2 and " " in name:
            halves = (*_halves(name), *(_lines(figures) if figures else ()))
            forms.insert(0 if len(name) > LABEL_LIMIT else len(forms), halves)
        if called and called != name:
            forms.append(_lines([called, *figures]))
            if figures:
                forms.append((called, *_lines(figures)))
        if figures:
            forms.append(_lines([called or name]))
        return list(dict.fromkeys(forms))


def _lines(parts: list[str]) -> Lines:
    """Parts on one line, or where that is too long on two."""
    whole = BETWEEN.join(parts)
    if len(whole) <= LABEL_LIMIT or len(parts) == 1:
        return (plain(whole, LABEL_LIMIT),)
    return plain(parts[0], LABEL_LIMIT), plain(BETWEEN.join(parts[1:]), LABEL_LIMIT)


def _halves(name: str) -> tuple[str, str]:
    """A name in two lines, cut at the space nearest its middle."""
    spaces = [i for i, c in enumerate(name) if c == " "]
    cut = min(spaces, key=lambda i: abs(i - len(name) / 2))
    return plain(name[:cut], LABEL_LIMIT), plain(name[cut + 1 :], LABEL_LIMIT)


def text_width(text: str) -> float:
    """Width in px of a line of lettering, in the widest of the usual typefaces."""
    return FONT * sum(map(_share, text))


@cache
def _share(character: str) -> float:
    """Of the height of the lettering, how wide a character is."""
    if character in WIDE or ord(character) > 0x2E7F:
        return 1.0
    if character in NARROW:
        return 0.4
    return 0.75 if character.isupper() else 0.63


def size(lines: Iterable[str]) -> tuple[float, float]:
    """Width and height in px of lettering in lines."""
    widths = [text_width(line) for line in lines]
    return max(widths) + 4, LINE_HEIGHT * len(widths)


def letter(sheet: Sheet, labels: Iterable[Label]) -> tuple[list[Word], list[Label]]:
    """Labels on the sheet, in turn, and those left off because they would cover anything.

    A label stands level where it can, else turned; farther off only where its leader is free too.
    """
    words, left_off = [], []
    for label in labels:
        word = _placed(sheet, label)
        if word is None:
            left_off.append(label)
        else:
            words.append(word)
    return words, left_off


def _placed(sheet: Sheet, label: Label) -> Word | None:
    """Where a label stands; at the last farther off, its thin line over pipe."""
    forms = label.forms()
    ways = list(_ways(forms))
    found = _free(sheet, label, ways)
    if found is None and not label.spare:
        ways = [(forms[-1], False)]
        found = _free(sheet, label, ways, over_pipe=True)
    if found is None:
        return None
    (lines, turned), spot = ways[found[0]], found[1]
    start = leader(spot, CLOSE)
    line = (start, edge(spot.box, start)) if start is not None else None
    if line is not None:
        sheet.take_paths([line], FULL)
    sheet.take_box(spot.box)
    return Word(*middle(spot.box), lines, label.style, line, turned)


def _ways(forms: Sequence[Lines]) -> Iterator[tuple[Lines, bool]]:
    """Forms of a label and whether turned, the best first: a name is kept before it is level."""
    last = forms[-1:] if len(forms) > 1 else []
    for some in (forms[: len(forms) - len(last)], last):
        yield from ((lines, False) for lines in some)
        yield from ((lines, True) for lines in some)


def edge(box: Box, toward: Pixel) -> Pixel:
    """The point of a box that is nearest to a place."""
    x, y = min(max(toward[0], box[0]), box[2]), min(max(toward[1], box[1]), box[3])
    return round(x, 1), round(y, 1)


def _free(
    sheet: Sheet, label: Label, ways: Sequence[tuple[Lines, bool]], over_pipe: bool = False
) -> tuple[int, Spot] | None:
    """The number of the first way for which there is a spot where nothing is, and the nearest such
    spot: upon the first place where the label may stand there, else beside one."""
    sizes = [size(lines)[::-1] if turned else size(lines) for lines, turned in ways]
    upon = (at(label.places[0], *each) for each in sizes if label.upon)
    over = next(((n, spot) for n, spot in enumerate(upon) if sheet.clear(spot.box)), None)
    before = sizes if over is None else sizes[: over[0]]
    if not before:
        return over
    return sheet.first_free(label.places, before, label.clear, CLOSE, over_pipe) or over


@dataclass(frozen=True, slots=True)
class Spots:
    """Where the numbers of findings on one thing may stand: upon it, else around it.

    `clear` is the half size of the symbol there, in px.
    """

    upon: tuple[Pixel, ...]
    around: tuple[Pixel, ...]
    clear: float = 0.0

    def of(self, sheet: Sheet, width: float, height: float) -> Iterator[Spot]:
        free = [at(place, width, height) for place in self.upon]
        free = [spot for spot in free if not sheet.full(spot.box)]
        return iter(free) if free else beside(self.around, width, height, self.clear, FARTHER)


def flags(sheet: Sheet, spots: Spots, items: Sequence[Item], drawing: str) -> Iterator[Flag]:
    """The numbers of findings on one thing, side by side, with one thin line to it where they
    stand off."""
    blocks = {(min(len(items), n), math.ceil(len(items) / n)) for n in (1, 2, 4, len(items))}
    spot, columns = min(
        (
            (sheet.best(spots.of(sheet, FLAG * across, FLAG * down), spots.clear), across)
            for across, down in sorted(blocks)
        ),
        key=lambda found: (sheet.cost(found[0], spots.clear), -found[1]),
    )
    start = leader(spot, 3)
    line = (start, edge(spot.box, start)) if start is not None else None
    if line is not None:
        sheet.take_paths([line], FULL)
    sheet.take_box(spot.box)
    left, top = spot.box[0] + FLAG / 2, spot.box[1] + FLAG / 2
    for number, item in enumerate(items):
        row, column = divmod(number, columns)
        x, y = round(left + column * FLAG, 1), round(top + row * FLAG, 1)
        yield Flag(x, y, item, f"{drawing}-mark-{item.number}", None if number else line)


def kept(words: Iterable[Word], numbers: Sequence[Flag]) -> list[Word]:
    """The words that no number stands on, nor on the line to them, and that no thin line to one
    crosses: where there was no other room, a number comes before a word."""
    half = FLAG / 2
    solid = [((f.x - half, f.y), (f.x + half, f.y), half) for f in numbers]
    thin = [(*f.leader, 0.0) for f in numbers if f.leader]
    free = [word for word in words if not any(_meets(word, *line) for line in (*solid, *thin))]
    square = half - 1, half - 1
    return [
        word
        for word in free
        if not word.leader or not any(_passes((f.x, f.y), square, *word.leader) for f in numbers)
    ]


def _meets(word: Word, a: Pixel, b: Pixel, half: float) -> bool:
    """Whether a line of some half thickness passes through the inside of a word's box."""
    across, down = size(word.lines)
    if word.turned:
        across, down = down, across
    return _passes((word.x, word.y), (across / 2 - 1, down / 2 - 1 + half), a, b)


def _passes(middle: Pixel, halves: Pixel, a: Pixel, b: Pixel) -> bool:
    """Whether a line passes through a box of some half width and half height."""
    low, high = 0.0, 1.0
    for start, end, middle_at, far in (
        (a[0], b[0], middle[0], halves[0]),
        (a[1], b[1], middle[1], halves[1]),
    ):
        if abs(end - start) < 1e-9:
            if abs(start - middle_at) >= far:
                return False
            continue
        enter, leave = sorted((middle_at + k * far - start) / (end - start) for k in (-1, 1))
        low, high = max(low, enter), min(high, leave)
    return low < high


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
