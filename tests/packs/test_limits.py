"""Every comparison with a limit is drawn just below it, at it and just above it, and every answer
that a rule words is given.

All cases of the packs are asked again while rules are watched. A comparison that no case draws near
its limit from each side stands in `limits_not_drawn.toml` with the reason, or lacks cases: `near`
in a case draws all three (`ifclint.testing.cases`). So does, in `answers_not_given.toml`, a line
that words an answer which no case is given.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest

from tests.packs.test_rule_cases import CASES, PACKS, asked
from tests.packs.watching import Watched, answers_of, rules_watched, side_of

LIST = Path(__file__).with_name("limits_not_drawn.toml")
NOT_GIVEN = Path(__file__).with_name("answers_not_given.toml")
ALL = {"below", "at", "above"}


@cache
def watched() -> Watched:
    """What the cases make rules compare and answer."""
    with rules_watched() as found:
        for pack, case in CASES:
            found.asked.clear()
            asked(pack, case)
    return found


def drawn() -> dict[str, set[str]]:
    """Each comparison of a rule that decides, and on which sides the cases come near its limit.

    The bounds by which the plumbing itself is understood are drawn in `tests/plumbing`.
    """
    found = watched()
    return {
        f"{place}: {what} ({name})": found.sides[place, what, name]
        for place, what, name in found.decisive
        if not place.startswith("plumbing/")
    }


def listed(path: Path, what: str) -> dict[str, str]:
    """What a list leaves out, and why."""
    groups = tomllib.loads(path.read_text(encoding="utf-8"))["group"]
    return {one: group["reason"] for group in groups for one in group[what]}


def not_given() -> set[str]:
    """The lines of rules that word an answer which no case is given."""
    given, found = watched().answered, set[str]()
    for pack in PACKS:
        folder = Path(str(import_module(f"ifclint.rules.{pack}").__file__)).parent
        for path in folder.glob("*.py"):
            answers = answers_of(path).items()
            found |= {f"{pack}/{path.name} {says}" for line, says in answers if line not in given}
    return found


def test_every_limit_is_drawn_just_below_at_and_just_above() -> None:
    known = listed(LIST, "comparisons")
    lacking = [
        f"{comparison} is not drawn {' nor '.join(sorted(ALL - sides))}"
        for comparison, sides in sorted(drawn().items())
        if not sides >= ALL and comparison not in known
    ]
    assert not lacking, "\n".join(lacking)


def test_what_is_listed_is_not_drawn() -> None:
    known, made = listed(LIST, "comparisons"), drawn()
    needless = [name for name in known if made.get(name, ALL) >= ALL]
    assert not needless, f"{LIST.name} lists what is drawn or gone:\n" + "\n".join(needless)
    assert all(known.values())


def test_every_answer_that_a_rule_words_is_given() -> None:
    known, lacking = listed(NOT_GIVEN, "answers"), not_given()
    assert not lacking - set(known), "\n".join(sorted(lacking - set(known)))
    assert not set(known) - lacking, f"{NOT_GIVEN.name} lists what is given or gone"
    assert all(known.values())


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
