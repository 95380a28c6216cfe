"""Riser drawings: a `Riser` in model metres becomes lines and words in page pixels.

Drains and vents are laid out as a diagram (`schematic.py`), water and gas as an isometric
(`isometric.py`). Words stand where they meet no pipe, no symbol and no other word; a word without
room is left off and counted.
"""

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import replace

from ifclint.drawings import Riser
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.ifc.elements import Point
from ifclint.report import isometric, schematic
from ifclint.report.arrange import NAME_LIMIT, Item, one_a_number, plain
from ifclint.report.cutting import parted
from ifclint.report.drawing import SERVICES, BandLine, Drawing, DrawnRun, FloorLine, Layout, Symbol
from ifclint.report.lettering import BETWEEN, Label, Spots, flags, kept, letter, middle, weight
from ifclint.report.sheet import Pixel, Sheet, at

FARTHEST = 1e8  # m
SYMBOL = 7.0  # px, half the size of a symbol
AXES = 76.0  # px, the square the axes are shown in
ON_LINE = (0.5, 0.35, 0.65, 0.2, 0.8)  # shares of a run at which a number may stand on it
NOTED_ONCE = 40.0  # px between pipes that lead on to the same sheet
FLOOR_LINE = 14.0  # px to either side of an upright run
NO_SIZE = "size?"  # begins what is written beside pipe of unknown size
FEW, LESS = 2, 0.8  # labels left off a sheet; what a larger drawing has to leave off of them
MOST_SHEETS = 12  # of a riser that is drawn larger for its lettering
DRAINS = ("drain", "cleanout", "unreached")
TRAPS = (
    "trap", "p-trap", "s-trap", "drum-trap", "running-trap", "bottle-trap", "floor-trap",
    "bell-trap", "mechanical-trap", "crown-vented-trap",
)  # fmt: skip
TERMINALS = ("vent-through-roof", "air-admittance-valve", "vent-terminal", "vent terminal")
MARKED_SO = ("appliance", "valve", "device")
OUTLETS = ("outlet", "sewer-connection", "manhole", "septic-tank")


def draw(
    riser: Riser, items: Sequence[Item], anchor: str, changed: Set[str] = frozenset()
) -> list[Drawing]:
    """The sheets of one riser with the findings on them; none where nothing has a place."""
    lines = [replace(line, points=_finite(line.points)) for line in riser.lines]
    lines = [line for line in lines if len(line.points) > 1]
    drawable = replace(riser, marks=tuple(m for m in riser.marks if _finite([m.point])))
    if not lines and not drawable.marks:
        return []
    diagram = schematic.is_drawn_so(drawable) and bool(lines)
    way = schematic if diagram else isometric
    made: list[Drawing] = []
    for zoom in way.ZOOMS:
        layouts = way.lay_out(drawable, lines, zoom)
        if made and len(layouts) > MOST_SHEETS:
            break
        larger = _sheets(layouts, riser, items, anchor, changed)
        if not made or _left_off(larger) < LESS * _left_off(made):
            made = larger
        if _left_off(made) <= FEW * len(made):
            break
    return made


def _left_off(sheets: Iterable[Drawing]) -> int:
    return sum(sheet.left_off for sheet in sheets)


def _sheets(
    layouts: Sequence[Layout], riser: Riser, items: Sequence[Item], anchor: str, changed: Set[str]
) -> list[Drawing]:
    usual = _usual_sizes(riser)
    made = []
    for number, layout in enumerate(layouts, 1):
        of = f", sheet {number} of {len(layouts)}" if len(layouts) > 1 else ""
        own = anchor if number == 1 else f"{anchor}-{number}"
        drawing = _drawn(layout, usual, items, plain(riser.title, NAME_LIMIT) + of, own)
        for line, path in zip(layout.lines, layout.paths, strict=True):
            if line.service != schematic.LAID_OVER and not changed.isdisjoint(line.element_ids):
                drawing.changed.append(_path(path))
        made.append(drawing)
    return made


