"""Every comparison with a limit is drawn just below it, at it and just above it.

All cases of the packs are asked again while comparisons are watched. A comparison that no case
draws near its limit from each side stands in `limits_not_drawn.toml` with the reason, or lacks
cases: `near` in a case draws all three (`ifclint.testing.cases`).
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

import pytest

from tests.packs.test_rule_cases import CASES, asked
from tests.packs.watching import comparisons_watched, side_of

LIST = Path(__file__).with_name("limits_not_drawn.toml")
ALL = {"below", "at", "above"}


@cache
def drawn() -> dict[str, set[str]]:
    """Each comparison of a rule that decides, and on which sides the cases come near its limit.

    The bounds by which the plumbing itself is understood are drawn in `tests/plumbing`.
    """
    with comparisons_watched() as found:
        for pack, case in CASES:
            found.asked.clear()
            asked(pack, case)
    return {
        f"{place}: {what} ({name})": found.sides[place, what, name]
        for place, what, name in found.decisive
        if not place.startswith("plumbing/")
    }


@cache
def listed() -> dict[str, str]:
    """The comparisons that are not drawn from all sides, and why."""
    groups = tomllib.loads(LIST.read_text(encoding="utf-8"))["group"]
    return {comparison: group["reason"] for group in groups for comparison in group["comparisons"]}


def test_every_limit_is_drawn_just_below_at_and_just_above() -> None:
    lacking = [
        f"{comparison} is not drawn {' nor '.join(sorted(ALL - sides))}"
        for comparison, sides in sorted(drawn().items())
        if not sides >= ALL and comparison not in listed()
    ]
    assert not lacking, "\n".join(lacking)


def test_what_is_listed_is_not_drawn() -> None:
    needless = [name for name in listed() if drawn().get(name, ALL) >= ALL]
    assert not needless, f"{LIST.name} lists what is drawn or gone:\n" + "\n".join(needless)
    assert all(listed().values())


@pytest.mark.parametrize(
    ("value", "limit", "unit", "side"),
    [
        (9.7, 10, "ft", "below"), (10.003, 10, "ft", "at"), (10.3, 10, "ft", "above"),
        (9.3, 10, "ft", ""), (9, 10, "DFU", "below"), (13, 10, "DFU", ""), (1.5, 2, "in", "below"),
        (1.25, 2, "in", ""), (91, 90, "deg", "above"), (90.4, 90, "deg", "at"),
        (0.9, 0, "in", "above"), (-0.1, 0, "m", ""),
    ],
)  # fmt: skip
def test_which_side_of_a_limit(value: float, limit: float, unit: str, side: str) -> None:
    assert side_of(value, limit, unit) == side
