"""Many generated buildings reviewed by a cluster whose workers are killed while they work.

    python tests/bench/many_buildings.py [--buildings 500] [--workers 4] [--kills 20] [--seed 1]

Prints what it took, and whether anything was lost or is there twice: every building must have its
folder and one line of the portfolio, and no review may be made anew but those whose worker was
killed before it could note that they were done. Then part of the reviews is
taken away and made anew by processes of this machine alone, without a cluster: the rest must be
reused, and what is made anew must be the same to the byte.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
if __package__ in (None, ""):
    sys.path.insert(0, str(ROOT))

from models.build import write  # noqa: E402
from models.dwelling.mistakes import MISTAKES, with_mistakes  # noqa: E402
from models.grid import write_grid  # noqa: E402

MOST = 2000  # buildings: at half a megabyte each, what a temporary folder holds
STACKS_AT_MOST, PIPES_OF_A_STACK = 3, 73
DWELLING_EVERY = 5  # the others are stacks of bathrooms alone
MISTAKES_AT_MOST = 6
TOLD = "REVIEWS_TOLD"  # the file in which every review tells that it began and that it ended
TELLING = f'''
import atexit, os, sys
def told(what):
    with open(os.environ["{TOLD}"], "a") as file:
        file.write(what + "\\t" + sys.orig_argv[sys.orig_argv.index("--out") + 1] + "\\n")
if "review" in sys.orig_argv:
    told("began")
    atexit.register(told, "ended")
'''


def generate(folder: Path, count: int, seed: int) -> list[str]:
    """Write small buildings of stacks and of dwellings with mistakes, and a job file beside them;
    their names. The same seed writes the same."""
    if not 1 <= count <= MOST:
        raise ValueError(f"from 1 to {MOST} buildings, not {count}")
    chance = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text('adopted_code = "upc-2021"\n')
    names = [f"building-{number:04}" for number in range(count)]
    stacks = cache(lambda many: _stacks(folder / "stacks", many))
    for number, name in enumerate(names):
        path = folder / f"{name}.ifc"
        if number % DWELLING_EVERY == 0:
            wrong = chance.sample([m.field for m in MISTAKES], chance.randint(0, MISTAKES_AT_MOST))
            write(path, design=with_mistakes(*wrong))
        else:
            path.write_bytes(stacks(chance.randint(1, STACKS_AT_MOST)))
    return names


def _stacks(path: Path, many: int) -> bytes:
    write_grid(path, PIPES_OF_A_STACK * many)
    written = path.read_bytes()
    path.unlink()
    return written


@dataclass
class Reviews:
    """What the processes of the reviews tell, each for itself."""

    folder: Path

    def environment(self) -> dict[str, str]:
        """For a process whose children, and theirs, are to tell."""
        self.folder.mkdir(exist_ok=True)
        (self.folder / "told").touch()
        (self.folder / "sitecustomize.py").write_text(TELLING)
        path = os.pathsep.join([str(self.folder), *filter(None, [os.environ.get("PYTHONPATH")])])
        return {
            "PYTHONPATH": path, TOLD: str(self.folder / "told"),
            "PYTHONDONTWRITEBYTECODE": "",  # as of an installed program
        }  # fmt: skip

    def count(self, what: str) -> Counter[str]:
        """How often each building's review "began" or "ended"."""
        lines = (self.folder / "told").read_text().splitlines()
        told = [line.split("\t") for line in lines]
        return Counter(Path(out).name for said, out in told if said == what)

    def forget(self) -> None:
        (self.folder / "told").unlink()


@contextmanager
def cluster(workers: int, environment: dict[str, str]) -> Iterator[Any]:
    """A scheduler and workers of dask on this machine, each a process that can be killed."""
    patient = {f"DASK_DISTRIBUTED__COMM__TIMEOUTS__{what}": "300s" for what in ("CONNECT", "TCP")}
    environment = {**environment, **patient}  # this machine may be busy
    before = {name: os.environ.get(name) for name in environment}
    os.environ.update(environment)
    import distributed

    try:
        with distributed.LocalCluster(
            n_workers=workers, threads_per_worker=1, dashboard_address=None, memory_limit=0
        ) as made:
            yield made
    finally:
        for name, value in before.items():
            os.environ.pop(name) if value is None else os.environ.update({name: value})


