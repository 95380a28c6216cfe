"""Many buildings reviewed at once, each in a process of its own, with one page over all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from ifclint.batch.buildings import Building
from ifclint.batch.running import DONE, NO_REVIEW, REPORT, Limits, Outcome, run
from ifclint.errors import InputError

Progress = Callable[[str, int, int], None]


def review_all(
    buildings: list[Building],
    out: Path,
    limits: Limits,
    workers: int = 2,
    scheduler: str | None = None,
    progress: Progress | None = None,
) -> list[Outcome]:
    """What became of each building, in their order. Raises InputError for an unreachable scheduler.

    A building whose inputs have not changed since its folder was written is not reviewed again.
    Workers are given whole paths: one of a cluster may have been started in another folder.
    """
    out = out.absolute()
    say = progress or (lambda what, done, total: None)
    outcomes: dict[str, Outcome] = {}
    with _executor(workers, scheduler) as executor:
        waiting: dict[Future[Outcome], Building] = {
            executor.submit(run, building.absolute(), out / building.name, limits): building
            for building in buildings
        }
        for done, future in enumerate(as_completed(waiting), 1):
            building = waiting[future]
            outcomes[building.name] = _seen(_outcome(future, building), out)
            say(f"Reviewed {building.name}", done, len(buildings))
    return [outcomes[building.name] for building in buildings]


def _outcome(future: Future[Outcome], building: Building) -> Outcome:
    """What a worker says; a worker that is lost costs its building alone."""
    try:
        return future.result()
    except OSError as error:
        why = f"{error.filename}: {error.strerror}" if error.filename else str(error)
        return Outcome(building.name, None, why)
    except Exception as error:
        return Outcome(building.name, None, f"its worker was lost ({type(error).__name__})")


def _seen(outcome: Outcome, out: Path) -> Outcome:
    """The outcome, if the report that a worker says it wrote is to be seen from here."""
    if outcome.status not in DONE or outcome.status == NO_REVIEW:
        return outcome
    if (out / outcome.name / REPORT).is_file():
        return outcome
    return replace(
        outcome, status=None, said=f"its worker wrote no report to {out}; workers share the folders"
    )


@contextmanager
def _executor(workers: int, scheduler: str | None) -> Iterator[Executor]:
    """Threads here, each of which waits for one process; or the workers of a dask cluster."""
    if scheduler is None:
        with ThreadPoolExecutor(max(1, workers)) as threads:
            yield threads
        return
    try:
        import distributed
    except ImportError as error:
        raise InputError('--scheduler needs the extra: pip install "ifclint[cluster]".') from error
    connect: Any = distributed.Client  # it says no types
    try:
        client = connect(scheduler, timeout="10s")
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError(
            f"No scheduler answers at {scheduler}; start one, or leave out --scheduler."
        ) from error
    with client, client.get_executor(pure=False, retries=1) as executor:
        yield executor
