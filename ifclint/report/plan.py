"""Plans: a storey in model metres becomes walls, pipe and numbers in page pixels, to scale."""

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from itertools import chain, pairwise
from math import degrees, dist, isfinite, sqrt

from ifclint.drawings import Plan, PlanBox
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.units import M_PER_FT
from ifclint.report.arrange import NAME_LIMIT, Item, one_a_number, plain
from ifclint.report.drawing import SERVICES, DrawnRun, GridLine, PlanDrawing
from ifclint.report.lettering import FLAG, Label, Spots, flags, letter, middle, weight
from ifclint.report.sheet import CELL, Box, Pixel, Sheet
from ifclint.report.sheet import at as around

WIDTH, HIGHEST = 1036.0, 860.0  # px, of the page's column and of a sheet of paper
MARGIN = 30.0  # px
LARGEST_SCALE = 90.0  # px per metre
FARTHEST = 1e8  # m
AROUND_M = 1.2  # shown around the walls; pipe runs on to the street beyond the paper
BESIDE_M = 5.0  # a fixture this far outside is shown too
BARS_FT = (500, 200, 100, 50, 20, 10, 5, 2, 1)
BAR_SHARE = 0.2  # of the drawing's width, at most
BUBBLE = 11.0  # px, half a grid tag's circle
PLACE = 2.0  # px, of the place of a finding, which no other number covers
THICKEST = 4.0  # px: a plan shows where pipe lies and not how large it is
Outline = tuple[bool, list[Pixel]]  # of a box: whether it stands aslant, and its corners


@dataclass(frozen=True, slots=True)
class _PlanView:
    scale: float  # px per metre
    left: float
    top: float

    def pixel(self, point: Pixel) -> Pixel:
        return (
            round((point[0] - self.left) * self.scale + MARGIN, 1),
            round((self.top - point[1]) * self.scale + MARGIN, 1),
        )


def draw_plan(
    plan: Plan, items: Iterable[Item], anchor: str, changed: Set[str] = frozenset()
) -> PlanDrawing | None:
    """The drawing of a storey with the findings that lie on it; None where nothing has a place."""
    points = list(_points(plan))
    if not points:
        return None
    view, width, height = _fit(points)
    drawing = PlanDrawing(plain(plan.storey, NAME_LIMIT), anchor, width, height)
    sheet = Sheet(width, height)
    walls, fixtures = _outlines(plan.walls, view), _outlines(plan.fixtures, view)
    drawing.walls = "".join(map(_outline_text, walls))
    drawing.rooms = "".join(map(_outline_text, _outlines(plan.rooms, view)))
    drawing.fixtures = "".join(map(_outline_text, fixtures))
    drawing.doors = "".join(_opening(o, view) for o in plan.openings if o.label == "door")
    drawing.windows = "".join(_opening(o, view) for o in plan.openings if o.label == "window")
    drawing.grid = list(_grid(plan, view, sheet))
    drawing.swings = "".join(_swings(plan, view, sheet))
    if plan.north is not None and isfinite(plan.north):
        drawing.north = round(-degrees(plan.north), 1)
    sheet.take_paths([*corners, corners[0]] for _, corners in chain(walls, fixtures))
    drawing.runs = _runs(plan, view, sheet, drawing)
    for pipe in plan.pipes:
        if pipe.guid in changed and _is_near(pipe.a[:2]) and _is_near(pipe.b[:2]):
            ends = view.pixel(pipe.a[:2]), view.pixel(pipe.b[:2])
            drawing.changed.append(f"M{_points_text(ends)}")
    _set_bar(drawing, view)
    _draw_flags(drawing, sheet, plan, view, items)
    drawing.words, left_off = letter(sheet, _labels(plan, view))
    drawing.left_off = len(left_off)
    return drawing


