"""Water lines whose end is found within the shape of a vessel without connections of its own."""

from __future__ import annotations

import pytest

from ifclint import network
from ifclint.plumbing import build
from ifclint.plumbing.supply.fills import fill_of
from ifclint.testing.networks import read_network

TANK = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 1 P1  1 0 0 > 20 0 0
lavatory L  cold 20 0 0
pipe 0.75 P2  20 0 0 > 30 0 0
pipe 0.75 F  30 0 0 > 30 0 {z}
storage-tank T called={name} box=26,-2,-6,34,2,-1  30 0 {z}
"""


def _over(name: str, z: float) -> list[str]:
    """What the lines fill, where the joint with the tank is one that was only found by shapes."""
    model = read_network(TANK.format(name=name, z=z)).model
    tank = next(i for i, e in enumerate(model.elements) if e.guid == "T")
    model.joints = [j._replace(inferred=tank in (j.a, j.b)) for j in model.joints]
    supply = build(network.connect(model)).supply
    return [fill.over.guid for line in supply.segments if (fill := fill_of(line)) is not None]


@pytest.mark.parametrize(
    ("name", "z", "over"),
    [
        ("Surge_tank,_open_top", -1.7, ["T"]),  # dips in over the rim
        ("Rainwater_cistern", -1.7, ["T"]),
        ("Storage_tank", -1.7, []),  # closed: it has its inlet there
        ("Surge_tank,_open_top", -6.0, []),  # at the bottom of its shape, as a connection lies
    ],
)
def test_a_line_that_dips_into_an_open_vessel_fills_it(
    name: str, z: float, over: list[str]
) -> None:
    assert _over(name, z) == over
