"""What is noted of tests as they run: pytest plugins, sent back by the process that ran them."""

from __future__ import annotations

import importlib
import os
from collections import defaultdict
from collections.abc import Generator, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest


@dataclass
class Measured:
    """One test on the code as it is."""

    cost_s: float = 0.0
    is_passed: bool = False  # a test that is skipped does neither
    is_failed: bool = False
    places: set[int] = field(default_factory=set)


class Measuring:
    """Which places each test passes, what it costs, and whether it passes at all.

    What is passed while a test file is collected, or while a fixture is made that several tests
    share, is passed by every test of the file.
    """

    def __init__(self, tree: Path) -> None:
        probe: Any = importlib.import_module("mutation_probe")  # in the copy
        os.environ[probe.FILE] = str(tree / "passed-elsewhere.txt")
        probe.owner = os.getpid()
        probe.replace_caches()
        self._probe = probe
        self.tests: dict[str, Measured] = defaultdict(Measured)
        self.shared: set[int] = set()
        self.status = 0

    def __getstate__(self) -> dict[str, object]:
        return {name: value for name, value in vars(self).items() if name != "_probe"}

    @pytest.hookimpl(wrapper=True)
    def pytest_collection(self) -> Generator[None, object, object]:
        with self._probe.recording() as passed:
            done = yield
        self.shared |= passed | self._probe.passed_elsewhere()
        return done

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, object, object]:
        with self._probe.recording() as passed:
            made = yield
        if fixturedef.scope != "function":
            self.shared |= passed
        return made

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        with self._probe.recording() as passed:
            done = yield
        self.tests[item.nodeid].places |= passed | self._probe.passed_elsewhere()
        return done

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        test = self.tests[report.nodeid]
        test.cost_s += report.duration
        test.is_failed = test.is_failed or report.failed
        if report.when == "call":
            test.is_passed = report.passed


class Trying:
    """The given tests alone, the cheapest file first and in it the cheapest test."""

    def __init__(self, costs: dict[str, float]) -> None:
        self.costs = costs
        self.ran: list[str] = []
        self.status = 0

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        wanted = [item for item in items if item.nodeid in self.costs]
        by_file: dict[str, list[float]] = defaultdict(list)
        for item in wanted:
            by_file[file_of(item.nodeid)].append(self.costs[item.nodeid])
        mean = {name: sum(costs) / len(costs) for name, costs in by_file.items()}

        def order(item: pytest.Item) -> tuple[float, str, float]:
            file = file_of(item.nodeid)
            return mean[file], file, self.costs[item.nodeid]

        items[:] = sorted(wanted, key=order)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.when == "call":
            self.ran.append(report.nodeid)

    @property
    def is_caught(self) -> bool:
        """Whatever is not a clean run: a failure, or a module that cannot be imported any more.

        Tests that are gone, since the change gives them another name, notice nothing.
        """
        return self.status not in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)


def file_of(test: str) -> str:
    """The file of a test's name."""
    return test.partition("::")[0]


def by_file(tests: Iterable[str]) -> dict[str, int]:
    """How many tests of each file."""
    counts: dict[str, int] = defaultdict(int)
    for test in tests:
        counts[file_of(test)] += 1
    return dict(sorted(counts.items()))
