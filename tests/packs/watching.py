"""What is compared with which limit while rules are asked, and where their answers are made."""

from __future__ import annotations

import ast
import linecache
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from ifclint import checks, known
from ifclint.codes import Limit
from ifclint.engineering import tolerance

SHARE = 0.05  # of the limit: what lies nearer to it is near
STEP = 1.0  # of what is counted, in units that have no parts
STEP_DEG = 5.0
# what is near to no length or slope at all
OF_ZERO = {"m": 0.05, "ft": 0.2, "in": 1.0, "mm": 20.0, "in/ft": 0.1}
COUNTED = ("", "DFU", "WSFU", "closets", "fixtures", "count", "straps")
TRADE_SIZES_IN = (0.25, 0.375, 0.5, 0.75, 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15)

# what makes an answer, or ends a rule with one
ANSWERS = (
    "advise", "between", "check", "drawn", "known", "missing", "not_known", "require", "unverified",
    "violation",
)  # fmt: skip
MADE_BY = ((checks, "Answer"), (checks, "NotDrawn"), (known, "Answer"), (known, "NotKnown"))

Comparison = tuple[str, str, str]  # file and function; what limit, or the line; which side is met
Line = tuple[str, int]  # of a file


@dataclass
class Watched:
    """Comparisons, on which sides of their limits values lay near, and which of them decide; the
    lines that gave an answer.

    One that has always been made before in the same case, of the same value with the same limit,
    decides nothing any more: it words what is wrong.
    """

    sides: dict[Comparison, set[str]] = field(default_factory=lambda: defaultdict(set))
    decisive: set[Comparison] = field(default_factory=set)
    asked: set[tuple[float, float, str]] = field(default_factory=set)  # in the case at hand
    answered: set[Line] = field(default_factory=set)

    def add(self, comparison: Comparison, value: float, limit: float, unit: str) -> None:
        self.sides[comparison].add(side_of(value, limit, unit))
        if (value, limit, comparison[2]) not in self.asked:
            self.asked.add((value, limit, comparison[2]))
            self.decisive.add(comparison)


def side_of(value: float, limit: float, unit: str) -> str:
    """Where a value lies: "below", "at" or "above" the limit, and "" where it is far from it."""
    if not isfinite(limit):
        return ""
    slack = tolerance.slack(limit, unit)
    if abs(value - limit) <= slack:
        return "at"
    step = SHARE * abs(limit)
    if unit in COUNTED:
        step = max(step, STEP)
    if unit == "deg":
        step = max(step, STEP_DEG)
    if limit == 0:
        step = OF_ZERO.get(unit, step)
    is_next = unit in ("", "in") and _are_neighbours(value, limit)
    if abs(value - limit) > step + slack and not is_next:
        return ""
    return "below" if value < limit else "above"


def _are_neighbours(value: float, limit: float) -> bool:
    """Whether two sizes follow one another in the trade."""
    sizes = TRADE_SIZES_IN
    return value in sizes and limit in sizes and abs(sizes.index(value) - sizes.index(limit)) == 1


@contextmanager
def rules_watched() -> Iterator[Watched]:
    """Every comparison with a limit, and every answer but a pass, that is made meanwhile."""
    found = Watched()
    with pytest.MonkeyPatch.context() as patch:
        for name in ("at_least", "at_most"):
            function = getattr(tolerance, name)
            for module_name, module in list(sys.modules.items()):
                if module_name.startswith("ifclint") and getattr(module, name, None) is function:
                    patch.setattr(module, name, _compared(function, name, found))
        for module, name in MADE_BY:
            patch.setattr(module, name, _answered(getattr(module, name), found))
        yield found


def answers_of(path: Path) -> dict[Line, str]:
    """The lines of a module that make answers: each with its function and what it says."""
    text = path.read_text(encoding="utf-8")
    lines, found = text.splitlines(), dict[Line, str]()
    for top in ast.parse(text).body:
        for node in ast.walk(top):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ANSWERS:
                says = lines[node.lineno - 1].strip()
                found[str(path), node.lineno] = f"{getattr(top, 'name', '')}: {says}"
    return found


def _compared(function: Callable[..., bool], name: str, found: Watched) -> Callable[..., bool]:
    def compared(value: float, limit: float, unit: str = "") -> bool:
        place, what = _asker(sys._getframe(1))
        found.add((place, what, name), float(value), float(limit), unit)
        return function(value, limit, unit)

    return compared


def _answered(make: Callable[..., Any], found: Watched) -> Callable[..., Any]:
    def made(*arguments: Any, **named: Any) -> Any:
        frame: FrameType | None = sys._getframe(1)
        while frame is not None and frame.f_code.co_filename in (checks.__file__, known.__file__):
            frame = frame.f_back
        assert frame is not None
        found.answered.add((frame.f_code.co_filename, frame.f_lineno))
        return make(*arguments, **named)

    return made


def _asker(frame: FrameType | None) -> tuple[str, str]:
    """Who compares (file and function), and what with: the key of a limit, or the line of code."""
    key = ""
    while frame is not None:
        file = frame.f_code.co_filename
        if file.endswith("ifclint/checks.py"):
            limit = frame.f_locals.get("limit")
            key = limit.key if isinstance(limit, Limit) else key
        elif not file.endswith("tolerance.py"):
            break
        frame = frame.f_back
    assert frame is not None
    short = file.rpartition("/ifclint/")[2].removeprefix("rules/")
    function = frame.f_code.co_qualname.replace("<locals>.", "")
    return f"{short} {function}", key or linecache.getline(file, frame.f_lineno).strip()