def _drawn(
    layout: Layout, usual: Mapping[str, str], items: Sequence[Item], title: str, anchor: str
) -> Drawing:
    drawing = Drawing(title, anchor, layout.width, layout.height, is_diagram=bool(layout.bands))
    sheet = Sheet(layout.width, layout.height)
    _draw_bands(drawing, sheet, layout)
    _draw_runs(drawing, sheet, layout)
    _draw_symbols(drawing, sheet, layout)
    if layout.axes:
        _draw_axes(drawing, sheet, layout)
    levels = _draw_levels(drawing, sheet, layout)
    named, named_off = letter(sheet, _names(layout))
    _draw_flags(drawing, sheet, _spots(layout), items)
    sizes = sorted(_sizes(layout, usual), key=lambda label: label.spare)
    at_levels, levels_off = letter(sheet, levels)
    words, sizes_off = letter(sheet, sizes)
    free = kept(named, drawing.flags)
    drawing.words = [*free, *at_levels, *words]
    drawing.left_off = len(named_off) + len(named) - len(free) + len(levels_off)
    for service in sorted({label.service for label in sizes_off}):
        off = [label for label in sizes_off if label.service == service]
        if all(label.spare for label in off):
            drawing.usual_sizes[service] = usual[service]
        else:
            drawing.left_off += len(off)
    return drawing


def _usual_sizes(riser: Riser) -> dict[str, str]:
    """Of each service the size that most runs have, which need not be written beside each; none
    where its runs do not all say their sizes."""
    sizes: dict[str, Counter[str]] = {}
    for line in riser.lines:
        sizes.setdefault(line.service, Counter())[_size_of(line.label)] += 1
    usual = {}
    for service, of_service in sizes.items():
        known = of_service.keys() - {NO_SIZE}
        if known and "" not in known:
            usual[service] = max(known, key=lambda size: (of_service[size], size))
    return usual


def _size_of(label: str) -> str:
    return label.split(BETWEEN)[0]


def one_view(risers: Sequence[Riser]) -> list[Riser]:
    """The risers to draw: what another says of drains that a diagram shows, which of them no
    cleanout reaches, is laid over that diagram."""
    base = next((riser for riser in risers if schematic.is_drawn_so(riser)), None)
    if base is None:
        return list(risers)
    shown = {element for line in base.lines for element in line.element_ids}
    over = [r for r in risers if r is not base and _is_of(r, shown)]
    marks = {mark.element_id: mark for riser in over for mark in riser.marks}
    own = [marks.pop(m.element_id) if m.element_id in marks else m for m in base.marks]
    lines = [line for riser in over for line in riser.lines if line.service == schematic.LAID_OVER]
    whole = replace(base, lines=(*base.lines, *lines), marks=(*own, *marks.values()))
    return [whole if riser is base else riser for riser in risers if riser not in over]


def _is_of(riser: Riser, shown: set[str]) -> bool:
    return all(
        line.service in DRAINS and shown.issuperset(line.element_ids) for line in riser.lines
    )


def _finite(points: Iterable[Point]) -> tuple[Point, ...]:
    """Points that can be drawn: of numbers, and not farther off than the earth is wide."""
    return tuple(p for p in points if all(abs(c) < FARTHEST for c in p))


def _draw_bands(drawing: Drawing, sheet: Sheet, layout: Layout) -> None:
    """A storey's level across the sheet, its name at the left edge."""
    for name, elevation, y in layout.bands:
        text = f"{plain(name, 30)} {_elevation(elevation)}"
        drawing.bands.append(BandLine(round(y, 1), text))
        sheet.take_box((0, y - 16, 8 * len(text), y + 2))


def _elevation(elevation_m: float) -> str:
    return f"{elevation_m:.2f} m, {feet_text(elevation_m / M_PER_FT, 1.0)}"


def _draw_runs(drawing: Drawing, sheet: Sheet, layout: Layout) -> None:
    sheet.take_paths(layout.paths)
    drawn = parted(layout.paths) if layout.bands else [[path] for path in layout.paths]
    for line, parts in zip(layout.lines, drawn, strict=True):
        words = ": ".join(plain(text, 300) for text in (line.label, line.detail) if text)
        service = line.service if line.service in SERVICES else "stub"
        for path in parts:
            drawing.runs.append(DrawnRun(_path(path), service, weight(line.size_in), words))


def _draw_symbols(drawing: Drawing, sheet: Sheet, layout: Layout) -> None:
    for mark, (x, y) in layout.marks:
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


def _draw_levels(drawing: Drawing, sheet: Sheet, layout: Layout) -> list[Label]:
    """A floor line at each upright run that passes a storey's level; the names to be lettered."""
    names = []
    for name, elevation, places in layout.levels:
        for x, y in places:
            sheet.take_box((x - FLOOR_LINE, y - 1, x + FLOOR_LINE, y + 1))
            drawing.floor_lines.append(FloorLine(round(x, 1), round(y, 1), plain(name, 40)))
        if places:
            text = f"{plain(name, 20)} {_elevation(elevation)}"
            names.append(Label(text, places, FLOOR_LINE, "level"))
    return names


