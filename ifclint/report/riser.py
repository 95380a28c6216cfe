"""Isometric riser drawings: a `Riser` in model metres becomes lines and words in page pixels.

Up stays up, the two horizontal axes run at 30 degrees. Of the four sides the building can be
seen from, the one that hides least is taken. Words are put where they cover least; a word that
would only cover others is left off and counted.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Riser, RiserLine
from ifclint.ifc.elements import Point
from ifclint.report.arrange import NAME_LIMIT, Item, one_a_number, plain
from ifclint.report.drawing import SERVICES, Drawing, FloorLine, Run, Symbol
from ifclint.report.lettering import FLAG, Label, flag, letter, middle, weight
from ifclint.report.sheet import Pixel, Sheet, Spot, at, beside, on_line

COS30, SIN30 = math.cos(math.pi / 6), 0.5
MARGIN = 60.0  # px around the drawing, for words
SHEET_WIDTH = 1036.0  # px, the width of the page's column
LARGEST_SHEET = 9000.0  # px; a larger drawing is drawn smaller than reads well
FARTHEST = 1e8  # m
SCALE = (36.0, 120.0)  # px per metre: least, most
SYMBOL = 7.0  # px, half the size of a symbol
AXES = 76.0  # px, the square the axes are shown in
ON_LINE = (0.5, 0.35, 0.65, 0.2, 0.8)  # shares of a run at which a number may stand on it
FLOOR_LINE = 14.0  # px to either side of an upright run
TRAPS = ("trap", "p-trap", "s-trap", "drum-trap", "running-trap", "bottle-trap", "floor-trap")
TERMINALS = ("vent-through-roof", "air-admittance-valve", "vent-terminal", "vent terminal")
MARKED_SO = ("appliance", "valve", "device")
OUTLETS = ("outlet", "sewer-connection", "manhole", "septic-tank")


@dataclass(frozen=True, slots=True)
class View:
    """From model metres to page pixels, seen after `turn` quarter turns of the building."""

    turn: int
    scale: float = 1.0
    left: float = 0.0
    top: float = 0.0

    def pixel(self, point: Point) -> Pixel:
        x, y = self._turned(point[0], point[1])
        across, down = (x - y) * COS30, -(x + y) * SIN30 - point[2]
        return across * self.scale + self.left, down * self.scale + self.top

    def _turned(self, x: float, y: float) -> Pixel:
        return ((x, y), (-y, x), (-x, -y), (y, -x))[self.turn]


def draw(riser: Riser, items: Iterable[Item], anchor: str) -> Drawing | None:
    """The drawing of one riser with the findings that lie on it; None where nothing has a place."""
    lines = [line for line in riser.lines if len(_finite(line.points)) > 1]
    points = [p for line in lines for p in line.points] + [mark.point for mark in riser.marks]
    points = _finite(points)
    if not points:
        return None
    view, width, height = _clearest(lines, points)
    drawing = Drawing(plain(riser.title, NAME_LIMIT), anchor, width, height)
    sheet = Sheet(width, height)
    paths = [[view.pixel(p) for p in _finite(line.points)] for line in lines]
    _draw_runs(drawing, sheet, lines, paths)
    _draw_symbols(drawing, sheet, riser, view)
    _draw_axes(drawing, sheet, view)
    levels = _draw_levels(drawing, sheet, riser, lines, view)
    _draw_flags(drawing, sheet, _spots(riser, lines, paths, view), items)
    drawing.words, drawing.left_off = letter(sheet, [*levels, *_labels(riser, lines, paths, view)])
    return drawing


def _finite(points: Iterable[Point]) -> list[Point]:
    """Points that can be drawn: of numbers, and not farther off than the earth is wide."""
    return [p for p in points if all(abs(c) < FARTHEST for c in p)]


def _clearest(lines: Sequence[RiserLine], points: Sequence[Point]) -> tuple[View, float, float]:
    """The side on which the runs cover most of the paper, that is, each other least."""

    fits = [_fit(turn, points) for turn in range(4)]
    scale = min(view.scale for view, _, _ in fits)

    def spread(fit: tuple[View, float, float]) -> int:
        view, covered = View(fit[0].turn, scale), set[tuple[int, int]]()
        for line in lines:
            for a, b in itertools.pairwise([view.pixel(p) for p in _finite(line.points)]):
                rows, columns = on_line(a, b)
                covered.update(zip(rows.tolist(), columns.tolist(), strict=True))
        return len(covered)

    return max(fits, key=spread)


def _fit(turn: int, points: Sequence[Point]) -> tuple[View, float, float]:
    """A view of all points, at a scale that can be read, and the paper's width and height."""
    flat = [View(turn).pixel(point) for point in points]
    left, right = min(x for x, _ in flat), max(x for x, _ in flat)
    top, bottom = min(y for _, y in flat), max(y for _, y in flat)
    across, down = right - left, bottom - top
    scale = (SHEET_WIDTH - 2 * MARGIN) / max(across, 0.1)
    scale = max(SCALE[0], min(SCALE[1], scale))
    scale = min(scale, LARGEST_SHEET / max(across, down, 0.1))
    view = View(turn, scale, MARGIN - left * scale, MARGIN - top * scale)
    return view, across * scale + 2 * MARGIN, down * scale + 2 * MARGIN


def _draw_runs(
    drawing: Drawing, sheet: Sheet, lines: Sequence[RiserLine], paths: Sequence[list[Pixel]]
) -> None:
    for line, path in zip(lines, paths, strict=True):
        sheet.take_path(path)
        words = [plain(text, 300) for text in (line.label, line.detail) if text]
        service = line.service if line.service in SERVICES else "stub"
        drawing.runs.append(Run(_path(path), service, weight(line.size_in), ": ".join(words)))


