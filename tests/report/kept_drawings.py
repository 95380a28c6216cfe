"""Drawings as text, one line for everything on the paper, and how they are kept."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import fields
from pathlib import Path

from ifclint.findings import Review
from ifclint.report.arrange import Item, numbered
from ifclint.report.drawing import Paper
from ifclint.report.plan import draw_plan
from ifclint.report.riser import draw, one_view
from tests.report import samples
from tests.reviewing import without_corrections

FOLDER = Path(__file__).parents[1] / "golden" / "drawings"
MODELS = Path(__file__).parents[2] / "models"
KEPT = ("dwelling_early", "restaurant_early", "sample")
NUMBER = re.compile(r"(-?\d+\.\d+)")
CLOSE = 0.06  # px: what rounding to a tenth may differ on another machine


def drawings(name: str) -> str:
    """Every riser and plan of a demo, or of a made-up review; the numbers of findings on this one
    alone, since those of a demo change with every rule."""
    review = samples.full() if name == "sample" else _review(name)
    items = numbered(review) if name == "sample" else []
    sheets: list[Paper] = [d for r in one_view(review.risers) for d in draw(r, items, r.key)]
    sheets += filter(None, (draw_plan(plan, items, plan.storey) for plan in review.plans))
    return "".join(f"{line}\n" for sheet in sheets for line in _of(sheet))


def _review(name: str) -> Review:
    shell = [MODELS / "restaurant_architecture.ifc"] if name.startswith("restaurant") else []
    return without_corrections([MODELS / f"{name}.ifc", *shell], MODELS / f"{name}.toml")


def _of(sheet: Paper) -> Iterator[str]:
    yield f"## {type(sheet).__name__} {sheet.title}"
    for field in fields(sheet):
        value = getattr(sheet, field.name)
        if isinstance(value, list):
            yield from (f"{field.name}: {_told(part)}" for part in value)
        elif value:
            yield f"{field.name}: {_told(value)}"


def _told(value: object) -> str:
    if isinstance(value, Item):
        return f"no. {value.number}"
    if isinstance(value, float):
        return f"{value:.2f}"
    if isinstance(value, dict):
        return ", ".join(f"{key} {_told(part)}" for key, part in value.items())
    if isinstance(value, tuple | list):
        return f"({' '.join(map(_told, value))})"
    if hasattr(value, "__dataclass_fields__"):
        return " | ".join(_told(getattr(value, field.name)) for field in fields(value))
    return str(value)


def differing(made: str, kept: str) -> list[str]:
    """Lines that say something else, or the same of another place."""
    one, other = made.splitlines(), kept.splitlines()
    longer = max(len(one), len(other))
    one, other = ([*lines, *[""] * (longer - len(lines))] for lines in (one, other))
    return [f"{a}\n  was {b}" for a, b in zip(one, other, strict=True) if not _alike(a, b)]


def _alike(one: str, other: str) -> bool:
    parts: Sequence[tuple[str, str]] = list(zip(NUMBER.split(one), NUMBER.split(other)))  # noqa: B905
    return len(NUMBER.split(one)) == len(NUMBER.split(other)) and all(
        a == b or (n % 2 == 1 and math.isclose(float(a), float(b), abs_tol=CLOSE))
        for n, (a, b) in enumerate(parts)
    )
