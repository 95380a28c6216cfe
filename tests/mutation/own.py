"""Whose tests ought to notice a change of a module, and what earlier runs found out."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from pathlib import Path

from tests.mutation.places import Place

CASES = (
    "tests/packs/test_rule_cases.py", "tests/packs/test_moved.py", "tests/packs/test_lacking.py",
    "tests/packs/test_schedules.py",
)  # fmt: skip
LISTED = "tests/packs/test_own_numbers.py"  # looks at every number that a pack sets at import
CASED = (
    "plugins", "ifclint/plumbing", "ifclint/codes", "ifclint/engineering", "ifclint/checks.py",
    "ifclint/judge.py", "ifclint/amendments.py", "ifclint/network.py",
)  # fmt: skip
COMMON = {"ifclint", "plugins", "rules", "tests", "packs"}


def own_tests(path: str, files: Iterable[str]) -> list[str]:
    """The test files of a module: in a folder, or of a name, that is a part of its path; of what
    stands in no folder of the package those that stand in no folder of the tests.

    What rules rest on is also tried by the cases of rules, each of which asks one rule.
    """
    words = {*Path(path).parent.parts} - COMMON | {Path(path).stem}
    is_cased = any(Path(path).is_relative_to(folder) for folder in CASED)
    return [
        file
        for file in files
        if words & {*Path(file).parts, Path(file).stem.removeprefix("test_")}
        or (file in CASES and is_cased)
        or (Path(path).parts[:-1] == ("ifclint",) and Path(file).parts[:-1] == ("tests",))
        or (file == LISTED and Path(path).is_relative_to("plugins"))
    ]


def looks_into(file: str, path: str) -> bool:
    """Whether a test file looks at what a module sets at import in ways that are not followed: one
    called after the module, as through the fields of a model, or the one that lists all numbers."""
    return file == LISTED or Path(file).stem == f"test_{Path(path).stem}"


def within(costs: dict[str, float], bound_s: float) -> dict[str, float]:
    """The cheapest tests that together take no more than `bound_s`; at least one."""
    kept: dict[str, float] = {}
    for name, cost in sorted(costs.items(), key=lambda item: item[1]):
        if kept and sum(kept.values()) + cost > bound_s:
            break
        kept[name] = cost
    return kept


class Caught:
    """Changes that a test noticed already, in a file of one line each.

    They are not tried again as long as their module is as it was; what survived always is.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path
        lines = path.read_text().splitlines() if path and path.exists() else []
        self._known = {tuple(json.loads(line)) for line in lines}

    def has(self, place: Place, source: str) -> bool:
        return _line(place, source) in self._known

    def add(self, place: Place, source: str) -> None:
        if self.path is not None:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with self.path.open("a") as file:
                file.write(json.dumps(_line(place, source)) + "\n")


def _line(place: Place, source: str) -> tuple[str, str, int, int]:
    digest = hashlib.sha256(source.encode()).hexdigest()[:16]
    return place.path, digest, place.node, place.change