class Killer:
    """Kills a worker whenever a further share of the reviews has begun; `killed` counts."""

    def __init__(self, cluster: Any, reviews: Reviews, total: int, kills: int, seed: int):
        self.address, self.reviews, self.chance = (
            cluster.scheduler_address, reviews, random.Random(seed),
        )  # fmt: skip
        self.at = [total * (n + 1) // (kills + 1) for n in range(kills)]
        self.killed, self.over = 0, threading.Event()
        self.thread = threading.Thread(target=self.work, daemon=True)

    def __enter__(self) -> Killer:
        self.thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.over.set()
        self.thread.join()

    def work(self) -> None:
        import distributed

        client: Any = distributed.Client(self.address)
        with client:
            while self.killed < len(self.at) and not self.over.wait(0.2):
                if self.reviews.count("began").total() >= self.at[self.killed]:
                    self.over.wait(self.chance.uniform(0, 2))
                    at_work = client.run(os.getpid)
                    os.kill(self.chance.choice(sorted(at_work.values())), signal.SIGKILL)
                    self.killed += 1


def batch(folder: Path, out: Path, workers: int, environment: dict[str, str], *more: str) -> int:
    """The exit status of `ifclint batch`."""
    command = [sys.executable, "-m", "ifclint.cli", "batch", str(folder), "--out", str(out)]
    done = subprocess.run(
        [*command, "--workers", str(workers), *more],
        capture_output=True, text=True, check=False, env={**os.environ, **environment}, cwd=ROOT,
    )  # fmt: skip
    if done.returncode not in (0, 1):
        print(done.stdout[-2000:], done.stderr[-2000:])
    return done.returncode


def wrong(names: list[str], out: Path, reviews: Reviews, killed: int) -> list[str]:
    """What was lost, and what was done twice without need."""
    rows = Counter(
        row["name"] for row in _portfolio(out)["buildings"] if row["verdict"] != "not-done"
    )
    ended = reviews.count("ended")
    found = [f"{name}: no report" for name in names if not (out / name / "findings.json").is_file()]
    found += [f"{name}: {rows[name]} lines of the portfolio" for name in names if rows[name] != 1]
    found += [f"{name}: no review ended" for name in names if not ended[name]]
    if (anew := sum(n - 1 for n in ended.values())) > killed:
        found.append(f"{anew} reviews done anew, though {killed} workers were killed")
    return found + [f"{name}: not asked for" for name in sorted({*rows, *ended} - {*names})]


def _portfolio(out: Path) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((out / "portfolio.json").read_bytes())
    return document


def measure(folder: Path, count: int, workers: int, kills: int, seed: int) -> list[str]:
    """Run all of it in a folder and print the figures; what was wrong."""
    buildings, out, reviews = folder / "buildings", folder / "out", Reviews(folder / "told")
    names, seconds = _timed(lambda: generate(buildings, count, seed))
    size = sum(path.stat().st_size for path in buildings.glob("*.ifc")) / 1e6
    print(f"{count} buildings, {size:.0f} MB, seed {seed}; generated in {seconds:.0f} s")
    environment = reviews.environment()
    with (
        cluster(workers, environment) as made,
        Killer(made, reviews, count, kills, seed) as killer,
    ):
        address = ("--scheduler", made.scheduler_address)
        status, seconds = _timed(lambda: batch(buildings, out, workers, environment, *address))
    began, ended = reviews.count("began").total(), reviews.count("ended").total()
    found = wrong(names, out, reviews, killer.killed)
    rows = _portfolio(out)["buildings"]
    print(
        f"cluster of {workers} workers, {killer.killed} killed: status {status}, {seconds:.0f} s; "
        f"{began} reviews began, {began - ended} died with their worker, {ended - count} were done "
        f"anew; {len(rows)} buildings, {sum(row['corrections'] for row in rows)} corrections"
    )
    return found + _again(names, buildings, out, workers, reviews)


def _again(
    names: list[str], buildings: Path, out: Path, workers: int, reviews: Reviews
) -> list[str]:
    """Every fifth review made anew without a cluster, the rest reused."""
    taken = names[::5]
    before = {name: (out / name / "findings.json").read_bytes() for name in names}
    portfolio = (out / "portfolio.json").read_bytes()
    for name in taken:
        (out / name / "review.json").unlink()
    reviews.forget()
    status, seconds = _timed(lambda: batch(buildings, out, workers, reviews.environment()))
    ended = reviews.count("ended")
    print(
        f"{len(taken)} taken away, {workers} workers without a cluster: status {status}, "
        f"{seconds:.0f} s; {ended.total()} reviews"
    )
    found = [f"{name}: made anew {ended[name]} times" for name in taken if ended[name] != 1]
    found += [f"{name}: not reused" for name in sorted(set(ended) - set(taken))]
    found += [
        f"{name}: another report" for name in names
        if (out / name / "findings.json").read_bytes() != before[name]
    ]  # fmt: skip
    if (out / "portfolio.json").read_bytes() != portfolio:
        found.append("another portfolio")
    return found


def _timed(work: Callable[[], Any]) -> tuple[Any, float]:
    begun = time.monotonic()
    return work(), time.monotonic() - begun


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--buildings", type=int, default=500)
    parser.add_argument("--workers", type=int, default=4)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found = measure(Path(folder), given.buildings, given.workers, given.kills, given.seed)
    print("\n".join(found) or "nothing lost, nothing twice")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