def _spots(layout: Layout) -> dict[str, Spots]:
    """Where the number of a finding on each element may stand."""
    spots: dict[str, Spots] = {}
    for line, path in zip(layout.lines, layout.paths, strict=True):
        middles = tuple(_along(_longest(path), share) for share in ON_LINE)
        own = Spots(middles, middles)
        for element in line.element_ids:
            spots.setdefault(element, own)
    for mark, place in layout.marks:
        spots[mark.element_id] = Spots((), (place,), SYMBOL)
    return spots


def _draw_flags(
    drawing: Drawing, sheet: Sheet, spots: Mapping[str, Spots], items: Iterable[Item]
) -> None:
    """The number of each finding at the first of its elements that is on this drawing."""
    here = (i for i in items if any(e in spots for e in i.finding.element_ids))
    found: dict[Spots, list[Item]] = {}
    for item in one_a_number(here):
        own = next(spots[e] for e in item.finding.element_ids if e in spots)
        found.setdefault(own, []).append(item)
    for own, numbered in found.items():
        drawing.flags += flags(sheet, own, numbered, drawing.anchor)


def _names(layout: Layout) -> Iterator[Label]:
    """Where pipe leads to, and what its symbols are."""
    for text, places in _side_by_side(layout.notes):
        yield Label(f"→ {text}", places, style="level")
    for mark, place in layout.marks:
        if mark.label:
            yield Label(mark.label, [place], SYMBOL)


def _side_by_side(notes: Iterable[tuple[str, Pixel]]) -> list[tuple[str, list[Pixel]]]:
    """Where pipe leads to, once for pipes near each other."""
    together: list[tuple[str, list[Pixel]]] = []
    for text, place in notes:
        last = together[-1] if together else ("", [])
        if last[0] == text and math.dist(last[1][-1], place) < NOTED_ONCE:
            last[1].append(place)
        else:
            together.append((text, [place]))
    return together


def _sizes(layout: Layout, usual: Mapping[str, str]) -> Iterator[Label]:
    """What is written beside pipe, at any of some places of its longest stretches."""
    for (text, service), stretches in _stretches(layout):
        places = [_along(s, share) for s in stretches for share in (0.5, 0.3, 0.7)]
        spare = _size_of(text) == usual.get(service)
        yield Label(text, places, spare=spare, service=service)


def _stretches(layout: Layout) -> list[tuple[tuple[str, str], list[tuple[Pixel, Pixel]]]]:
    """What is written beside pipe of a service, the longest first: once for pipes of one label that
    follow one another."""
    follows: dict[tuple[tuple[str, str], Pixel], int] = {}
    runs: list[tuple[tuple[str, str], list[tuple[Pixel, Pixel]]]] = []
    for line, path in zip(layout.lines, layout.paths, strict=True):
        if not line.label:
            continue
        said = line.label, line.service
        ends = [(said, (round(x), round(y))) for x, y in (path[0], path[-1])]
        known = next((follows[end] for end in ends if end in follows), len(runs))
        if known == len(runs):
            runs.append((said, []))
        runs[known][1].append(_longest(path))
        follows |= dict.fromkeys(ends, known)
    ordered = ((said, sorted(own, key=lambda s: -math.dist(*s))[:3]) for said, own in runs)
    return sorted(ordered, key=lambda run: -math.dist(*run[1][0]))


def _draw_axes(drawing: Drawing, sheet: Sheet, layout: Layout) -> None:
    """The directions of the model's axes, in the emptiest corner of the paper."""
    near = AXES / 2
    ends = drawing.width - near, drawing.height - near
    corners = [(near, ends[1]), (ends[0], ends[1]), (near, near), (ends[0], near)]
    spot = sheet.best(at(corner, AXES, AXES) for corner in corners)
    sheet.take_box(spot.box)
    drawing.axes_at = middle(spot.box)
    drawing.axes = layout.axes


def _longest(path: Sequence[Pixel]) -> tuple[Pixel, Pixel]:
    return max(itertools.pairwise(path), key=lambda pair: math.dist(*pair))


def _along(stretch: tuple[Pixel, Pixel], share: float) -> Pixel:
    (x1, y1), (x2, y2) = stretch
    return x1 + (x2 - x1) * share, y1 + (y2 - y1) * share


def _path(points: Iterable[Pixel]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
