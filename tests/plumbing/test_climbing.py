"""What water does where pipe climbs: how far it goes rather than up, and where it is stranded."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import Part, Plumbing, build
from ifclint.testing import read_network


def outlet_of(plumbing: Plumbing) -> str:
    (fixture,) = plumbing.fixtures
    assert fixture.outlet is not None
    return plumbing.network.elements[fixture.outlet.element].guid


@pytest.mark.parametrize(("climb_m", "reaches"), [(0.299, True), (0.301, False)])
def test_a_drain_may_climb_a_foot_and_no_more(climb_m: float, reaches: bool) -> None:
    z = climb_m / M_PER_FT
    plumbing = build(
        read_network(f"""
lavatory L  0 0 3
pipe 2 D  0 0 3 > 0 0 0
pipe 2 P  0 0 0 > 9 0 {z!r}
sewer-connection S  9 0 {z!r}
""")
    )
    (fixture,) = plumbing.fixtures
    assert fixture.outlet is not None
    assert fixture.outlet.accepted is reaches


@pytest.mark.parametrize(("level_m", "outlet"), [(98.0, "LEVEL"), (104.0, "UP")])
def test_water_goes_a_kilometre_rather_than_a_metre_up(level_m: float, outlet: str) -> None:
    x, z = level_m / M_PER_FT, 0.1 / M_PER_FT
    assert outlet_of(build(read_network(f"""
lavatory L  0 0 3
pipe 2 D  0 0 3 > 0 0 0
pipe 2 A  0 0 0 > {x!r} 0 0
sewer-connection LEVEL  {x!r} 0 0
pipe 2 B  0 0 0 > 0 3 {z!r}
sewer-connection UP  0 3 {z!r}
"""))) == outlet  # fmt: skip


@pytest.mark.parametrize(("rise_m", "reaches"), [(0.0039, True), (0.0041, False)])
def test_no_drain_climbs_in_a_vent(rise_m: float, reaches: bool) -> None:
    z = rise_m / M_PER_FT
    plumbing = build(
        read_network(f"""
lavatory L  0 0 3
pipe 2 D  0 0 3 > 0 0 0
pipe 2 P system=vent  0 0 0 > 9 0 {z!r}
sewer-connection S  9 0 {z!r}
""")
    )
    (fixture,) = plumbing.fixtures
    assert fixture.outlet is not None
    assert fixture.outlet.accepted is reaches


@pytest.mark.parametrize(("fall", "is_known"), [(0.98e-4, False), (1.02e-4, True)])
def test_where_no_drain_falls_slope_was_not_drawn(fall: float, is_known: bool) -> None:
    plumbing = build(
        read_network(f"""
lavatory L  0 0 3
pipe 2 D  0 0 3 > 0 0 0
pipe 2 P  0 0 0 > 90 0 0
pipe 2 Q  90 0 0 > 180 0 {-90 * fall!r}
sewer-connection S  180 0 {-90 * fall!r}
""")
    )
    level = [s for s in plumbing.segments if not s.vertical]
    assert [s.slope is not None for s in level] == [is_known] * len(level)
    upright = [s for s in plumbing.segments if s.vertical]
    assert [s.slope is not None for s in upright] == [True]


@pytest.mark.parametrize(("level_ft", "is_known"), [(89.9, True), (90.1, False)])
def test_where_a_tenth_of_the_drains_falls_slope_was_drawn(level_ft: float, is_known: bool) -> None:
    level, falling = level_ft, 100 - level_ft
    plumbing = build(
        read_network(f"""
lavatory L  0 0 3
pipe 2 D  0 0 3 > 0 0 0
pipe 2 P  0 0 0 > {level!r} 0 0
pipe 3 Q  {level!r} 0 0 > 100 0 {-falling / 1000!r}
sewer-connection S  100 0 {-falling / 1000!r}
""")
    )
    slope = {s.first.guid: s.slope for s in plumbing.segments}
    assert (slope["P"] is not None) is is_known
    assert slope["Q"] == pytest.approx(0.001)  # what falls falls as drawn


def test_a_joint_across_a_gap_bends_no_pipe() -> None:
    network = read_network("""
