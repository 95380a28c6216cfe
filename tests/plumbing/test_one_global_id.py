"""Elements that were given one GlobalId stay the elements that they are."""

from __future__ import annotations

from ifclint.plumbing import build
from ifclint.testing.networks import read_network

TWO_TRAPS = """
storey L1 0
sink K1 storey=L1 -2 0 2.5
pipe 1.5 TAIL1 -2 0 2.5 > -2 0 1.2
p-trap 1.5 T1 -2 0 1.2 > -1.6 0 1.05
pipe 1.5 ARM1 -1.6 0 1.05 > -0.1 0 1.02
lavatory L2 storey=L1 2 0 2.5
pipe 1.25 TAIL2 2 0 2.5 > 2 0 1.2
p-trap 1.25 T2 2 0 1.2 > 1.6 0 1.05
pipe 1.25 ARM2 1.6 0 1.05 > 0.1 0 1.02
double-sanitary-tee TEE at=0,0,1 -0.1 0 1.02 > 0.1 0 1.02 > 0 0 0.9 > 0 0 1.1
pipe 2 DROP 0 0 0.9 > 0 0 -1
sewer-connection SEWER 0 0 -1
pipe 1.5 VENT system=vent 0 0 1.1 > 0 0 13
vent-through-roof VTR system=vent 0 0 13
"""


def test_two_traps_of_one_global_id_are_two_trap_arms() -> None:
    net = read_network(TWO_TRAPS)
    (copy,) = (e for e in net.elements if e.guid == "T2")
    copy.guid = "T1"
    arms = build(net).venting.arms
    assert [[f.label for f in arm.fixtures] for arm in arms] == [["K1"], ["L2"]]
