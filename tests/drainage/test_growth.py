"""What many pipes of indirect waste cost grows with their number, and no faster."""

from __future__ import annotations

from typing import Any

from ifclint import codes
from ifclint.job import Job
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.rules.protection.open_ends import indirect_ends
from ifclint.testing import read_network
from tests.effort import calls


def over_sinks(count: int) -> str:
    """Waste pipes that end over floor sinks, of which nothing tells what they begin at."""
    lines = ["system=sanitary_drainage"]
    for n in range(count):
        x = 10.0 * n
        lines += [
            f"pipe 1.5 A{n}  {x} 0 0.9 > {x} 0 0.3",
            f"floor-sink FS{n} box={x - 0.3},-0.3,-0.3,{x + 0.3},0.3,0  {x} 0 -0.3",
            f"p-trap 3 T{n}  {x} 0 -0.3 > {x} 0.4 -0.6",
            f"pipe 3 D{n}  {x} 0.4 -0.6 > {x} 5 -0.8",
            f"sewer-connection S{n}  {x} 5 -0.8",
        ]
    return "\n".join(lines)


class Watched(list[int]):
    """A list of which each look at one of its things is a call."""

    def __getitem__(self, index: Any) -> Any:
        return super().__getitem__(index)


def calls_of_ends(count: int) -> int:
    context = Context(codes.load("upc-2021"), build(read_network(over_sinks(count))), Job())
    assert len(context.plumbing.fixtures) == count  # found before
    assert len(indirect_ends(context)) == count
    fresh = Context(context.code, context.plumbing, context.job)
    context.plumbing.drainage.outlet = Watched(context.plumbing.drainage.outlet)
    return calls(lambda: indirect_ends(fresh))


def test_work_grows_with_the_drawing_and_not_faster() -> None:
    calls_of_ends(10)
    assert calls_of_ends(320) < 1.5 * 4 * calls_of_ends(80)
