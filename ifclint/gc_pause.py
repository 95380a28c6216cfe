"""Python's collector of circular garbage, paused while millions of small objects are made."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """None of what is made is garbage, so that collecting only costs time.

    In the end all counts as old, lest it be gone through at once as new.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.freeze()
            gc.unfreeze()
            gc.enable()
