"""The command as its users give it, in the process of the tests: starting one takes a second of
the processor, and what a start costs and breaks is the matter of a few tests alone."""

from __future__ import annotations

import gc
import os
import signal
import sys
from contextlib import ExitStack, chdir
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryFile

import pytest

from ifclint.cli import main

ROOT = Path(__file__).parent.parent


@dataclass(frozen=True)
class Done:
    """What a command left: its exit status, and what went out."""

    returncode: int
    stdout: str
    stderr: str


def run(*words: object, cwd: Path = ROOT, encoding: str = "utf-8") -> Done:
    """Give the command; its streams are files, which stand at first in an `encoding`."""
    with ExitStack() as stack, pytest.MonkeyPatch.context() as patch:
        files = [stack.enter_context(TemporaryFile()) for _ in range(2)]
        for name, file in zip(("stdout", "stderr"), files, strict=True):
            stream = os.fdopen(os.dup(file.fileno()), "w", encoding=encoding)
            patch.setattr(sys, name, stack.enter_context(stream))
        patch.setattr(sys, "argv", ["ifclint", *map(str, words)])
        stack.enter_context(chdir(cwd))
        stack.enter_context(_as_it_was())
        with pytest.raises(SystemExit) as ended:
            main()
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
        for file in files:
            file.seek(0)
        out, err = (file.read().decode("utf-8") for file in files)
    assert isinstance(ended.value.code, int)
    return Done(ended.value.code, out, err)


def _as_it_was() -> ExitStack:
    """Puts back what a command sets for the short time that it has: signals, no collector."""
    put_back = ExitStack()
    for number in (signal.SIGINT, signal.SIGTERM):
        put_back.callback(signal.signal, number, signal.getsignal(number))
    if gc.isenabled():
        put_back.callback(gc.enable)
    return put_back
