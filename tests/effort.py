"""What a piece of work costs, whatever else the machine and the other tests are doing.

Growth is counted in calls, which are the same on every run; a bound against hanging is measured in
processor seconds, without the pauses in which garbage of other tests is collected.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from time import process_time
from types import FrameType


def calls(work: Callable[[], object]) -> int:
    """How many functions are called while `work` runs, those of the libraries included."""
    count = 0

    def seen(frame: FrameType, event: str, arg: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(seen)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


@dataclass
class Effort:
    seconds: float = 0.0


@contextmanager
def effort() -> Iterator[Effort]:
    """The processor seconds that the block takes, filled in where it ends."""
    made = Effort()
    gc.disable()
    start = process_time()
    try:
        yield made
    finally:
        made.seconds = process_time() - start
        gc.enable()
