"""Along the piping: developed lengths, changes of direction, and what counts as straight."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Element, Point
from ifclint.plumbing import build
from ifclint.plumbing.drainage.piping import Piping, length_of, level_turns_deg
from ifclint.plumbing.drainage.segments import Pipe, midpoint
from ifclint.testing import read_network


def turned(deg: float, length: float = 1.0, fall: float = 0.0) -> Point:
    return (1.0 + length * cos(radians(deg)), length * sin(radians(deg)), -fall)


START: list[Point | None] = [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)]


@pytest.mark.parametrize(
    ("beyond", "turns"),
    [
        ([turned(9.4)], []),  # 10 degrees, and half a degree of drawing
        ([turned(9.6)], [9.6]),
        ([turned(-45)], [45]),
        ([turned(90), (1.0, 3.0, 0.0), (9.0, 3.0, 0.0)], [90, 90]),
        ([turned(90, fall=0.9)], [90]),
        ([turned(90, fall=1.1)], []),  # it falls more than it runs
        ([(1.0, 0.0, -3.0), (1.0, 9.0, -3.0)], []),  # past a vertical stretch it starts anew
        ([(1.0, 0.0049, 0.0), (9.0, 0.0049, 0.0)], []),  # ends that hardly miss each other
        ([(1.0, 0.0051, 0.0), (9.0, 0.0051, 0.0)], [90, 90]),
        ([(1.0, 0.005, 0.0), (9.0, 0.005, 0.0)], [90, 90]),
        ([(1.0, 0.0, -0.0049), (1.0, 9.0, -0.0049)], [90]),
        ([(1.0, 0.0, -0.0051), (1.0, 9.0, -0.0051)], []),
        ([None, turned(90)], [90]),
        ([(1.0, 0.0, 0.0), turned(90)], [90]),
    ],
)
def test_level_changes_of_direction(beyond: list[Point | None], turns: list[float]) -> None:
    assert level_turns_deg([*START, *beyond]) == pytest.approx(turns)


def test_a_developed_length_is_known_where_every_point_is() -> None:
    assert length_of([(0, 0, 0), (3, 4, 0), (3, 4, 2)]) == 7
    assert length_of([(0, 0, 0), None, (3, 4, 2)]) is None
    assert length_of([(0, 0, 0), None]) is None
    assert length_of([]) is None
    assert length_of([(1, 1, 1)]) == 0


DRAIN = """
lavatory L  0 0 0
p-trap 2 T  0 0 0 > 1 0 0
pipe 2 P1  1 0 0 > 5 0 -0.1
bend 2 B  5 0 -0.1 > 6 1 -0.1
pipe 2 P2  6 1 -0.1 > 6 9 -0.3
pipe 2 P3  6 9 -0.3 > 6 9 -5
sewer-connection S  6 9 -5
"""


def piping(text: str = DRAIN) -> Piping:
    return build(read_network(text)).venting.piping


def index(found: Piping, guid: str) -> int:
    return next(i for i, e in enumerate(found.elements) if e.guid == guid)


def test_developed_lengths_along_the_drain() -> None:
    found = piping()

    def feet(start: str, stop: str) -> float | None:
        length_m = found.developed_m(index(found, start), index(found, stop))
        return None if length_m is None else round(length_m / M_PER_FT, 2)

    assert feet("P1", "P1") == 0
    assert feet("P1", "B") == 5.0  # from its upper end to the corner that the pipes make
    assert feet("B", "P2") == 1.0
    assert feet("P1", "P3") == 14.0
    assert feet("P3", "P1") is None  # against the flow


def test_how_steep_a_pipe_is() -> None:
    found = piping(DRAIN + "pipe 2 LOOSE  50 0 0\npipe 2 UP  60 0 0 > 60 2 2.01")
    assert found.rise_deg(index(found, "P3")) == pytest.approx(90)
    assert found.rise_deg(index(found, "P2")) == pytest.approx(1.43, abs=0.01)
    assert found.rise_deg(index(found, "LOOSE")) is None
    assert found.is_vertical(index(found, "UP"))
    assert not found.is_horizontal(index(found, "UP"))
    assert not found.is_vertical(index(found, "T"))
    assert not found.is_horizontal(index(found, "LOOSE"))


@pytest.mark.parametrize(
    ("deg", "change"),
    [(9.4, ""), (9.6, "horizontal-to-horizontal"), (90, "horizontal-to-horizontal")],
)
def test_a_change_of_direction_is_one_from_10_degrees(deg: float, change: str) -> None:
    x, y, _ = turned(deg, 9.0)
    text = f"""
lavatory L  0 0 0
p-trap 2 T  0 0 0 > 0.2 0 0
pipe 2 P1  0.2 0 0 > 1 0 0
pipe 2 P2  1 0 0 > {x!r} {y!r} 0
sewer-connection S  {x!r} {y!r} 0
"""
    changes = build(read_network(text)).changes_of_direction
    drawn = [i.change for c in changes if c.element.guid == "P2" for i in c.inflows]
    assert drawn == ([change] if change else [])


@pytest.mark.parametrize(
    ("up", "down", "middle"),
    [((0, 0, 0), (2, 4, 6), (1, 2, 3)), ((1, 2, 3), None, (1, 2, 3)), (None, (1, 2, 3), (1, 2, 3)),
     (None, None, None)],
)  # fmt: skip
def test_the_middle_of_a_pipe_as_far_as_its_ends_are_known(up, down, middle) -> None:
    pipe = Pipe(Element("P"), up, down, None, None, None, None)
    assert midpoint(pipe) == middle
