"""Where a pipe lies: outside the walls, in the ground below the lowest floor, or above it; and what
is no pipe but a part of an appliance."""

from __future__ import annotations

import pytest

from ifclint.rules.materials.fittings import fitting_lots
from ifclint.rules.materials.lots import lots, places_of
from ifclint.testing.questions import context_of

HOUSE = """
storey Main 0
room Hall storey=Main  0.5 0.5 0 > 39.5 29.5 9
wall W1  0 0 0 > 40 0.5 9
wall W2  0 29.5 0 > 40 30 9
wall W3  0 0 0 > 0.5 30 9
wall W4  39.5 0 0 > 40 30 9
slab S  0 0 -0.5 > 40 30 0
"""


@pytest.mark.parametrize(
    ("pipe", "place"),
    [
        ("20 20 -2 > 30 20 -2", ("below",)),
        ("20 20 3 > 30 20 3", ("above",)),
        ("20 20 -0.1 > 30 20 -0.1", ("above",)),  # in the floor, not in the ground
        ("50 20 -2 > 60 20 -2", ("outside",)),
    ],
)
def test_places_of_a_pipe(pipe: str, place: tuple[str, ...]) -> None:
    context = context_of(HOUSE + f"pipe 2 P  {pipe}\n")
    (drawn,) = (e for e in context.plumbing.network.elements if e.guid == "P")
    assert places_of(drawn, "drain", context) == place


HOSED = """
system=sanitary_drainage
dishwasher-appliance DW  0 0 0.5
pipe 0.75 H material=hose  0 0 0.5 > 1 0 2.5
quarter-bend 0.75 E material=hose  1 0 2.5 > 1 0.1 2.5
pipe 0.75 I material=hose  1 0.1 2.5 > 3 0.1 2
p-trap 1.5 T material=pvc  3 0.1 2 > 3.5 0.1 1.6
pipe 1.5 D material=pvc  3.5 0.1 1.6 > 9 0.1 1.4
"""


@pytest.mark.parametrize(
    ("old", "new", "materials"),
    [
        ("", "", ["pvc"]),
        ("dishwasher-appliance", "clothes-washer-appliance", ["pvc"]),
        ("dishwasher-appliance", "bar-sink", ["hose", "pvc", "hose"]),
        ("material=hose", "material=pex", ["pex", "pvc", "pex"]),  # pipe, whoever empties into it
        ("0.75", "2", ["hose", "pvc", "hose"]),
    ],
)
def test_the_hose_of_an_appliance_is_judged_as_a_part_of_it(
    old: str, new: str, materials: list[str]
) -> None:
    context = context_of(HOSED.replace(old, new) if old else HOSED)
    assert [lot.material for lot in (*lots(context), *fitting_lots(context))] == materials
