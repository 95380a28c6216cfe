"""Where a pipe lies: outside the walls, in the ground below the lowest floor, or above it."""

from __future__ import annotations

import pytest

from ifclint.rules.materials.lots import places_of
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
