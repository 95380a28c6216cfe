"""How long the supply of a large building takes: directing it, demand, losses and pressures.

    python tests/bench/supply_speed.py [SEGMENTS ...]

The model is made in memory, since reading it is measured elsewhere. Prints the processor seconds
of each part, the best of three, for 50,000 segments, and for fewer and more.
"""

from __future__ import annotations

import gc
import sys
from itertools import pairwise
from pathlib import Path
from time import process_time

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "plugins")]

from ifclint import codes, network  # noqa: E402
from ifclint.ifc.elements import Model, Role  # noqa: E402
from ifclint.job import Job  # noqa: E402
from ifclint.packs import Context  # noqa: E402
from ifclint.plumbing import build  # noqa: E402
from ifclint.rules.supply.demand import demand  # noqa: E402
from ifclint.rules.supply.pressure_model import solution  # noqa: E402
from tests.supply.trees import large  # noqa: E402

JOB = {"water": {"static_pressure": "90 psi", "residual_pressure": "80 psi"}}


def measure(model: Model) -> dict[str, float]:
    """Processor seconds of each part, of one run."""
    context = Context(
        codes.load("upc-2021"), build(network.connect(model)), Job.model_validate(JOB)
    )
    marks = [process_time()]
    supply = context.plumbing.supply
    marks.append(process_time())
    demand(context)
    marks.append(process_time())
    solution(context)
    marks.append(process_time())
    parts = [b - a for a, b in pairwise(marks)]
    return {"direct": parts[0], "demand": parts[1], "pressure": parts[2], "all": sum(parts),
            "lines": len(supply.segments)}  # fmt: skip


def main() -> None:
    for count in [int(a) for a in sys.argv[1:]] or [10_000, 50_000, 100_000]:
        model = large(count)
        pipes = sum(e.role is Role.PIPE for e in model.elements)
        gc.disable()
        best = min((measure(model) for _ in range(3)), key=lambda m: m["all"])
        gc.enable()
        print(
            f"{pipes:>7,} pipes, {best['lines']:>7,.0f} lines: directed in {best['direct']:.2f} s, "
            f"demand {best['demand']:.2f} s, pressure {best['pressure']:.2f} s, "
            f"together {best['all']:.2f} s"
        )


if __name__ == "__main__":
    main()
