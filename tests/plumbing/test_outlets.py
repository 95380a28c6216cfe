"""Where drainage leaves: of several that could be meant, the lowest, and none that a vent has."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Role
from ifclint.plumbing.drainage.gravity import Drainage, direct
from ifclint.plumbing.drainage.receptors import receptor_under
from ifclint.testing import read_network

HIGH = """
lavatory L  0 0 3
pipe 2 P1  0 0 3 > 5 0 2
manhole HIGH  5 0 2 > 5.5 0 2
pipe 2 P2  5.5 0 2 > 9 0 1
manhole LOW  9 0 1 > 9.5 0 0.9
"""


def directed(text: str, exits: tuple[str, ...] = (), ending: str = "EXIT") -> Drainage:
    network = read_network(text)
    for element in network.elements:
        element.predefined_type = ending if element.guid in exits else ""
    return direct(network)


def outlets(drainage: Drainage) -> list[tuple[str, str]]:
    return [(drainage.elements[o.element].guid, o.kind) for o in drainage.outlets]


def leaves_by(drainage: Drainage, guid: str) -> str:
    index = next(i for i, e in enumerate(drainage.elements) if e.guid == guid)
    return drainage.elements[drainage.outlets[drainage.outlet[index]].element].guid


@pytest.mark.parametrize("turned", [False, True])
def test_of_several_manholes_the_lowest_is_where_the_piping_leaves(turned: bool) -> None:
    lines = HIGH.strip().splitlines()
    found = directed("\n".join(reversed(lines) if turned else lines))
    assert outlets(found) == [("LOW", "manhole")]


def test_each_piping_has_its_own_lowest_manhole() -> None:
    other = "\n".join(
        f"{line.replace('0 0', '0 50').replace('.5 0', '.5 50').replace('5 0', '5 50')}"
        for line in ["lavatory M  0 0 3", "pipe 2 Q1  0 0 3 > 5 0 2", "manhole OTHER  5 0 2"]
    )
    assert outlets(directed(HIGH + other)) == [("LOW", "manhole"), ("OTHER", "manhole")]


@pytest.mark.parametrize(("below_m", "is_lowest"), [(0.049, True), (0.051, False)])
@pytest.mark.parametrize("ending", ["EXIT", "ENTRY"])
def test_an_exit_fitting_leaves_at_the_lowest_place_or_hardly_above(
    below_m: float, is_lowest: bool, ending: str
) -> None:
    z = 2 - below_m / M_PER_FT
    text = f"""
lavatory L  0 0 3
pipe 2 P1  0 0 3 > 5 0 2
tee 2 T  5 0 2 > 5.2 0 2 > 5.4 0 {z!r}
fitting 2 E  5.2 0 2
fitting 2 V  0 0 3
"""
    found = directed(text, ("V", "E"), ending)
    assert (("E", "exit fitting") in outlets(found)) is is_lowest
    assert leaves_by(found, "L") == ("E" if is_lowest else "T")


def test_an_exit_fitting_without_a_place_leaves_where_no_place_of_its_piping_is_known() -> None:
    text = """
