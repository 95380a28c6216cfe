"""Where the lines of trap primers end, whatever system they are in and whichever way they run."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.plumbing.supply.primers import ends_of_lines
from ifclint.testing import read_network

# A line that ends open above, whose feed is not drawn, and leads into a trap.
INTO_TRAP = """
isolating 0.5 OTHER system=cold_water called=Trap_primer 40 0 5 > 40 0 4.8
floor-drain FD 0 1 1
p-trap 2 T 0 1 1 > 0 1.5 -0.3 > 0 0 0
pipe 2 D 0 1.5 -0.3 > 0 20 -0.7
sewer-connection S 0 20 -0.7
system=cold_water material=copper
pipe 0.5 F 0 0 10 > 0 0 5
isolating 0.5 V called=Stop 0 0 5 > 0 0 4.8
pipe 0.5 L 0 0 4.8 > 0 0 0
"""
PRIMED = INTO_TRAP.replace("called=Stop", "called=Trap_primer_valve")


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        (INTO_TRAP, set()),
        (PRIMED, {"F", "T"}),
        (PRIMED + "pipe 0.5 B 0 0 4.8 > 9 0 4.8", {"F", "T", "B"}),  # it branches at the valve
        (PRIMED.replace("L 0 0 4.8 > 0 0 0", "L 0 0 4.8 > 0 0 1"), {"F", "L"}),  # short of the trap
    ],
)
def test_where_the_lines_of_primers_end(text: str, ends: set[str]) -> None:
    network = read_network(text)
    assert {network.elements[i].guid for i in ends_of_lines(network)} == ends


@pytest.mark.parametrize(("text", "found"), [(INTO_TRAP, True), (PRIMED, False)])
def test_water_led_into_a_trap_comes_from_a_primer(text: str, found: bool) -> None:
    context = Context(codes.load("irc-2021"), build(read_network(text)), Job())
    said = [f for f in judge(load_packs().loaded, context).findings if "T" in f.element_ids]
    assert ("hazard-isolated" in {f.rule for f in said}) is found
