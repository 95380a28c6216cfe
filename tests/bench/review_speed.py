"""Time and memory of reading and of a whole review beside a bare open of the same file.

    python tests/bench/review_speed.py [--segments 20000] [--apartments] [MODEL.ifc ...]

Every measurement is a process of its own, in turn, so that the figures compare; the median of the
rounds is printed, with the ratio to the bare `ifcopenshell.open`. Seconds are those of the
processor, so that other work on the machine counts little. They exclude starting Python and
importing libraries and rule packs, which is the same for all; peak memory includes them. For the
dwelling the whole command is measured too, with all of that, its modules compiled as those of an
installed program are.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
_MEASURE = """
import json, resource, sys
from time import process_time
from pathlib import Path
import ifcopenshell, networkx, numpy, scipy.spatial, scipy.sparse.csgraph, jinja2
import ifclint.ifc.reading, ifclint.review, ifclint.report.html, ifclint.report
from ifclint import ifc, network
from ifclint.packs import load_packs
what, path, packs = sys.argv[1], Path(sys.argv[2]), load_packs()
start = process_time()
if what == "bare open":
    kept = ifcopenshell.open(path)
elif what == "read and connect":
    kept = network.connect(ifc.read([path]))
else:
    kept = ifclint.review.review([path], code="ipc-2021", packs=packs)
    ifclint.report.write_reports(kept, Path(sys.argv[3]), packs)
seconds = process_time() - start
print(json.dumps([seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""
COMPILED = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
STEPS = ("bare open", "read and connect", "review with reports")


def measure(step: str, model: Path, out: str) -> tuple[float, float]:
    """Processor seconds and peak memory (MiB) of one step in a process of its own."""
    command = [sys.executable, "-c", _MEASURE, step, str(model), out]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    seconds, mebibytes = json.loads(done.stdout.splitlines()[-1])
    return seconds, mebibytes


def report_command(model: Path, rounds: int) -> None:
    """Print what a whole command takes beside a bare open with its interpreter."""
    bare = [sys.executable, "-c", f"import ifcopenshell; ifcopenshell.open({str(model)!r})"]
    job = model.with_suffix(".toml")
    with tempfile.TemporaryDirectory() as out:
        review = [sys.executable, "-m", "ifclint.cli", "review", str(model), "--out", out]
        commands = {
            "bare open": bare,
            "ifclint --help": [sys.executable, "-m", "ifclint.cli", "--help"],
            "ifclint review": [*review, "--job", str(job)],
        }
        for command in commands.values():
            _command_seconds(command)
        taken = {
            name: [_command_seconds(command) for _ in range(rounds)]
            for name, command in commands.items()
        }
    print(f"{model.name}, whole commands, median of {rounds}")
    for name, seconds in taken.items():
        print(f"  {name:<20} {statistics.median(seconds):8.2f} s")


def _command_seconds(command: list[str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, capture_output=True, check=False, cwd=ROOT, env=COMPILED)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def report(model: Path, rounds: int) -> None:
    size = model.stat().st_size / 1e6
    print(f"{model.name}, {size:.1f} MB, median of {rounds}")
    with tempfile.TemporaryDirectory() as out:
        taken = {step: [] for step in STEPS}
        for _ in range(rounds):
            for step in STEPS:
                taken[step].append(measure(step, model, out))
    bare_s, bare_mb = (statistics.median(x) for x in zip(*taken[STEPS[0]], strict=True))
    for step in STEPS:
        seconds, mebibytes = (statistics.median(x) for x in zip(*taken[step], strict=True))
        print(
            f"  {step:<20} {seconds:8.2f} s  {seconds / bare_s:6.2f} ×   "
            f"{mebibytes:8.0f} MiB  {mebibytes / bare_mb:5.2f} ×"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("models", nargs="*", type=Path)
    parser.add_argument("--segments", type=int, default=20_000, help="of the generated model")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument(
        "--apartments", action="store_true", help="also 60,000 elements of dwellings"
    )
    given = parser.parse_args()
    for model in given.models or [ROOT / "models" / "dwelling_corrected.ifc"]:
        report(model, given.rounds)
    if not given.models:
        report_command(ROOT / "models" / "dwelling_early.ifc", given.rounds)
        sys.path.insert(0, str(ROOT))
        from models.grid import write_grid

        with tempfile.TemporaryDirectory() as folder:
            grid = Path(folder) / f"grid_{given.segments}.ifc"
            write_grid(grid, segments=given.segments)
            report(grid, given.rounds)
            if given.apartments:
                from tests.bench.apartments import write_apartments

                write_apartments(building := Path(folder) / "apartments.ifc")
                report(building, given.rounds)


if __name__ == "__main__":
    main()
