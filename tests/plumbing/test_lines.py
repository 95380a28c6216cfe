"""Drain lines and the cable: where a line begins, how far along it things lie, what is rodded."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import Plumbing, build
from ifclint.plumbing.cleanouts.drain_lines import DrainLine
from ifclint.plumbing.cleanouts.rodding import Cable, Reach, rod
from ifclint.testing import read_network

DRAIN = """
cleanout 3 CO  0 0 0
pipe 3 X  0 0 0 > 1 0 0
pipe 3 P1  2 0 0 > 12 0 0
wye 3 W at=1.5,0,0  1 0 0 > 2 0 0 > 1.5 -0.5 0
lavatory L  1.5 -6 3
p-trap 1.5 T  1.5 -6 3 > 1.5 -6 2
pipe 1.5 D  1.5 -6 2 > 1.5 -6 0.5
bend 1.5 Q at=1.5,-6,0  1.5 -6 0.5 > 1.5 -5.5 0
pipe 1.5 B  1.5 -5.5 0 > 1.5 -0.5 0
bend 3 E at=12.5,0,0  12 0 0 > 12.5 0.5 0
pipe 3 P2  12.5 0.5 0 > 12.5 20.5 0
sewer-connection S  12.5 20.5 0
"""


def feet(length_m: float | None) -> float | None:
    return None if length_m is None else round(length_m / M_PER_FT, 2)


def line_of(plumbing: Plumbing, guid: str) -> DrainLine:
    return next(line for line in plumbing.lines if any(s.first.guid == guid for s in line.segments))


def index(plumbing: Plumbing, guid: str) -> int:
    return next(i for i, e in enumerate(plumbing.network.elements) if e.guid == guid)


def test_lengths_along_a_line_are_counted_from_its_upper_end() -> None:
    line = line_of(build(read_network(DRAIN)), "P1")
    elements = line.piping.elements
    at_ft = {elements[i].guid: feet(m) for i, m in line.at_m.items()}
    assert at_ft == {"W": 0, "P1": 0.5, "E": 11, "P2": 11.5, "S": 31.5}
    assert feet(line.length_m) == 31.5
    turns = [(elements[i].guid, round(deg), feet(m)) for i, deg, m in line.turns]
    assert turns == [("E", 90, 11)]
    assert (line.height_m, line.size_in, line.joined_m) == (0, 3, [])


def test_a_line_ends_at_the_middle_of_what_it_joins() -> None:
    line = line_of(build(read_network(DRAIN)), "B")
    at_ft = {line.piping.elements[i].guid: feet(m) for i, m in line.at_m.items()}
    assert at_ft == {"Q": 0, "B": 0.5, "W": 6}
    assert feet(line.length_m) == 6
    assert [f.key for f in line.fixtures] == ["L"]
    assert line.size_into_in(index(build(read_network(DRAIN)), "W")) == 1.5


def rodded(text: str = DRAIN, **said: float) -> tuple[Plumbing, Reach]:
    """What a cable does, its lengths told in feet."""
    of = {"length": 50.0, "small": 25.0, "smallest": 1.5, "turns": 360.0} | said
    cable = Cable(of["length"] * M_PER_FT, of["small"] * M_PER_FT, of["smallest"], of["turns"])
    plumbing = build(read_network(text))
    return plumbing, rod(plumbing.venting.piping, plumbing.cleanouts, cable)


def downstream(reach: Reach) -> tuple[float | None, str]:
    (done,) = reach.by_cleanout.values()
    return feet(done.downstream_m), done.stopped_by


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({}, (31.5, "")),
        ({"length": 33.1}, (31.5, "")),
        ({"length": 20}, (18.5, "end of the cable")),  # 1.5 ft are in the cleanout
        ({"turns": 89}, (11.5, "too many turns")),
        ({"turns": 91}, (31.5, "")),
        ({"smallest": 3.5}, (0.5, "pipe too small for the cable")),
        ({"smallest": 3}, (31.5, "")),
    ],
)
def test_how_far_a_cable_gets(said: dict[str, float], expected: tuple[float, str]) -> None:
    assert downstream(rodded(**said)[1]) == expected


@pytest.mark.parametrize(("size", "gets_ft"), [(3, 31.5), (2.9, 23.5), (2.5, 23.5)])
def test_a_cleanout_below_3_in_takes_the_smaller_cable(size: float, gets_ft: float) -> None:
    text = DRAIN.replace("cleanout 3 CO", f"cleanout {size} CO")
    assert downstream(rodded(text)[1])[0] == gets_ft


def test_the_part_of_a_pipe_that_no_cable_reaches() -> None:
    plumbing, reach = rodded(length=20.0)
    pipe, whole = index(plumbing, "P2"), index(plumbing, "P1")
    assert feet(reach.unreached_m(pipe)) == 13
    part = reach.unreached_part(pipe)
    assert part is not None
    assert part[0] == pytest.approx((12.5 * M_PER_FT, 7.5 * M_PER_FT, 0))
    assert part[1] == pytest.approx((12.5 * M_PER_FT, 20.5 * M_PER_FT, 0))
    assert (reach.unreached_m(whole), reach.unreached_part(whole)) == (0, None)


@pytest.mark.parametrize(("left_m", "counts"), [(0.0208, False), (0.0213, True)])
def test_a_remainder_of_two_centimetres_is_none(left_m: float, counts: bool) -> None:
    plumbing, reach = rodded(length=33.0 - left_m / M_PER_FT)
    assert (reach.unreached_m(index(plumbing, "P2")) > 0) is counts


UPSTREAM = DRAIN.replace("cleanout 3 CO  0 0 0\npipe 3 X  0 0 0 > 1 0 0\n", "").replace(
    "wye 3 W at=1.5,0,0  1 0 0 > 2 0 0 > 1.5 -0.5 0", "bend 3 W at=1.5,0,0  2 0 0 > 1.5 -0.5 0"
).replace(
    "pipe 3 P2  12.5 0.5 0 > 12.5 20.5 0",
    "cleanout-tee 3 K at=12.5,1,0  12.5 0.5 0 > 12.5 1.5 0 > 12.5 1 1\n"
    "two-way 3 CO  12.5 1 1\npipe 3 P2  12.5 1.5 0 > 12.5 20.5 0",
)  # fmt: skip


def test_a_two_way_cleanout_is_rodded_against_the_flow_too() -> None:
    def upstream(**said: float) -> float | None:
        (done,) = rodded(UPSTREAM, **said)[1].by_cleanout.values()
        return feet(done.upstream_m)

    assert upstream(smallest=2) == 12  # E, P1 and W, to the 1.5 in pipe
    assert upstream() == 19.5  # B, Q, D, as far as the trap
    assert upstream(length=11) == 10  # 1 ft is in the cleanout
    assert upstream(turns=269) == 17  # down at a right angle, then 45 degrees at each end of a bend
    assert upstream(turns=91) == 1
    assert upstream(turns=89) == 0


MEETING = """
lavatory A  -10 5 3
pipe 2 DA  -10 5 3 > -10 5 0
pipe 2 LONG  -10 5 0 > -0.5 0.5 0
lavatory B  -5 -2.5 3
pipe 2 DB  -5 -2.5 3 > -5 -2.5 0
pipe 2 SHORT  -5 -2.5 0 > -0.5 -0.5 0
wye 2 Y at=0,0,0  -0.5 0.5 0 > -0.5 -0.5 0 > 0.5 0 0
pipe 2 MAIN  0.5 0 0 > 20 0 0
sewer-connection S  20 0 0
"""


@pytest.mark.parametrize("order", [1, -1])
@pytest.mark.parametrize(
    ("old", "new", "goes_on"),
    [
        ("", "", "LONG"),  # of equal ones the longest
        ("pipe 2 LONG", "pipe 1.5 LONG", "SHORT"),  # the largest
        ("pipe 2 SHORT", "pipe 2.5 SHORT", "LONG"),  # none is larger than what they flow into
        ("pipe 2 LONG", "pipe LONG", "SHORT"),  # its size is not known
        (
            "lavatory B  -5 -2.5 3",
            "lavatory B  -5 -2.5 3\nlavatory C  -5 -2.5 3",
            "SHORT",
        ),  # the busiest
    ],
)
def test_of_drains_that_meet_a_line_goes_on_in_one(order, old, new, goes_on) -> None:
    lines = MEETING.replace(old, new).strip().splitlines() if old else MEETING.strip().splitlines()
    plumbing = build(read_network("\n".join(lines[::order])))
    line = line_of(plumbing, "MAIN")
    assert [s.first.guid for s in line.segments] == [goes_on, "MAIN"]


def test_a_cable_against_the_flow_takes_the_straightest_drain() -> None:
    text = """
