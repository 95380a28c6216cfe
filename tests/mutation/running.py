"""Tests run in forked processes, each on a copy of the project.

The parent has the heavy libraries loaded and nothing of the project; a child forgets what little
there is, and imports the project from its copy. The copies' bytecode is checked by the hash of its
source, so that a changed module is never taken from an older compilation.
"""

from __future__ import annotations

import compileall
import contextlib
import importlib
import multiprocessing
import os
import py_compile
import resource
import shutil
import signal
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path

from tests.mutation.watching import Measuring, Trying

HEAVY = (
    "ifcopenshell", "ifcopenshell.util.element", "numpy", "scipy.spatial", "scipy.optimize",
    "scipy.sparse.linalg", "scipy.sparse.csgraph", "networkx", "pint", "pydantic", "pluggy",
    "jinja2", "typer.testing", "hypothesis.strategies", "jsonschema", "fluids", "pytest",
)  # fmt: skip
LEFT_OUT = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build", "dist")
MEASURING_LIMIT_S = 600.0
WAITING = 10.0  # by the clock a job may take so many times its processor time: for what sleeps


@dataclass(frozen=True)
class Job:
    """Tests to run in one process, with a module changed or as it is."""

    files: tuple[str, ...]
    costs: dict[str, float] | None = None  # by test; None: all of the files, measured
    limit_s: float = MEASURING_LIMIT_S  # of processor time, so that a busy machine hangs nothing
    path: str = ""  # the module to change
    source: str = ""


@dataclass(frozen=True)
class Ended:
    """A process that gave no answer: out of time, or ended by itself."""

    why: str


Result = Measuring | Trying | Ended


def load_libraries(sources: Iterable[str]) -> None:
    """What is slow to import and these sources name, once for all children; what is not installed
    is not needed."""
    os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1")
    text = "\n".join(sources)
    for name in HEAVY:
        with contextlib.suppress(ImportError):
            if name == "pytest" or name.partition(".")[0] in text:
                importlib.import_module(name)


def copy_tree(root: Path, tree: Path) -> None:
    """The project without what is hidden or made."""
    shutil.copytree(root, tree, ignore=LEFT_OUT)


def compile_tree(tree: Path) -> None:
    by_hash = py_compile.PycInvalidationMode.CHECKED_HASH
    with contextlib.redirect_stdout(None):
        compileall.compile_dir(tree, quiet=2, invalidation_mode=by_hash)


def run_all(
    root: Path, trees: Sequence[Path], jobs: Sequence[Job], tell: Callable[[str], None]
) -> list[Result]:
    """Each job in a process of its own, one at a time in each copy of the project."""
    results: dict[int, Result] = {}
    free, running = list(trees), dict[Connection, _Running]()
    waiting = list(enumerate(jobs))
    while waiting or running:
        while waiting and free:
            number, job = waiting.pop(0)
            started = _Running(root, free.pop(), job, number)
            running[started.answers] = started
        soonest = min(r.deadline for r in running.values())
        for ready in wait(list(running), timeout=max(0.0, soonest - time.monotonic())):
            assert isinstance(ready, Connection)
            running[ready].take()
        for one in [r for r in running.values() if r.is_over()]:
            del running[one.answers]
            results[one.number] = one.end()
            free.append(one.tree)
            tell(f"{len(results)} of {len(jobs)} done, {one.job.path or one.job.files[0]}")
    return [results[number] for number in range(len(jobs))]


class _Running:
    """A job at work in one copy."""

    def __init__(self, root: Path, tree: Path, job: Job, number: int) -> None:
        self.tree, self.job, self.number = tree, job, number
        self.result: Result | None = None
        self.original = b""
        if job.path:
            self.original = (tree / job.path).read_bytes()
            (tree / job.path).write_text(job.source)
        self.answers, child = multiprocessing.Pipe(duplex=False)
        context = multiprocessing.get_context("fork")
        self.process: BaseProcess = context.Process(target=_work, args=(root, tree, job, child))
        self.process.start()
        child.close()
        self.deadline = time.monotonic() + WAITING * job.limit_s

    def take(self) -> None:
        try:
            self.result = self.answers.recv()
        except EOFError:
            self.result = Ended("its process ended")

    def is_over(self) -> bool:
        return self.result is not None or time.monotonic() >= self.deadline

    def end(self) -> Result:
        """The answer, with nothing of the job left running and the copy as it was."""
        assert self.process.pid is not None
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.process.pid, signal.SIGKILL)
        self.process.join()
        self.answers.close()
        if self.job.path:
            (self.tree / self.job.path).write_bytes(self.original)
        return self.result or Ended("out of time")


def _work(root: Path, tree: Path, job: Job, answers: Connection) -> None:
    """In the child: run the tests, tell what they did."""
    os.setsid()
    limit_s = ceil(job.limit_s)
    resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s))
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    _enter(root, tree)
    import pytest

    watching = Measuring(tree) if job.costs is None else Trying(job.costs)
    arguments = [f"--rootdir={tree}", "-p", "no:cacheprovider", *job.files]
    if job.costs is not None:
        arguments.append("--exitfirst")
    watching.status = int(pytest.main(arguments, plugins=[watching]))
    answers.send(watching)


def _enter(root: Path, tree: Path) -> None:
    """Import from the copy from here on, in this process and in those it starts."""
    inside = [Path(entry or ".").resolve() for entry in sys.path]
    mapped = [
        str(tree / entry.relative_to(root))
        for entry in inside
        if entry.is_relative_to(root) and (tree / entry.relative_to(root)).is_dir()
    ]
    places = list(dict.fromkeys([str(tree), *mapped]))
    kept = [e for e, p in zip(sys.path, inside, strict=True) if _is_outside(p, root, tree)]
    sys.path[:] = [*places, *kept]
    os.environ["PYTHONPATH"] = os.pathsep.join(places)
    os.chdir(tree)
    for name, module in list(sys.modules.items()):
        file = getattr(module, "__file__", None)
        inner = name == "tests" or (file and not _is_outside(Path(file).resolve(), root, tree))
        if inner and name != "__main__" and not name.startswith("tests.mutation"):
            del sys.modules[name]
    with contextlib.suppress(ImportError):
        from hypothesis import settings

        settings.register_profile("steady", derandomize=True, database=None, deadline=None)
        settings.load_profile("steady")


def _is_outside(path: Path, root: Path, tree: Path) -> bool:
    """Whether a path is no part of the project that was copied."""
    return not path.is_relative_to(root) or not (tree / path.relative_to(root)).exists()
