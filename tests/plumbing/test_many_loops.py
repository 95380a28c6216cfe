"""Loops of water pipe one behind the other: each is found and solved by itself."""

from __future__ import annotations

import random
from types import SimpleNamespace
from typing import Any, cast

import pytest

from ifclint.engineering.joined import NONE, onward
from ifclint.plumbing import build
from ifclint.plumbing.flow.distribution import Distribution
from ifclint.plumbing.flow.loops import _two_paths
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.loops import looped_mains
from ifclint.testing import read_network
from tests.effort import calls


def loops(count: int) -> Supply:
    """Loops, each fed from the one before it, with a tap on both of its sides."""
    lines = ["system=cold_water material=copper", "water-meter 1 M  in -1 0 0 > out 0 0 0"]
    for n in range(count):
        x = 6 * n
        lines += [
            f"tee 1 A{n}  {x} 0 0 > {x + 1} 0 0 > {x} 1 0",
            f"pipe 1 P{n}  {x + 1} 0 0 > {x + 2} 0 0",
            f"tee 1 B{n}  {x + 2} 0 0 > {x + 3} 0 0 > {x + 2} -1 0",
            f"lavatory L{n}  cold {x + 2} -1 0",
            f"pipe 1 Q{n}  {x + 3} 0 0 > {x + 4} 0 0",
            f"pipe 1 R{n}  {x} 1 0 > {x + 2} 4 0",
            f"tee 1 C{n}  {x + 2} 4 0 > {x + 3} 4 0 > {x + 2} 5 0",
            f"lavatory K{n}  cold {x + 2} 5 0",
            f"pipe 1 S{n}  {x + 3} 4 0 > {x + 4} 1 0",
            f"tee 1 D{n}  {x + 4} 0 0 > {x + 5} 0 0 > {x + 4} 1 0",
            f"pipe 1 T{n}  {x + 5} 0 0 > {x + 6} 0 0",
        ]
    lines.append(f"lavatory Z  cold {6 * count} 0 0")
    return build(read_network("\n".join(lines))).supply


def test_each_is_found_with_what_leaves_it() -> None:
    supply = loops(6)
    mains = looped_mains(supply)
    assert [len(main.loops) for main in mains] == [1] * 6
    for main in mains:
        assert len(main.leaves) == 3
        for branch, at in main.leaves.items():
            whole = [s for s in supply.segments[at].to_source if s.number in main.lines]
            assert [*main.paths[branch]] == whole


@pytest.mark.parametrize(
    ("taps", "mains"),
    [
        ([], 0),
        (["pipe 1 E  4 0 0 > 9 0 0"], 1),  # takes nothing, but leads on
        (["lavatory L  cold 4 0 0", "lavatory K  cold 1 -1 0"], 1),
    ],
)
def test_a_loop_that_nothing_leaves_is_none_to_solve(taps: list[str], mains: int) -> None:
    ring = [
        "system=cold_water material=copper",
        "water-meter 1 M  in -1 0 0 > out 0 0 0",
        "tee 1 A  0 0 0 > 1 0 0 > 0 1 0",
        "tee 1 P  1 0 0 > 2 0 0 > 1 -1 0",
        "tee 1 B  2 0 0 > 3 0 0 > 4 0 0",
        "pipe 1 Q  3 0 0 > 0 1 0",
    ]
    supply = build(read_network("\n".join(ring + taps))).supply
    assert len(supply.distribution.loops) == 1
    assert len(looped_mains(supply)) == mains


def test_two_ways_part_where_all_that_lies_above_says() -> None:
    shuffled = random.Random(7)
    for _ in range(300):
        toward = [NONE, NONE] + [shuffled.randrange(i) for i in range(2, 40)]
        a, b = shuffled.sample(range(40), 2)
        to_a, to_b = ([*onward(i, toward)][::-1] for i in (a, b))
        common = [i for i, j in zip(to_a, to_b, strict=False) if i == j]
        made = cast("Distribution", SimpleNamespace(toward=toward))
        start, one, other = _two_paths(made, a, b)
        assert start == (common[-1] if common else NONE)
        assert [*common, *one] == to_a
        assert [*common, *other] == to_b


def calls_of(count: int) -> int:
    def work() -> Any:
        assert len(looped_mains(loops(count))) == count

    return calls(work)


def test_work_grows_with_the_loops_and_not_faster() -> None:
    calls_of(5)
    assert calls_of(120) < 1.5 * 4 * calls_of(30)
