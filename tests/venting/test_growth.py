"""What a combination waste and vent costs grows with its traps, and no faster."""

from __future__ import annotations

from ifclint import codes
from ifclint.checks import PASS
from ifclint.job import Job
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.rules.venting.combination import may_be_combination, passes_as_combination
from ifclint.testing import read_network
from tests.effort import calls


def drains(count: int) -> str:
    """Floor drains along one level drain, with a vent below the last of them."""
    lines = [
        "sewer-connection S  -15 0 -1.3125",
        "pipe 6 OUT  -5 0 -1.1042 > -15 0 -1.3125",
        "pipe 6 M  0 0 -1 > -5 0 -1.1042",
        "pipe 3 V system=vent  -5 0 -1.1042 > -5 0 20",
        "vent-through-roof R system=vent  -5 0 20",
    ]
    for n in range(count):
        x, z = 10.0 * n, -1 + 10 * n / 48
        lines += [
            f"floor-drain F{n}  {x} 3 {z + 1}",
            f"p-trap 3 T{n}  {x} 3 {z + 1} > {x} 2.5 {z + 0.1}",
            f"pipe 3 A{n}  {x} 2.5 {z + 0.1} > {x} 0 {z}",
            f"pipe 6 M{n}  {x + 10} 0 {z + 10 / 48} > {x} 0 {z}",
        ]
    return "\n".join(lines)


def calls_of_combination(count: int) -> int:
    context = Context(codes.load("ipc-2021"), build(read_network(drains(count))), Job())
    arms = context.plumbing.venting.arms
    assert len(arms) == count  # found before

    def work() -> None:
        assert [may_be_combination(arm, context) for arm in arms] == [PASS] * count
        assert all(passes_as_combination(arm, context) for arm in arms)

    return calls(work)


def test_work_grows_with_the_traps_and_not_faster() -> None:
    calls_of_combination(10)
    assert calls_of_combination(240) < 1.5 * 4 * calls_of_combination(60)
