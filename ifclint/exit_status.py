"""How a command ends: its exit status, and one sentence on whatever ended it early."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from ifclint.errors import InputError, Stopped
from ifclint.guard import lasting_threads

if TYPE_CHECKING:
    from ifclint.findings import Review

NOTHING_TO_CORRECT, CORRECTIONS, NOT_DONE, RULE_FAILED = 0, 1, 2, 3
LONGEST_SENTENCE = 900  # letters of what is said of a run that ended early
USAGE: Any = typer.BadParameter.__base__  # of every error in the words of a command


def of_review(done: Review) -> int:
    from ifclint.findings import Verdict

    if done.failures:
        return RULE_FAILED
    if done.verdict is Verdict.NOT_REVIEWABLE:
        return NOT_DONE
    return NOTHING_TO_CORRECT if done.gate is None or done.gate.passed else CORRECTIONS


def stop_at_signals() -> None:
    """SIGINT and SIGTERM end a command in order, with what it has written taken back."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _on_signal)


def _on_signal(number: int, _: object) -> NoReturn:
    raise Stopped(signal.Signals(number).name)


def end(status: int) -> NoReturn:
    """End with a status, also where a rule pack has left threads running, or what is to end the
    process with another."""
    leave = os._exit
    if lasting_threads():
        for stream in (sys.stdout, sys.stderr):
            with suppress(AttributeError, OSError, ValueError):
                stream.flush()
        leave(status)
    own = status
    os._exit = lambda status: leave(own)
    sys.exit(status)


def status_of(app: typer.Typer) -> int:
    """The exit status of the given command. Whatever ends it early is one sentence and 2."""
    try:
        _check_none_empty(sys.argv[1:])
        status = app(standalone_mode=False)
        return status if isinstance(status, int) else NOTHING_TO_CORRECT
    except InputError as error:
        return _not_done(str(error))
    except Stopped as signalled:
        return _not_done(f"stopped by {signalled} before the end.")
    except typer.Abort:
        return _not_done("the input ended too early.")
    except MemoryError:
        return _not_done("there is not enough memory for this.")
    except RecursionError:
        return _not_done("something in what was given is nested too deep.")
    except OSError as error:
        said = f"the system refused a file ({error.strerror or error}): "
        return _not_done(f"{said}make room, or name another temporary folder by TMPDIR.")
    except Exception as error:
        if isinstance(error, USAGE):
            error.show()
            return NOT_DONE
        from ifclint.packs import explain

        return _not_done(f"failed internally; please report this: {explain(error)}")


def _check_none_empty(arguments: Sequence[str]) -> None:
    """Raises InputError where one is empty, as that of `--out "$UNSET"` in a script."""
    words = [word for a in arguments for word in (a.split("=", 1) if a.startswith("--") else [a])]
    for before, word in pairwise(["", *words]):
        if not word.strip():
            option = before if before.startswith("--") else "An argument"
            raise InputError(f"{option} names nothing; write what it takes, or leave it out.")


def _not_done(sentence: str) -> int:
    if len(sentence) > LONGEST_SENTENCE:  # what was given is quoted, however long it is
        sentence = f"{sentence[: LONGEST_SENTENCE - 200]} … {sentence[-200:]}"
    shown = "".join(c if c.isprintable() or c == "\n" else " " for c in sentence)
    with suppress(OSError):
        typer.echo(f"ifclint: {shown}", err=True)
    # what stdout still holds, where it is open, cannot be written either
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return NOT_DONE
