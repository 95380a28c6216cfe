"""What instrumented code calls as it passes a place; put into the copied tree as `mutation_probe`.

A value kept by `functools.cache`, `lru_cache` or `cached_property` was worked out in an earlier
test; whoever is given it passes the places that made it all the same, so those are passed again.
A process that a test starts writes the places it passes to the file named in the environment.
"""

from __future__ import annotations

import functools
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FILE = "MUTATION_PROBE_FILE"
owner = 0  # the process that keeps what it passes in `_open`
_open: list[set[int]] = [set()]
_told: set[int] = set()


def hit(*places: int) -> None:
    """These places were passed. Gives None, so that `hit(1) or x` is x."""
    if os.getpid() == owner:
        _open[-1].update(places)
    elif not _told.issuperset(places) and FILE in os.environ:
        _told.update(places)
        with Path(os.environ[FILE]).open("a") as file:
            file.write("".join(f"{place}\n" for place in places))


@contextmanager
def recording() -> Iterator[set[int]]:
    """The places passed from here on; the recording around it is given them too at the end."""
    passed: set[int] = set()
    _open.append(passed)
    try:
        yield passed
    finally:
        _open.pop()
        _open[-1] |= passed


def passed_elsewhere() -> set[int]:
    """The places that other processes passed since this was last asked."""
    file = Path(os.environ[FILE])
    if not file.exists():
        return set()
    places = {int(line) for line in file.read_text().split()}
    file.unlink()
    return places


def keep(function: Callable[..., Any]) -> Callable[..., Any]:
    """`functools.cache` that passes again, with a kept value, the places which made it."""
    kept: dict[object, tuple[Any, set[int]]] = {}

    @functools.wraps(function)
    def given(*args: Any, **named: Any) -> Any:
        key = (args, tuple(sorted(named.items())))
        if key not in kept:
            with recording() as passed:
                kept[key] = function(*args, **named), passed
        value, passed = kept[key]
        hit(*passed)
        return value

    given.cache_clear = kept.clear  # type: ignore[attr-defined]
    return given


def lru_keep(maxsize: Any = 128, typed: bool = False) -> Callable[..., Any]:
    """`functools.lru_cache`, with or without arguments; nothing is forgotten."""
    return keep(maxsize) if callable(maxsize) else keep


class KeptProperty(functools.cached_property):  # type: ignore[type-arg]
    """`functools.cached_property` that passes again the places which made the value."""

    def __init__(self, func: Callable[[Any], Any]) -> None:
        super().__init__(func)
        self.passed: dict[int, set[int]] = {}

    def __get__(self, instance: Any, owner: type | None = None) -> Any:
        if instance is None:
            return self
        if self.attrname not in instance.__dict__:
            with recording() as passed:
                value = self.func(instance)
            instance.__dict__[self.attrname] = value
            self.passed[id(instance)] = passed
        hit(*self.passed.get(id(instance), ()))
        return instance.__dict__[self.attrname]

    def __set__(self, instance: Any, value: Any) -> None:
        instance.__dict__[self.attrname] = value


def replace_caches() -> None:
    """Before the code under test is imported."""
    functools.cache = keep  # type: ignore[assignment]
    functools.lru_cache = lru_keep  # type: ignore[assignment]
    functools.cached_property = KeptProperty  # type: ignore[misc]