def _draw_symbols(drawing: Drawing, sheet: Sheet, riser: Riser, view: View) -> None:
    for mark in riser.marks:
        if not _finite([mark.point]):
            continue
        x, y = view.pixel(mark.point)
        sheet.take_box(at((x, y), 2 * SYMBOL, 2 * SYMBOL).box)
        tooltip = plain(f"{mark.label} ({mark.kind})" if mark.label else mark.kind, NAME_LIMIT)
        drawing.symbols.append(Symbol(_symbol(mark.kind), round(x, 1), round(y, 1), tooltip))


def _symbol(kind: str) -> str:
    if kind in MARKED_SO:
        return kind
    if kind in TRAPS:
        return "trap"
    if kind in TERMINALS:
        return "vent terminal"
    if kind in OUTLETS:
        return "outlet"
    return "cleanout" if "cleanout" in kind or kind == "two-way" else "fixture"


def _draw_levels(
    drawing: Drawing, sheet: Sheet, riser: Riser, lines: Sequence[RiserLine], view: View
) -> list[Label]:
    """A floor line at each upright run that passes a storey's level; the names to be lettered."""
    names = []
    for name, elevation in riser.levels:
        places = sorted({view.pixel(p) for line in lines for p in _crossings(line, elevation)})
        for x, y in places:
            sheet.take_box((x - FLOOR_LINE, y - 1, x + FLOOR_LINE, y + 1))
            drawing.floor_lines.append(FloorLine(round(x, 1), round(y, 1), plain(name, 40)))
        if places:
            height = f"{elevation:.2f} m, {feet_text(elevation / M_PER_FT, 1.0)}"
            names.append(Label(f"{plain(name, 20)} {height}", places, FLOOR_LINE, "level"))
    return names


def _crossings(line: RiserLine, elevation: float) -> Iterator[Point]:
    """Where runs of more than a metre straight up pass a level; short ones would clutter."""
    path = _finite(line.points)
    for (x, y, z1), (x2, y2, z2) in itertools.pairwise(path):
        upright = abs(z2 - z1) > max(1.0, 10 * math.hypot(x2 - x, y2 - y))
        if upright and min(z1, z2) <= elevation <= max(z1, z2):
            yield x, y, elevation


def _spots(
    riser: Riser, lines: Sequence[RiserLine], paths: Sequence[list[Pixel]], view: View
) -> dict[str, tuple[list[Spot], list[Spot]]]:
    """Where the number of a finding on each element may stand: upon its run, else beside it."""
    spots: dict[str, tuple[list[Spot], list[Spot]]] = {}
    for line, path in zip(lines, paths, strict=True):
        middles = [_along(_longest(path), share) for share in ON_LINE]
        upon = [at(middle, FLAG, FLAG) for middle in middles]
        around = list(beside(middles[:1], FLAG, FLAG))
        for element in line.element_ids:
            spots.setdefault(element, (upon, around))
    for mark in riser.marks:
        if _finite([mark.point]):
            around = list(beside([view.pixel(mark.point)], FLAG, FLAG, SYMBOL))
            spots[mark.element_id] = ([], around)
    return spots


def _draw_flags(
    drawing: Drawing,
    sheet: Sheet,
    spots: Mapping[str, tuple[list[Spot], list[Spot]]],
    items: Iterable[Item],
) -> None:
    """The number of each finding at the first of its elements that is on this drawing."""
    here = (i for i in items if any(e in spots for e in i.finding.element_ids))
    for item in one_a_number(here):
        upon, around = next(spots[e] for e in item.finding.element_ids if e in spots)
        spot = sheet.best([s for s in upon if not sheet.full(s.box)] or around)
        drawing.flags.append(flag(sheet, spot, item, drawing.anchor))


def _labels(
    riser: Riser, lines: Sequence[RiserLine], paths: Sequence[list[Pixel]], view: View
) -> Iterator[Label]:
    """Every label with the places it may stand beside: symbols first, then the longest runs."""
    for mark in riser.marks:
        if mark.label and _finite([mark.point]):
            yield Label(mark.label, [view.pixel(mark.point)], SYMBOL)
    runs = [(line.label, _longest(path)) for line, path in zip(lines, paths, strict=True)]
    for label, stretch in sorted(runs, key=lambda run: -math.dist(*run[1])):
        if label:
            yield Label(label, [_along(stretch, share) for share in (0.5, 0.3, 0.7)])


def _draw_axes(drawing: Drawing, sheet: Sheet, view: View) -> None:
    """The directions of the model's axes, in the emptiest corner of the paper."""
    near = AXES / 2
    ends = drawing.width - near, drawing.height - near
    corners = [(near, ends[1]), (ends[0], ends[1]), (near, near), (ends[0], near)]
    spot = sheet.best(at(corner, AXES, AXES) for corner in corners)
    sheet.take_box(spot.box)
    drawing.axes_at = middle(spot.box)
    flat = View(view.turn)
    for name, end in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0)), ("z", (0.0, 0.0, 1.0))):
        x, y = flat.pixel(end)
        drawing.axes.append((name, round(x, 3), round(y, 3)))


def _longest(path: Sequence[Pixel]) -> tuple[Pixel, Pixel]:
    return max(itertools.pairwise(path), key=lambda pair: math.dist(*pair))


def _along(stretch: tuple[Pixel, Pixel], share: float) -> Pixel:
    (x1, y1), (x2, y2) = stretch
    return x1 + (x2 - x1) * share, y1 + (y2 - y1) * share


def _path(points: Iterable[Pixel]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
