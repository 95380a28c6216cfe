"""What a waste receptor gives: the load of what drains into it, or that of its trap."""

from __future__ import annotations

import pytest

from ifclint.plumbing.drainage.loads import loads
from ifclint.testing.questions import context_of

KITCHEN = """
sink PS called=Prep_sink  0 0 3
p-trap 1.5 PT  0 0 3 > 0 0.3 2.8
pipe 1.5 P  0 0.3 2.8 > 0 0.3 0.4
floor-sink FS box=-0.5,-0.5,-0.7,0.5,0.5,0  0 0 -0.7
p-trap 3 T  0 0 -0.7 > 0.5 0 -1
pipe 3 D  0.5 0 -1 > 20 0 -1.5
sewer-connection S  20 0 -1.5
"""
ICE = "ice-maker IM  3 0 3\npipe {size} I1  3 0 3 > 3 0 0.4\npipe {size} I2  3 0 0.4 > 0.2 0 0.3\n"


def _gives(text: str, code: str) -> tuple[float, tuple[str, ...]]:
    context = context_of(text, code)
    sink = next(f for f in context.plumbing.fixtures if f.element.guid == "FS")
    units = loads(context).units[sink]
    assert units is not None
    return loads(context).gives[sink], units.basis


@pytest.mark.parametrize(
    ("code", "alone", "with_ice", "by_trap"), [("upc-2021", 2, 3, 6), ("ipc-2021", 5, 5, 5)]
)
def test_a_floor_sink_gives_what_drains_into_it(
    code: str, alone: float, with_ice: float, by_trap: float
) -> None:
    """By the IPC not less than the value of its trap."""
    assert _gives(KITCHEN, code)[0] == alone
    assert _gives(KITCHEN + ICE.format(size="0.75"), code)[0] == with_ice
    bare = KITCHEN.replace("0 0.3 2.8 > 0 0.3 0.4", "0 0.3 2.8 > 9 9 0.4")
    gives, basis = _gives(bare, code)
    assert gives == by_trap
    assert basis == ("what drains into it is not known: loaded by the size of its trap",)


@pytest.mark.parametrize(("code", "three"), [("upc-2021", 6), ("ipc-2021", 6)])
def test_more_than_its_trap_is_listed_for(code: str, three: float) -> None:
    more = "".join(
        f"sink PS{n} called=Prep_sink  {n} 2 3\np-trap 1.5 PT{n}  {n} 2 3 > {n} 2.3 2.8\n"
        f"pipe 1.5 PA{n}  {n} 2.3 2.8 > {n} 2.3 0.4\n"
        f"pipe 1.5 PB{n}  {n} 2.3 0.4 > 0.{n} 0.{n} 0.3\n"
        for n in (1, 2)
    )
    assert _gives(KITCHEN + more, code)[0] == three


def test_of_what_the_size_of_its_line_is_not_told_the_trap_tells() -> None:
    unsized = KITCHEN + ICE.format(size="0.75").replace("pipe 0.75", "pipe")
    assert _gives(unsized, "upc-2021")[0] == 6
