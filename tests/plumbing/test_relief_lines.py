"""The line of a relief valve is no drain, whatever system it stands in, until it joins one."""

from __future__ import annotations

import pytest

from ifclint.testing import context_of

LINE = """
system=cold_water
relief V  in -0.1 0 4 > out 0 0 4
system=sanitary_drainage
pipe 0.75 R1  0 0 4 > 1 0 4
quarter-bend E  1 0 4 > 1 0 3.9
pipe 0.75 R2  1 0 3.9 > 1 0 {end}
lavatory L  5 0 3
pipe 1.5 D  5 0 3 > 5 0 0
pipe 1.5 B  5 0 0 > 1 0 -0.1
sewer-connection S  1 0 -0.1
"""


@pytest.mark.parametrize(
    ("end", "drained"), [(0.5, ["B", "D", "L", "S"]), (-0.1, ["B", "D", "E", "L", "R1", "R2", "S"])]
)
def test_a_relief_line_is_drainage_only_where_it_joins_it(end: float, drained: list[str]) -> None:
    drainage = context_of(LINE.format(end=end), "upc-2021").plumbing.drainage
    assert sorted(drainage.elements[i].guid for i in drainage.members) == drained
