"""The streams of a command: how text goes out, the width of a line, the line of progress."""

from __future__ import annotations

import os
import shutil
import sys
from io import TextIOWrapper
from pathlib import Path

import typer

from ifclint.errors import InputError


def prepare_streams() -> None:
    """What goes to a file or a pipe is UTF-8; a terminal is shown what its encoding has, and the
    rest escaped. No file is opened in the place of a stream that is closed: libraries write there.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    sys.stderr = sys.stderr or Path(os.devnull).open("w")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            encoding = stream.encoding if stream.isatty() else "utf-8"
            stream.reconfigure(encoding=encoding, errors="backslashreplace")


def terminal_width() -> int | None:
    """How many letters a line of the terminal holds; None where output goes elsewhere."""
    is_shown = sys.stdout is not None and sys.stdout.isatty()
    return shutil.get_terminal_size().columns if is_shown else None


class Progress:
    """One line on the terminal that says what is being done; silent anywhere else."""

    def __init__(self) -> None:
        self.shown = sys.stderr.isatty()

    def __enter__(self) -> Progress:
        return self

    def __call__(self, what: str, done: int, total: int) -> None:
        if self.shown:
            share = f" {done:,} of {total:,}" if total > 1 else ""
            sys.stderr.write(f"\r\x1b[K{what}{share} …")
            sys.stderr.flush()

    def __exit__(self, *_: object) -> None:
        if self.shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def say(text: str) -> None:
    """Print; InputError where that cannot be done (a full disk, a reader that has gone)."""
    if sys.stdout is None:
        raise InputError("The output could not be written (standard output is closed).")
    try:
        typer.echo(text, nl=False)
        sys.stdout.flush()
    except OSError as error:
        raise InputError(f"The output could not be written ({error.strerror or error}).") from error


def tell(text: str) -> None:
    """Print what stands in files too, where there is somewhere to print to."""
    if sys.stdout is not None:
        say(text)
