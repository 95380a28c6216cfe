"""What meets on a drawing that should not: boxes of lettering and numbers, thin lines, pipe."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from ifclint.report.drawing import Paper, Word
from ifclint.report.lettering import FLAG, size

Box = tuple[float, float, float, float]
Line = tuple[float, float, float, float]


def meetings(drawing: Paper) -> list[str]:
    """Labels and numbers on each other, on the thin line to another, and labels on pipe."""
    boxes = [(f"label {word.text}", box_of(word)) for word in drawing.words]
    half = FLAG / 2
    for f in drawing.flags:
        box = f.x - half, f.y - half, f.x + half, f.y + half
        boxes.append((f"number {f.item.number}", box))
    marks = [*drawing.words, *drawing.flags]
    thin = [(n, (*m.leader[0], *m.leader[1])) for n, m in enumerate(marks) if m.leader]
    pipes = list(pieces(drawing))
    wrong = [f"{a} on {b}" for (a, p), (b, q) in itertools.combinations(boxes, 2) if _over(p, q)]
    for n, (name, box) in enumerate(boxes):
        crossed = (boxes[k][0] for k, line in thin if k != n and meets(box, line))
        wrong += [f"{name} on the line to {other}" for other in crossed]
    for word in drawing.words:
        wrong += [f"{word.text} on pipe" for line in pipes if meets(box_of(word), line)]
    return wrong


def box_of(word: Word) -> Box:
    across, down = size(word.lines)
    if word.turned:
        across, down = down, across
    return (word.x - across / 2, word.y - down / 2, word.x + across / 2, word.y + down / 2)


def pieces(drawing: Paper) -> Iterator[Line]:
    """Every straight piece of pipe, of a riser's points or a plan's path data."""
    for run in drawing.runs:
        for path in run.points.removeprefix("M").split("M"):
            numbers = [float(n) for n in path.replace("L", " ").replace(",", " ").split()]
            points = list(zip(numbers[::2], numbers[1::2], strict=True))
            yield from ((*a, *b) for a, b in itertools.pairwise(points))


def meets(box: Box, line: Line) -> bool:
    """Whether a line passes through the inside of a box, a pixel within its sides."""
    x1, y1, x2, y2 = line
    low, high = 0.0, 1.0
    for start, length, near, far in (
        (x1, x2 - x1, box[0] + 1, box[2] - 1),
        (y1, y2 - y1, box[1] + 1, box[3] - 1),
    ):
        if abs(length) < 1e-9:
            if not near < start < far:
                return False
            continue
        enter, leave = sorted(((near - start) / length, (far - start) / length))
        low, high = max(low, enter), min(high, leave)
    return low < high


def _over(a: Box, b: Box) -> bool:
    return min(a[2], b[2]) - max(a[0], b[0]) > 1 and min(a[3], b[3]) - max(a[1], b[1]) > 1