lavatory L  0 0 0
pipe 2 P  0 0 0 > 1 0 -0.02
pipe 2 Q  1 0 -0.02 > 2 0 -0.04
sewer-connection S  2 0 -0.04
""")
    q = next(e for e in network.elements if e.guid == "Q")
    x, y, z = q.ends[0].position or (0.0, 0.0, 0.0)
    q.ends[0].position = (x + 0.02, y, z - 0.02 * 0.02)  # along its axis, 20 mm off
    pipes = [pipe for s in build(network).segments for pipe in s.pipes]
    assert {p.element.guid: p.slope for p in pipes} == {
        "P": pytest.approx(0.02), "Q": pytest.approx(0.02),
    }  # fmt: skip
    assert [p.fall_m for p in pipes if p.element is q] == [pytest.approx(0.02 * (0.3048 - 0.02))]


def test_upright_pipe_alone_tells_nothing_of_slopes() -> None:
    plumbing = build(read_network("lavatory L  0 0 3\npipe 2 D  0 0 3 > 0 0 0\npipe 2 E  1 0 3"))
    assert [s.slope is not None for s in plumbing.segments if s.first.guid == "D"] == [True]


@pytest.mark.parametrize("pieces", [1, 9])
@pytest.mark.parametrize(("kind", "is_shared"), [("p-trap", True), ("running-trap", False)])
def test_two_bowls_that_meet_above_a_trap_share_it_in_however_many_pieces_its_pipe_is_drawn(
    pieces: int, kind: str, is_shared: bool
) -> None:
    tops = [2 - n * 0.1 for n in range(pieces + 1)]
    down = "".join(
        f"pipe 1.5 D{n}  0 0 {z!r} > 0 0 {tops[n + 1]!r}\n" for n, z in enumerate(tops[:-1])
    )
    plumbing = build(
        read_network(f"""
kitchen-sink A  0 0 3
pipe 1.5 TA  0 0 3 > 0 0 2.2
tee 1.5 M  0 0 2.2 > 0 0 2 > -1 0 2
kitchen-sink B  -1 0 3
pipe 1.5 TB  -1 0 3 > -1 0 2
{down}
{kind} 1.5 T  0 0 {tops[-1]!r} > 0.5 0 0.8
pipe 1.5 P  0.5 0 0.8 > 5 0 0.7
sewer-connection S  5 0 0.7
""")
    )
    traps = [f.trap.element.guid if f.trap and f.trap.element else None for f in plumbing.fixtures]
    assert traps == (["T", "T"] if is_shared else [None, None])
    parts = {s.first.guid: s.part for s in plumbing.segments}
    assert (parts["TA"] is Part.TAILPIECE) is is_shared


@pytest.mark.parametrize("pieces", [1, 12])
@pytest.mark.parametrize(("kind", "is_unknown"), [("p-trap", False), ("running-trap", True)])
def test_an_open_tailpiece_belongs_to_the_trap_below_it(
    pieces: int, kind: str, is_unknown: bool
) -> None:
    tops = [2 - n * 0.05 for n in range(pieces + 1)]
    down = "".join(
        f"pipe 1.5 D{n}  5 5 {z!r} > 5 5 {tops[n + 1]!r}\n" for n, z in enumerate(tops[:-1])
    )
    plumbing = build(
        read_network(f"""
lavatory L  0 0 3
p-trap 1.5 TL  0 0 3 > 0.5 0 2.6
pipe 1.5 A  0.5 0 2.6 > 4.8 0 0
{down}
{kind} 1.5 T  5 5 {tops[-1]!r} > 5 4.5 1
pipe 1.5 B  5 4.5 1 > 5 0.2 0
wye 2 W at=5,0,0  4.8 0 0 > 5 0.2 0 > 5.2 0 0
pipe 2 M  5.2 0 0 > 20 0 -1
sewer-connection S  20 0 -1
""")
    )
    assert bool(plumbing.unknown_inflows) is is_unknown
