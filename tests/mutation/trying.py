"""A sample of the places of a project, each tried against the tests of its own that pass it."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tests.mutation import probe, running
from tests.mutation.checker import TypeChecker
from tests.mutation.equivalent import Equivalent, accounted_for
from tests.mutation.instrument import find_readers, instrumented
from tests.mutation.own import Caught, looks_into, own_tests, within
from tests.mutation.places import Module, Place
from tests.mutation.running import Ended, Job
from tests.mutation.watching import Measured, Measuring, Trying, by_file, file_of

SCRIPT = "tests/mutation"  # its tests notice nothing else
HANGS = 5.0  # a changed module may make its tests take so many times longer


class NotTried(Exception):
    """Nothing can be tried on this project; the message says why."""


class Options(Protocol):
    """What is asked for on the command line."""

    root: Path
    paths: list[str]
    sample: int
    seed: int
    timeout: float
    workers: int
    caught: Path | None


@dataclass(frozen=True)
class Survivor:
    """A change that no test noticed, with the number of tests that ran by file."""

    place: Place
    ran: dict[str, int]

    def __str__(self) -> str:
        ran = ", ".join(f"{count} of {file}" for file, count in self.ran.items())
        change = f"{self.place.text} -> {self.place.becomes}"
        return f"{self.place.name}: {change} | ran {ran or 'nothing: no test passes here'}"


@dataclass(frozen=True)
class Outcome:
    """What became of a sample."""

    places: int  # to draw from
    sample: list[Place]
    survivors: list[Survivor]
    hung: int
    refused: int  # by the type checker, of what no test noticed
    failing: list[str]  # tests that fail on the instrumented code; they were left out


def mutate(options: Options, equivalents: list[Equivalent], tell: Callable[[str], None]) -> Outcome:
    """Draw a sample, find its own tests that pass each of its places, and try it against them."""
    root = options.root
    modules = {path: _module(root, path) for path in sources(root)}
    everywhere = [place for module in modules.values() for place in module.places()]
    accepted = accounted_for(everywhere, equivalents)
    within_paths = [place for place in everywhere if _is_in(place, options.paths)]
    sample = draw(within_paths, accepted, options.sample, options.seed)
    texts = {path: module.source for path, module in modules.items()}
    caught = Caught(options.caught)
    trying = [place for place in sample if not caught.has(place, texts[place.path])]
    survivors: list[Survivor] = []
    hung, refused, failing = 0, 0, list[str]()
    if trying:
        tell(f"{len(sample) - len(trying)} were caught before")
        tests, results = _try(options, modules, trying, tell)
        for place, result in zip(trying, results, strict=True):
            hung += isinstance(result, Ended)
            if isinstance(result, Trying) and not result.is_caught:
                survivors.append(Survivor(place, by_file(result.ran)))
            else:
                caught.add(place, texts[place.path])
        unnoticed = [survivor.place for survivor in survivors]
        by_types = _refused(root, modules, unnoticed, tell)
        survivors = [survivor for survivor in survivors if survivor.place not in by_types]
        refused = len(by_types)
        failing = sorted(name for name, test in tests.items() if test.is_failed)
    return Outcome(len(within_paths), sample, survivors, hung, refused, failing)


def _refused(
    root: Path, modules: dict[str, Module], places: list[Place], tell: Callable[[str], None]
) -> set[Place]:
    """The places whose change the type checker refuses."""
    if not places:
        return set()
    tell(f"{len(places)} noticed by no test; the type checker is asked")
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        tree = Path(folder) / "typed"
        running.copy_tree(root, tree)
        checker = TypeChecker(tree)
        return {p for p in places if checker.refuses(p.path, modules[p.path].mutated(p))}


def _try(
    options: Options, modules: dict[str, Module], sample: list[Place], tell: Callable[[str], None]
) -> tuple[dict[str, Measured], list[running.Result]]:
    """The tests as measured, and what became of each place."""
    root = options.root
    mutants = [modules[place.path].mutated(place) for place in sample]
    files = [file for file in _tests(root) if Path(file).name.startswith("test_")]
    own = [set(own_tests(place.path, files)) for place in sample]
    running.load_libraries(module.source for module in modules.values())
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        asked = sorted(set().union(*own))
        trees = _copies(root, Path(folder), "copy", options.workers)  # before its files change
        tests = _measure(root, Path(folder), modules, sample, asked, options.workers, tell)
        tell(f"{len(tests)} tests measured")
        jobs = [
            _job(number, source, tests, sample, own[number], options.timeout)
            for number, source in enumerate(mutants)
        ]
        results = iter(running.run_all(root, trees, [job for job in jobs if job.costs], tell))
        return tests, [next(results) if job.costs else Trying({}) for job in jobs]


def draw(places: list[Place], accepted: set[Place], count: int, seed: int) -> list[Place]:
    """A sample in the order of the source. Those accounted for are replaced; the others stay."""
    chance = random.Random(seed)
    drawn = chance.sample(places, min(count, len(places)))
    sample = [place for place in drawn if place not in accepted]
    taken = accepted.union(drawn)
    rest = [place for place in places if place not in taken]
    sample += chance.sample(rest, min(count - len(sample), len(rest)))
    return sorted(sample, key=lambda place: (place.path, place.line, place.node, place.change))


def sources(root: Path) -> list[str]:
    """Every module of the project but its tests."""
    paths = (path.relative_to(root) for path in root.rglob("*.py"))
    return sorted(
        path.as_posix()
        for path in paths
        if path.parts[0] != "tests" and not any(part.startswith(".") for part in path.parts)
    )


def _module(root: Path, path: str) -> Module:
    try:
        return Module(path, (root / path).read_text(encoding="utf-8"))
    except (SyntaxError, ValueError) as error:
        raise NotTried(f"{path} cannot be read: {error}") from error


def _is_in(place: Place, paths: Sequence[str]) -> bool:
    return any(Path(place.path).is_relative_to(path) for path in paths)


def _copies(root: Path, folder: Path, name: str, count: int) -> list[Path]:
    trees = [folder / f"{name}-{number}" for number in range(count)]
    for tree in trees:
        running.copy_tree(root, tree)
        running.compile_tree(tree)
    return trees


def _measure(
    root: Path,
    folder: Path,
    modules: dict[str, Module],
    sample: list[Place],
    asked: list[str],
    workers: int,
    tell: Callable[[str], None],
) -> dict[str, Measured]:
    """What the tests asked for cost and which places of the sample they pass."""
    readers = find_readers(list(modules.values()), sample)
    trees = [folder / f"measured-{number}" for number in range(workers)]
    told = {path: instrumented(module, sample, readers, False) for path, module in modules.items()}
    for path in _tests(root):
        module = _module(root, path)
        told[path] = instrumented(module, sample, readers, True)
    for tree in trees:
        running.copy_tree(root, tree)
        for path, source in told.items():
            (tree / path).write_text(source)
        (tree / "mutation_probe.py").write_bytes(Path(probe.__file__).read_bytes())
        running.compile_tree(tree)
    files = sorted(asked, key=lambda path: -(root / path).stat().st_size)
    measured: dict[str, Measured] = {}
    results = running.run_all(root, trees, [Job((file,)) for file in files], tell)
    for file, result in zip(files, results, strict=True):
        if not isinstance(result, Measuring):
            why = result.why if isinstance(result, Ended) else "no answer"
            raise NotTried(f"the tests of {file} cannot be measured: {why}")
        for name, test in result.tests.items():
            test.places |= result.shared
            measured[name] = test
    return measured


def _tests(root: Path) -> list[str]:
    """Every module of the tests but those of this script."""
    paths = (path.relative_to(root) for path in sorted((root / "tests").rglob("*.py")))
    return [path.as_posix() for path in paths if not path.is_relative_to(SCRIPT)]


def _job(
    number: int,
    source: str,
    tests: dict[str, Measured],
    sample: list[Place],
    own: set[str],
    bound_s: float,
) -> Job:
    """Its own tests that pass a place, the cheapest up to a bound, to be run with it changed."""
    place = sample[number]
    passing = {
        name: test.cost_s
        for name, test in tests.items()
        if test.is_passed
        and not test.is_failed
        and file_of(name) in own
        and (number in test.places or (place.owner and looks_into(file_of(name), place.path)))
    }
    costs = within(passing, bound_s)
    files = tuple(sorted({file_of(name) for name in costs}))
    limit_s = bound_s + HANGS * sum(costs.values())
    return Job(files, costs, limit_s, place.path, source)