unplaced=yes
lavatory L  0 0 3
pipe 2 P1  0 0 3 > 5 0 2
fitting 2 E  5 0 2
"""
    assert outlets(directed(text, ("E",))) == [("E", "exit fitting")]


OPEN = """
storey Ground {level}
lavatory L  0 0 3
pipe 2 P1  0 0 3 > 5 0 2
tee 2 T  5 0 2 > 5.2 0 2 > 5.4 0 1.9
pipe 2 HIGH  5.2 0 2 > 7 0 1.9
pipe 2 LOW  5.4 0 1.9 > 5.4 0 1
"""
SECOND = """
lavatory M  0 50 3
pipe 2 Q  0 50 3 > 5 50 2
"""
THIRD = """
lavatory N  0 90 3
pipe 2 R  0 90 3 > 5 90 2
"""


def certain(text: str) -> list[tuple[str, bool]]:
    found = directed(text)
    said = [(found.elements[o.element].guid, o) for o in found.outlets]
    return [(guid, o.certain) for guid, o in said if o.accepted]


@pytest.mark.parametrize(
    ("text", "level", "expected"),
    [
        (OPEN, 1.5, [("LOW", True)]),  # below the floor
        (OPEN, 0.5, [("LOW", False)]),  # above it, but it takes all fixtures
        (OPEN + SECOND, 0.5, [("LOW", False), ("Q", False)]),  # half of them each
        (OPEN + SECOND + THIRD, 0.5, []),  # a third each
        (OPEN.replace("lavatory L  0 0 3", "cap 2 C  0 0 3"), 0.5, []),
    ],
)
def test_an_open_end_leaves_below_the_floor_or_where_it_takes_most_fixtures(
    text: str, level: float, expected: list[tuple[str, bool]]
) -> None:
    assert certain(text.format(level=level)) == expected


def test_a_capped_end_is_not_open_and_an_exit_is_though_it_is_joined() -> None:
    capped = OPEN.format(level=0.5) + "cap 2 C  5.4 0 1"
    assert leaves_by(directed(capped), "L") == "HIGH"
    network = read_network(
        OPEN.format(level=0.5) + "fitting 2 E  5.4 0 1 > 5.4 0 0.9\npipe 2 Z  5.4 0 0.9 > 5.4 0 2.9"
    )
    next(e for e in network.elements if e.guid == "E").kind = "exit"
    assert leaves_by(direct(network), "L") == "E"


STRANDED = """
sewer-connection S  90 0 0
pipe 4 SP  80 0 0.2 > 90 0 0
lavatory FAR  80 0 0.2
"""


def test_stranded_piping_stops_at_its_pump_else_its_open_end_else_its_low_point() -> None:
    body = "lavatory L  0 0 3\npipe 2 P1  0 0 3 > 5 0 2\n"
    pump = directed(STRANDED + body + "pump U  5 0 2 > 5.2 0 2\npipe 2 P2  5.2 0 2 > 5.2 0 -4")
    assert (leaves_by(pump, "L"), outlets(pump)[1]) == ("U", ("U", "pumped"))
    ends = directed(
        STRANDED + body + "tee 2 T  5 0 2 > 5.2 0 2 > 5.4 0 1.9\npipe 2 A  5.2 0 2 > 7 0 1.9\n"
        "pipe 2 B  5.4 0 1.9 > 5.4 0 1"
    )
    assert outlets(ends)[1:] == [("B", "open end")]
    shut = directed(STRANDED + body + "cap 2 C  5 0 2 > 5 0 1.5\ncap 2 D  0 0 3 > 0 0 3.2")
    assert outlets(shut)[1:] == [("C", "low point")]


IN_PER_M = 1 / 0.0254


@pytest.mark.parametrize(
    ("at_in", "is_under"),
    [
        ((-1.9, 0, 10), True),  # 2 in beside its rim
        ((-2.1, 0, 10), False),
        ((13.9, 6, 10), True),
        ((14.1, 6, 10), False),
        ((6, -2.1, 10), False),
        ((6, 14.1, 10), False),
        ((6, 6, 31.9), True),  # 24 in above it
        ((6, 6, 32.2), False),
        ((6, 6, 0), True),
        ((6, 6, -0.1), False),
    ],
)
def test_an_open_end_ends_over_a_receptor_within_reach_of_its_rim(at_in, is_under) -> None:
    network = read_network("floor-sink F box=0,0,0,1,1,0.6666666666666666 0.5 0.5 0")
    x, y, z = (value / IN_PER_M for value in at_in)
    assert (receptor_under(network, (x, y, z)) is not None) is is_under


def test_of_two_receptors_the_higher_takes_it() -> None:
    network = read_network("""
floor-drain D box=0,0,0,1,1,0.3 0.5 0.5 0
floor-sink F box=0,0,0,1,1,0.6 0.5 0.5 0.1
""")
    receptor = receptor_under(network, (0.1, 0.1, 0.3))
    assert receptor is not None
    assert (receptor.guid, receptor.role) == ("F", Role.FIXTURE)
    assert receptor_under(network, None) is None


def test_water_leaves_an_open_pipe_by_its_open_end() -> None:
    found = directed(OPEN.format(level=1.5))
    low = next(i for i, e in enumerate(found.elements) if e.guid == "LOW")
    at = found.places[found.exit_place[low]]
    assert at == pytest.approx((5.4 * M_PER_FT, 0, M_PER_FT))
    assert found.down[low] == -1
