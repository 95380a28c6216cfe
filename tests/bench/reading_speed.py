"""Time and memory of reading and connecting models, beside a bare open of the same file.

    python tests/bench/reading_speed.py [--rounds 3] [--segments 50000] [--growth]

Four models are written anew: plumbing alone with ports and property sets; the same without ports;
a coordination model in which one element in twenty is plumbing; and 20,000 pipes in another habit
(`bent_tubes.py`). With `--growth` also plumbing of
1,000 to 200,000 segments. Each step is a process of its own; the median of the rounds counts.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from models.coordination import write_coordination
from models.grid import write_grid
from tests.bench.review_speed import measure
from tests.bench.swept_disks import write_swept_disks

STEPS = ("bare open", "read and connect")
SWEPT = 20_000
GROWTH = (1_000, 10_000, 50_000, 200_000)


def report(name: str, model: Path, rounds: int, goal: float | None = None) -> None:
    """Print the medians of both steps, their ratio and what it is meant to be below."""
    taken = {step: [] for step in STEPS}
    for _ in range(rounds):
        for step in STEPS:
            taken[step].append(measure(step, model, ""))
    (bare_s, bare_mib), (read_s, read_mib) = (
        tuple(statistics.median(column) for column in zip(*taken[step], strict=True))
        for step in STEPS
    )
    below = f"  goal below {goal}" if goal else ""
    print(
        f"{name:<34} {model.stat().st_size / 1e6:7.1f} MB  open {bare_s:6.2f} s {bare_mib:5.0f} MiB"
        f"  read {read_s:6.2f} s {read_mib:5.0f} MiB"
        f"  {read_s / bare_s:5.2f} × {read_mib / bare_mib:5.2f} ×{below}",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--segments", type=int, default=50_000)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--growth", action="store_true", help="also 1,000 to 200,000 segments")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        model = Path(folder) / "model.ifc"
        write_grid(model, segments=given.segments)
        report(f"{given.segments} segments", model, given.rounds, 1.2)
        write_coordination(model, given.segments // 20)
        report("one element in twenty plumbing", model, given.rounds, 0.8)
        write_grid(model, segments=given.segments, ports=False)
        report(f"{given.segments} segments without ports", model, given.rounds, 2.0)
        write_swept_disks(model, SWEPT)
        report(f"{SWEPT} swept disks", model, given.rounds, 1.8)
        for segments in GROWTH if given.growth else ():
            write_grid(model, segments=segments)
            report(f"{segments} segments", model, given.rounds)


if __name__ == "__main__":
    main()
