"""Many buildings reviewed at once, each in a process of its own, with one page over all."""

from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from ifclint.batch.buildings import ListedBuilding
from ifclint.batch.running import DONE, NO_REVIEW, REPORT, TRIES, BuildingOutcome, Limits, run
from ifclint.errors import InputError
from ifclint.report.exchange import take_away

LOST = "its worker was lost, or the connection to it; run this again for what is not done"
CONNECT_S = 5.0  # how long a scheduler may take to answer
QUIET_S = 30.0  # with nothing done, after which it is asked whether the scheduler is still there
Progress = Callable[[str, int, int], None]


def review_all(
    buildings: list[ListedBuilding],
    out: Path,
    limits: Limits,
    workers: int = 2,
    scheduler: str | None = None,
    progress: Progress | None = None,
) -> list[BuildingOutcome]:
    """What became of each building, in their order. Raises InputError for an unreachable scheduler.

    One that is unfit is told so, and one whose inputs have not changed since its folder was written
    is not reviewed again. Workers are given whole paths: one of a cluster may have been started in
    another folder. What was lost with a worker, or with the connection to all of them, is given out
    again as long as that gets any building done, and once where it does not.
    """
    say = progress or (lambda what, done, total: None)
    out, outcomes, idle = out.absolute(), dict[str, BuildingOutcome](), 0
    waiting = [building for building in buildings if not building.unfit]
    names = {building.name for building in waiting}
    for building in buildings:
        if building.unfit and building.name not in names:
            take_away(out / building.name)  # nothing that is there tells of what it is now
    while waiting and idle < TRIES:
        lost = []
        try:
            with _executor(workers, scheduler) as executor:
                for building, outcome in _done(executor, waiting, out, limits, scheduler):
                    outcomes[building.name] = outcome or BuildingOutcome(building.name, None, LOST)
                    if outcome is None:
                        lost.append(building)
                    say(f"Reviewed {building.name}", len(outcomes), len(buildings))
        except InputError:
            if not outcomes:
                raise
            break  # the scheduler is gone; what is done is done
        idle = idle + 1 if len(lost) == len(waiting) else 0
        waiting = lost
    return [
        BuildingOutcome(b.name, None, b.unfit) if b.unfit else outcomes[b.name] for b in buildings
    ]


def _done(
    executor: Executor,
    buildings: list[ListedBuilding],
    out: Path,
    limits: Limits,
    scheduler: str | None,
) -> Iterator[tuple[ListedBuilding, BuildingOutcome | None]]:
    """Each building with what its worker says, as they are done; None where it is lost, as are all
    that a scheduler has which answers no more."""
    given: dict[Future[BuildingOutcome], ListedBuilding] = {
        executor.submit(run, building.absolute(), out / building.name, limits): building
        for building in buildings
    }
    left = set(given)
    while left:
        done, left = wait(left, QUIET_S if scheduler else None, FIRST_COMPLETED)
        for future in (each for each in given if each in done):
            building = given[future]
            try:
                yield building, _seen(future.result(), out)
            except Exception as error:
                yield building, _not_written(error, building)
        if not done and scheduler and not _answers(scheduler):
            yield from ((given[future], None) for future in left)
            return


def _answers(scheduler: str) -> bool:
    try:
        _client(scheduler).close()
    except InputError:
        return False
    return True


def _not_written(error: Exception, building: ListedBuilding) -> BuildingOutcome | None:
    """Of a worker that could not read or write; None for what tells of the worker itself."""
    if not isinstance(error, OSError) or isinstance(error, ConnectionError) or not error.errno:
        return None
    why = f"{error.filename}: {error.strerror}" if error.filename else str(error)
    return BuildingOutcome(building.name, None, why)


def _seen(outcome: BuildingOutcome, out: Path) -> BuildingOutcome:
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
    with _client(scheduler) as client, client.get_executor(pure=False, retries=1) as executor:
        yield executor


def _client(scheduler: str) -> Any:
    """Of a dask cluster. Raises InputError where no scheduler answers."""
    try:
        import distributed
    except ImportError as error:
        raise InputError('--scheduler needs the extra: pip install "ifclint[cluster]".') from error
    connect: Any = distributed.Client  # it says no types
    try:
        return connect(scheduler, timeout=CONNECT_S)
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError(
            f"No scheduler answers at {scheduler}; start one, or leave out --scheduler."
        ) from error
