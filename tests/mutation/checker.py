"""Changes that the type checker refuses: no test needs to notice what cannot get in."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

CLEAN, REFUSED = 0, 1  # exit statuses of the type checker


class TypeChecker:
    """The project's type checker on a copy of it, in which one module at a time is changed.

    What is checked and how strictly stands in the project's pyproject.toml. A project that is not
    checked, or not clean as it is, has nothing refused.
    """

    def __init__(self, tree: Path) -> None:
        self._tree = tree
        self._time = 0
        self.is_used = self._status() == CLEAN

    def refuses(self, path: str, source: str) -> bool:
        """Whether a module is refused with another source."""
        if not self.is_used:
            return False
        module = self._tree / path
        original = module.read_bytes()
        module.write_text(source)
        self._age(module)
        try:
            return self._status() == REFUSED
        finally:
            module.write_bytes(original)
            self._age(module)

    def _age(self, module: Path) -> None:
        """Give a module a time of its own: what is written within a second counts as the same."""
        self._time += 1
        os.utime(module, (self._time, self._time))

    def _status(self) -> int:
        command = [sys.executable, "-m", "mypy", "--cache-dir", ".types"]
        return subprocess.run(command, cwd=self._tree, capture_output=True, check=False).returncode
