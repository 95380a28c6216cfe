"""Washers hung into the standpipe beside them: how far a hose reaches, and what is one."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.network import Network
from ifclint.plumbing.drainage.hoses import drains_into_receptor, hoses, hung
from ifclint.testing import read_network

STANDPIPE = """
pipe 2 TOP  0 0 3 > 0 0 1
p-trap 2 T  0 0 1 > 0.5 0 0.8
pipe 2 D  0.5 0 0.8 > 9 0 0.6
sewer-connection S  9 0 0.6
"""


def washer(x_m: float, y_m: float = 0.0, z_m: float = 3 * M_PER_FT, guid: str = "W") -> str:
    x, y, z = (value / M_PER_FT for value in (x_m, y_m, z_m))
    return f"clothes-washer-appliance {guid} at={x!r},{y!r},{z!r}\n"


def into(network: Network) -> dict[str, str]:
    """Into what each washer is hung."""
    made, elements = hung(network), network.elements
    return {
        elements[joint.a].guid: elements[joint.b].guid
        for joint in made.joints
        if joint.inferred and elements[joint.a].kind.startswith("clothes")
    }


@pytest.mark.parametrize(
    ("at", "reached"),
    [
        ((1.99, 0.0), True), ((2.01, 0.0), False), ((0.0, 1.99), True), ((0.0, 2.01), False),
        ((0.1, 0.0, 3 * M_PER_FT - 1.99), True), ((0.1, 0.0, 3 * M_PER_FT - 2.01), False),
        ((0.1, 0.0, 3 * M_PER_FT + 1.99), True), ((0.1, 0.0, 3 * M_PER_FT + 2.01), False),
    ],
)  # fmt: skip
def test_a_hose_reaches_two_metres(at: tuple[float, ...], reached: bool) -> None:
    assert into(read_network(STANDPIPE + washer(*at))) == ({"W": "TOP"} if reached else {})


def test_each_standpipe_takes_one_washer_the_nearest() -> None:
    text = STANDPIPE + washer(1.0, guid="FAR") + washer(0.5, guid="NEAR")
    assert into(read_network(text)) == {"NEAR": "TOP"}


def test_a_pipe_above_a_trap_is_taken_before_one_without() -> None:
    riser = "pipe 2 BARE  1 0 3 > 1 0 1\n"
    assert into(read_network(STANDPIPE + riser + washer(1 * M_PER_FT))) == {"W": "TOP"}
    assert into(read_network(riser + washer(1 * M_PER_FT))) == {"W": "BARE"}
    leaning = "pipe 2 BARE  1 0 3 > 3.1 0 1\n"
    assert into(read_network(leaning + washer(1 * M_PER_FT))) == {}
    upright = "pipe 2 BARE  1 0 3 > 2.9 0 1\n"
    assert into(read_network(upright + washer(1 * M_PER_FT))) == {"W": "BARE"}


def test_the_top_of_a_standpipe_drawn_in_pieces() -> None:
    pieces = "".join(f"pipe 2 S{n}  0 0 {3 + n} > 0 0 {4 + n}\n" for n in range(6))
    text = STANDPIPE + pieces + washer(0.1, z_m=9 * M_PER_FT)
    assert into(read_network(text)) == {"W": "S5"}


def test_what_is_joined_to_the_drainage_is_hung_nowhere() -> None:
    near = STANDPIPE + washer(0.5)
    drained = near.replace(
        "clothes-washer-appliance W",
        "clothes-washer-appliance W  5 5 3\npipe 2 Z  5 5 3 > 5 5 1\n#",
    )
    assert into(read_network(drained)) == {}


HOSE = """
dishwasher-appliance W  0 0 0
pipe 0.75 H1  0 0 0 > 2 0 1
coupling 0.75 H2  2 0 1 > 2.2 0 1
pipe 1.25 H3  2.2 0 1 > 4 0 0
pipe 1.5 P  4 0 0 > 4 0 -1
"""


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("", "", {"H1", "H2", "H3"}),  # larger pipe is none
        ("pipe 1.25 H3", "pipe 1.5 H3", {"H1", "H2"}),
        ("coupling 0.75 H2  2 0 1 > 2.2 0 1", "tee 0.75 H2  2 0 1 > 2.2 0 1 > 2.1 1 1", {"H1"}),
        ("pipe 0.75 H1", "pipe 0.75 H1 system=cold_water", set()),
        ("pipe 0.75 H1", "pipe 0.75 H1 system=none", {"H1", "H2", "H3"}),
        ("dishwasher-appliance W", "furnace W", set()),
    ],
)
def test_the_hose_of_what_pumps(old: str, new: str, expected: set[str]) -> None:
    network = read_network(HOSE.replace(old, new))
    assert {network.elements[i].guid for i in hoses(network)} == expected


def test_a_fitting_alone_is_no_hose() -> None:
    network = read_network("dishwasher-appliance W  0 0 0\ncoupling 0.75 C  0 0 0 > 1 0 0")
    assert hoses(network) == set()


def test_a_washer_beside_an_outlet_box_empties_into_it() -> None:
    box = "clothes-washer B at=0,0,3 0 0 2\n"
    near, far = read_network(box + washer(1.99)), read_network(box + washer(2.01))
    assert {near.elements[i].guid for i in drains_into_receptor(near)} == {"W"}
    assert drains_into_receptor(far) == set()
    led = read_network(
        "clothes-washer-appliance W  0 0 0\npipe 0.75 H  0 0 0 > 2 0 1\nclothes-washer B  2 0 1"
    )
    assert {led.elements[i].guid for i in drains_into_receptor(led)} == {"W"}


def test_a_hose_that_hangs_in_a_standpipe_empties_into_it() -> None:
    drawn = """
    clothes-washer-appliance W  0 0 3
    pipe 0.75 H  0 0 3 > 2 0 3
    pipe 0.75 I  2 0 3 > 2 0 2.2
    clothes-washer B box=1.9,-0.1,0,2.1,0.1,2.5  2 0 0
    """
    for top, found in ((2.5, {"W"}), (0.1, set())):
        led = read_network(drawn.replace("2.1,0.1,2.5", f"2.1,0.1,{top}"))
        assert {led.elements[i].guid for i in drains_into_receptor(led)} == found
