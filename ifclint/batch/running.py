"""One building reviewed by a process of its own: what it takes down with it is that building.

A review ends with the worker that asked for it: its standard input is a pipe that the worker holds
open, so that no review outlives a worker that was killed and writes beside the next one.
"""

import json
import os
import subprocess
import sys
from dataclasses import asdict, dataclass
from pathlib import Path

from ifclint.batch.buildings import ListedBuilding
from ifclint.batch.inputs import digest, sha256
from ifclint.report.exchange import take_away

DONE = (0, 1, 2, 3)  # exit statuses of a review; anything else is a crash
NO_REVIEW = 2  # may have written no report: it could not be done, or the model is not reviewable
TRIES = 2
REPORT = "findings.json"
STATE = "review.json"  # what the folder was made from
_COMMAND = """
import os, sys, threading
def end_with_the_worker():
    os.read(0, 1)
    os._exit(70)
threading.Thread(target=end_with_the_worker, daemon=True).start()
if int(sys.argv[1]):
    import resource
    resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv[1]),) * 2)
sys.argv = ["ifclint", *sys.argv[2:]]
from ifclint.cli import main
main()
"""


@dataclass(frozen=True, slots=True)
class Limits:
    memory_bytes: int = 0  # of one review; 0 is none
    seconds: float | None = None  # for one review


@dataclass(frozen=True, slots=True)
class BuildingOutcome:
    """What became of one building. `status` is its exit status; None where it did not finish."""

    name: str
    status: int | None
    said: str  # the last line that it said of a failure
    reused: bool = False  # its folder was there already, from the same inputs


def run(building: ListedBuilding, out: Path, limits: Limits) -> BuildingOutcome:
    """Review a building into a folder; once more where its process died."""
    inputs = digest(building)
    if (known := _known(out, inputs)) is not None:
        return BuildingOutcome(building.name, known, "", reused=True)
    take_away(out)  # what is of other inputs; a review that is done writes it anew
    outcome = BuildingOutcome(building.name, None, "")
    for _ in range(TRIES):
        outcome = _once(building, out, limits)
        if outcome.status is not None:
            break
    if (out / REPORT).is_file():
        state = {"inputs": inputs, "report": sha256(out / REPORT), "outcome": asdict(outcome)}
        (out / STATE).write_text(json.dumps(state, indent=2) + "\n", encoding="utf-8")
    return outcome


def _known(out: Path, inputs: str) -> int | None:
    """The exit status of a review of the same inputs, whose report is still there as written."""
    try:
        state = json.loads((out / STATE).read_text(encoding="utf-8"))
        if state["inputs"] == inputs and state["report"] == sha256(out / REPORT):
            return int(state["outcome"]["status"])
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return None


def _once(building: ListedBuilding, out: Path, limits: Limits) -> BuildingOutcome:
    command = [sys.executable, "-c", _COMMAND, str(limits.memory_bytes), "review"]
    command += [str(model) for model in building.models]
    command += ["--out", str(out)]
    command += ["--job", str(building.job)] if building.job else []
    command += ["--code", building.code] if building.code else []
    waits, held = os.pipe()
    try:
        done = subprocess.run(
            command, stdin=waits, capture_output=True, timeout=limits.seconds, check=False
        )
    except subprocess.TimeoutExpired:
        return BuildingOutcome(building.name, None, f"did not end within {limits.seconds:g} s")
    finally:
        os.close(waits)
        os.close(held)
    said = done.stderr.decode("utf-8", "replace").strip().splitlines()
    last = said[-1][:300] if said else ""
    written = (out / REPORT).is_file()
    if done.returncode not in DONE or (done.returncode != NO_REVIEW and not written):
        return BuildingOutcome(building.name, None, last or f"died with status {done.returncode}")
    return BuildingOutcome(
        building.name, done.returncode, last if done.returncode == NO_REVIEW else ""
    )
