"""Reviews the files named on its standard input, those of a building in one line between tabs.

A process of its own, so that a crash of the library's parser, a hang or a flood of memory shows as
the failure of one file and does not take the tests down.
"""

from __future__ import annotations

import json
import os
import resource
import select
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
MOST_MEMORY = 3 * 1024**3  # bytes of address space
LIMIT_S = 10.0  # of processor time
HUNG_S = 240.0  # however busy the machine is


class Reviewer:
    """A worker that is started anew after it died or hung."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[str] | None = None

    def review(self, *paths: Path) -> str:
        """What came of the files of a building: "reviewed", "refused: …", or what went wrong."""
        process = self._process or self._start()
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write("\t".join(map(str, paths)) + "\n")
        process.stdin.flush()
        if not select.select([process.stdout], [], [], HUNG_S)[0]:
            self.stop()
            return f"hung for {HUNG_S:.0f} s"
        said = process.stdout.readline()
        if not said:
            code = process.wait()
            self._process = None
            return f"died with {code}"
        return str(json.loads(said))

    def _start(self) -> subprocess.Popen[str]:
        self._process = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL, text=True, cwd=ROOT,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, (ROOT, ROOT / "plugins")))},
        )  # fmt: skip
        return self._process

    def stop(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None


def came_of(paths: list[Path]) -> str:
    """Review the files of one building and make its reports."""
    from ifclint.errors import InputError
    from ifclint.report import summary
    from ifclint.report.as_json import json_bytes
    from ifclint.report.html import html_bytes
    from ifclint.review import review

    start = time.process_time()
    try:
        done = review(paths, code="upc-2021")
        json.loads(json_bytes(done), parse_constant=_no_number)
        html_bytes(done)
        summary(done)
    except InputError as error:
        said = str(error)
        ok = said.isprintable() and said.endswith(".") and len(said) < 1000
        return f"refused: {said}" if ok else f"refused with an ill-formed sentence: {said!r}"
    except BaseException as error:
        return f"raised {type(error).__name__}: {error} at {_where(error)}"
    if done.failures:
        return f"failed inside: {done.failures[0]}"
    seconds = time.process_time() - start
    return "reviewed" if seconds < LIMIT_S else f"took {seconds:.0f} s"


def _no_number(said: str) -> None:
    raise ValueError(f"{said} in findings.json")


def _where(error: BaseException) -> str:
    at = error.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    return f"{Path(at.tb_frame.f_code.co_filename).name}:{at.tb_lineno}" if at else "nowhere"


def main() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    for line in sys.stdin:
        print(json.dumps(came_of([Path(p) for p in line.rstrip("\n").split("\t")])), flush=True)


if __name__ == "__main__":
    main()