lavatory A  -20 0 3
pipe 2 DA  -20 0 3 > -20 0 0
pipe 2 AHEAD  -20 0 0 > -0.5 0 0
lavatory B  0 -10 3
pipe 2 DB  0 -10 3 > 0 -10 0
pipe 2 ASIDE  0 -10 0 > 0 -0.5 0
wye 2 Y at=0,0,0  -0.5 0 0 > 0.5 0 0 > 0 -0.5 0
pipe 2 MAIN  0.5 0 0 > 10 0 0
cleanout-tee 2 K at=10.5,0,0  10 0 0 > 11 0 0 > 10.5 0 1
two-way 2 CO  10.5 0 1
pipe 2 OUT  11 0 0 > 30 0 0
sewer-connection S  30 0 0
"""
    for lines in (text.strip().splitlines(), text.strip().splitlines()[::-1]):
        plumbing, reach = rodded("\n".join(lines), small=26.0)
        assert reach.unreached_m(index(plumbing, "AHEAD")) > 0
        assert feet(reach.from_below_m[index(plumbing, "AHEAD")]) == 15
        assert index(plumbing, "ASIDE") not in reach.from_below_m


@pytest.mark.parametrize(
    ("path", "begins"),
    [
        ("pipe 3 X  0 0 0 > 1 0 0\ncleanout 3 CO  0 0 0", "P1"),  # level, and larger
        ("pipe 1.25 X  0 0 0 > 1 0 0\ncleanout 1.25 CO  0 0 0", "B"),
    ],
)
def test_a_line_begins_where_a_level_path_to_a_cleanout_comes_in(path: str, begins: str) -> None:
    old = "cleanout 3 CO  0 0 0\npipe 3 X  0 0 0 > 1 0 0"
    assert old in DRAIN
    line = line_of(build(read_network(DRAIN.replace(old, path))), "P1")
    assert line.segments[0].first.guid == begins


def test_a_segment_is_found_at_its_first_pipe() -> None:
    text = DRAIN.replace(
        "pipe 3 P1  2 0 0 > 12 0 0", "pipe 3 P1  2 0 0 > 4 0 0\npipe 3 P1B  4 0 0 > 12 0 0"
    )
    segment = next(s for s in build(read_network(text)).segments if s.first.guid == "P1")
    assert [p.element.guid for p in segment.pipes] == ["P1", "P1B", "P2"]
    assert segment.point == pytest.approx((3 * M_PER_FT, 0, 0))