def _draw_flags(
    drawing: PlanDrawing, sheet: Sheet, plan: Plan, view: _PlanView, items: Iterable[Item]
) -> None:
    """The number of each finding at its place, or beside it with a thin line; no number stands on
    the place of another."""
    found: dict[Pixel, list[Item]] = {}  # by cell of the paper, as are their places
    at: dict[Pixel, Pixel] = {}
    own = (item for item in items if item.finding.location.storey == plan.storey)
    for item in one_a_number(own):
        place = item.finding.location
        if place.x is not None and place.y is not None and _is_near((place.x, place.y)):
            x, y = _on_paper(view.pixel((place.x, place.y)), drawing)
            found.setdefault((x // FLAG, y // FLAG), []).append(item)
            at.setdefault((x // FLAG, y // FLAG), (x, y))
    for spot in at.values():
        sheet.take_box(around(spot, PLACE, PLACE).box)
    for cell, numbered in found.items():
        spots = Spots((), (at[cell],), CELL + PLACE)
        drawing.flags += flags(sheet, spots, numbered, drawing.anchor)


def _points(plan: Plan) -> Iterator[Pixel]:
    """What the drawing has to show: the building, and the pipe itself where no wall is known."""
    built = [p for box in chain(plan.walls, plan.rooms) for p in box.corners if _is_near(p)]
    if plan.walls and built:
        left, right = min(x for x, _ in built), max(x for x, _ in built)
        low, top = min(y for _, y in built), max(y for _, y in built)
        for x, y in chain(built, (p for box in plan.fixtures for p in (box.low, box.high))):
            if left - BESIDE_M <= x <= right + BESIDE_M and low - BESIDE_M <= y <= top + BESIDE_M:
                yield from ((x + out, y + out) for out in (-AROUND_M, AROUND_M))
        return
    for box in chain(plan.rooms, plan.fixtures):
        yield from filter(_is_near, (box.low, box.high))
    for pipe in plan.pipes:
        yield from filter(_is_near, (pipe.a[:2], pipe.b[:2]))


def _is_near(point: Pixel) -> bool:
    return abs(point[0]) < FARTHEST and abs(point[1]) < FARTHEST


def _fit(points: Sequence[Pixel]) -> tuple[_PlanView, float, float]:
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, top = min(y for _, y in points), max(y for _, y in points)
    across, down = max(right - left, 0.1), max(top - low, 0.1)
    scale = min((WIDTH - 2 * MARGIN) / across, (HIGHEST - 2 * MARGIN) / down, LARGEST_SCALE)
    view = _PlanView(scale, left, top)
    return view, across * scale + 2 * MARGIN, down * scale + 2 * MARGIN


def _on_paper(at: Pixel, drawing: PlanDrawing) -> Pixel:
    """A place, or where the paper ends toward it."""
    return min(not_below_zero(at[0]), drawing.width), min(not_below_zero(at[1]), drawing.height)


def _outlines(boxes: Iterable[PlanBox], view: _PlanView) -> list[Outline]:
    """Boxes on the page, but for those that lie too far off."""
    found = []
    for box in boxes:
        if not all(map(_is_near, box.corners)):
            continue
        if box.outline:
            found.append((True, [*map(view.pixel, box.outline)]))
        else:
            (x1, y1), (x2, y2) = view.pixel(box.low), view.pixel(box.high)
            found.append((False, [(x1, y1), (x2, y1), (x2, y2), (x1, y2)]))
    return found


def _outline_text(outline: Outline) -> str:
    """A box as a path."""
    is_aslant, corners = outline
    if is_aslant:
        return f"M{_points_text(corners)}z"
    (x1, y1), _, (x2, y2), _ = corners
    return f"M{x1:g} {y1:g}H{x2:g}V{y2:g}H{x1:g}z"


def _points_text(points: Iterable[Pixel]) -> str:
    return "L".join(f"{x:g} {y:g}" for x, y in points)


def _opening(box: PlanBox, view: _PlanView) -> str:
    """A door or window: its outline, and a line along its middle (window) or across (a door of
    which nobody says how it swings)."""
    if not all(map(_is_near, box.corners)):
        return ""
    a, b, c, d = map(view.pixel, box.corners)
    if dist(a, b) < dist(b, c):
        a, b, c, d = b, c, d, a
    if box.leaves:
        return f"M{_points_text((a, b, c, d))}z"
    line = a, c
    if box.label == "window":
        line = _between(a, d), _between(b, c)
    return f"M{_points_text((a, b, c, d))}zM{_points_text(line)}"


def _swings(plan: Plan, view: _PlanView, sheet: Sheet) -> Iterator[str]:
    """The leaves of doors as they stand open, each with the way of its edge."""
    for leaf in (leaf for opening in plan.openings for leaf in opening.leaves):
        if not all(map(_is_near, leaf)):
            continue
        hinge, shut, opened = map(view.pixel, leaf)
        radius = round(dist(hinge, opened), 1)
        (x1, y1), (x2, y2) = ((x - hinge[0], y - hinge[1]) for x, y in (opened, shut))
        clockwise = int(x1 * y2 - y1 * x2 > 0)
        half = (x1 + x2) * sqrt(0.5) + hinge[0], (y1 + y2) * sqrt(0.5) + hinge[1]
        sheet.take_paths([[hinge, opened, half, shut]])
        yield f"M{_points_text((hinge, opened))}A{radius} {radius} 0 0 {clockwise} "
        yield _points_text([shut])


def _between(a: Pixel, b: Pixel) -> Pixel:
    return round((a[0] + b[0]) / 2, 1), round((a[1] + b[1]) / 2, 1)


def _grid(plan: Plan, view: _PlanView, sheet: Sheet) -> Iterator[GridLine]:
    """The grid as far as it crosses the paper; a circle with its tag at its upper or left end."""
    for axis in plan.grid:
        if not all(map(_is_near, axis.course)):
            continue
        course = _on_sheet([view.pixel(place) for place in axis.course], sheet)
        if len(course) < 2 or sum(dist(*piece) for piece in pairwise(course)) < 4 * BUBBLE:
            continue
        if sum(course[0]) > sum(course[-1]):
            course.reverse()
        a, b = course[:2]
        step = (b[0] - a[0]) * BUBBLE / dist(a, b), (b[1] - a[1]) * BUBBLE / dist(a, b)
        circle = _around(_moved(a, step, -1.0))
        if sheet.full(circle):
            circle = _around(_moved(a, step, 1.0))
            if not axis.via:
                course[0] = _moved(a, step, 2.0)
        sheet.take_box(circle)
        yield GridLine(tuple(course), plain(axis.tag, 6), middle(circle))


def _on_sheet(course: Sequence[Pixel], sheet: Sheet) -> list[Pixel]:
    """The first stretch of an axis that lies on the paper."""
    found: list[Pixel] = []
    for a, b in pairwise(course):
        ends = _clipped(a, b, sheet)
        if ends is None or (found and dist(found[-1], ends[0]) > 1.0):
            if found:
                break
            continue
        found += ends if not found else ends[1:]
    return [p for n, p in enumerate(found) if n == 0 or p != found[n - 1]]


def _moved(point: Pixel, step: Pixel, times: float) -> Pixel:
    return round(point[0] + step[0] * times, 1), round(point[1] + step[1] * times, 1)


def _around(middle: Pixel) -> Box:
    """The box of a grid tag's circle."""
    x, y = middle
    return x - BUBBLE, y - BUBBLE, x + BUBBLE, y + BUBBLE


def _clipped(a: Pixel, b: Pixel, sheet: Sheet) -> tuple[Pixel, Pixel] | None:
    """What of a line lies on the paper, a little off its edge."""
    first, last = 0.0, 1.0
    for start, end, least, most in (
        (a[0], b[0], 2.0, sheet.width - 2.0),
        (a[1], b[1], 2.0, sheet.height - 2.0),
    ):
        if start == end:
            if not least <= start <= most:
                return None
            continue
        enters, leaves = sorted(((least - start) / (end - start), (most - start) / (end - start)))
        first, last = max(first, enters), min(last, leaves)
    if first >= last:
        return None

    def at(share: float) -> Pixel:
        x, y = a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
        return round(x, 1), round(y, 1)

    return at(first), at(last)


def _runs(plan: Plan, view: _PlanView, sheet: Sheet, drawing: PlanDrawing) -> list[DrawnRun]:
    """All pipe of one service and line weight as one path; upright pipe is a dot."""
    drawn: dict[tuple[str, float], list[str]] = {}
    lines = []
    for pipe in chain(plan.pipes, plan.fittings):
        if not (_is_near(pipe.a[:2]) and _is_near(pipe.b[:2])):
            continue
        a, b = view.pixel(pipe.a[:2]), view.pixel(pipe.b[:2])
        if _on_paper(a, drawing) == a or _on_paper(b, drawing) == b:
            lines.append((a, b))
        look = pipe.service, min(weight(pipe.size_in), THICKEST)
        drawn.setdefault(look, []).append(f"M{a[0]:g} {a[1]:g}L{b[0]:g} {b[1]:g}")
    sheet.take_paths(lines)
    return [
        DrawnRun("".join(path), service, thick, SERVICES[service])
        for (service, thick), path in sorted(drawn.items())
    ]


def _set_bar(drawing: PlanDrawing, view: _PlanView) -> None:
    """The longest bar of a round number of feet that takes a fifth of the drawing at most."""
    for feet in BARS_FT:
        drawing.bar, drawing.bar_text = feet * M_PER_FT * view.scale, f"{feet} ft"
        if drawing.bar <= BAR_SHARE * drawing.width:
            break


def _labels(plan: Plan, view: _PlanView) -> Iterator[Label]:
    for box in chain(plan.rooms, plan.fixtures):
        if box.label and _is_near(box.low) and _is_near(box.high):
            (left, low), (right, top) = box.low, box.high
            x, y = (left + right) / 2, (low + top) / 2
            sides = [(x, y), (right, y), (left, y), (x, top), (x, low)]
            style = "level" if box in plan.rooms else "label"
            yield Label(box.label, list(map(view.pixel, sides)), style=style, upon=True)
