"""Code of others, called so that what it does costs it alone: raising, not returning, printing.

What does not return is interrupted by the timer of the operating system: in the main thread, and
where there is one (not on Windows). Elsewhere only the process can be ended from outside, as
`ifclint batch` does where a building has its time.
"""

import io
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, redirect_stdout
from dataclasses import dataclass, field
from types import FrameType
from typing import NoReturn

from ifclint.errors import RAISED, OutOfTime, Stopped

PACK_SECONDS = 300.0  # for one call of a pack: a rule with all its subjects, a schedule, a report
AGAIN_S = 1.0  # after which code that has caught the interruption is interrupted again
SHOWN = 80  # letters of what was printed


def _working_folder() -> str | None:
    """None where it has been removed."""
    try:
        return os.getcwd()
    except FileNotFoundError:
        return None


class Printed(io.StringIO):
    """What was printed; it stays open, whoever closes it."""

    def close(self) -> None:
        pass


def lasting_threads() -> set[threading.Thread]:
    """The threads, besides the main one, for whose end the interpreter waits at its own."""
    main = threading.main_thread()
    return {each for each in threading.enumerate() if each is not main and not each.daemon}


@dataclass
class Guard:
    """Around every call of one pack. `seconds` is how long one may take, 0: any time."""

    seconds: float = PACK_SECONDS
    stopped: bool = False  # it did not return once, and is not called again
    _has_moved: bool = field(default=False, init=False, repr=False)
    _left_running: bool = field(default=False, init=False, repr=False)
    _out: Printed = field(default_factory=Printed, repr=False)
    _stands: bool = field(default=False, init=False, repr=False)

    @contextmanager
    def standing(self) -> Iterator[None]:
        """Set up once for many calls, each of which has its own time."""
        here, running = _working_folder(), lasting_threads()
        with redirect_stdout(self._out), _interrupting(self.seconds), _staying():
            self._stands = True
            try:
                yield
            finally:
                self._stands = False
                self._left_running |= bool(lasting_threads() - running)
                if _working_folder() != here:
                    self._has_moved = True
                    if here is not None:
                        os.chdir(here)

    @contextmanager
    def __call__(self) -> Iterator[None]:
        """Raises what the code raises (of `RAISED`, or Stopped), OutOfTime where it does not return
        in time."""
        if self.stopped:
            raise OutOfTime("not asked, since the pack did not return before")
        with nullcontext() if self._stands else self.standing():
            try:
                _set_timer(self.seconds)
                try:
                    yield
                finally:
                    _set_timer(0.0)
            except OutOfTime:
                self.stopped = True
                raise
            except (*RAISED, Stopped):
                raise
            except BaseException as error:  # one of its own, that would end the run
                raise RuntimeError(f"raised {type(error).__name__}").with_traceback(
                    error.__traceback__
                ) from None

    def printed(self) -> str:
        """What it printed since this was last asked, or that it changed the working folder or left
        a thread running, in a line; "" where it did none of these."""
        said = " ".join(self._out.getvalue().split())
        self._out.seek(0)
        self._out.truncate()
        if self._has_moved:
            self._has_moved = False
            return "changed the working folder, which no pack should"
        if self._left_running:
            self._left_running = False
            return "left a thread running, which no pack should"
        return f'printed "{said[:SHOWN]}", which no pack should' if said else ""


@contextmanager
def _staying() -> Iterator[None]:
    """Where what would end the process at once, with nothing written, raises SystemExit; a process
    that is made meanwhile may end so."""
    leave, own = os._exit, os.getpid()

    def stay(status: int) -> NoReturn:
        if os.getpid() != own:
            leave(status)
        raise SystemExit(status)

    os._exit = stay
    try:
        yield
    finally:
        os._exit = leave


@contextmanager
def _interrupting(seconds: float) -> Iterator[None]:
    """Where what the timer interrupts raises OutOfTime."""
    if not seconds or not _can_interrupt():
        yield
        return

    def stop(_: int, __: FrameType | None) -> NoReturn:
        raise OutOfTime(f"did not return in {seconds:g} s")

    before = signal.signal(signal.SIGALRM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGALRM, before)


def _set_timer(seconds: float) -> None:
    if _can_interrupt():
        signal.setitimer(signal.ITIMER_REAL, seconds, AGAIN_S if seconds else 0.0)


def _can_interrupt() -> bool:
    return hasattr(signal, "setitimer") and threading.current_thread() is threading.main_thread()
