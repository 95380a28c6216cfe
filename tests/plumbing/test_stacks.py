"""Stacks, their branch intervals and offsets, and the building drain below them."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Storey, Surface
from ifclint.plumbing import Plumbing, build
from ifclint.plumbing.drainage.stacks import Stack
from ifclint.plumbing.footprint import Footprint
from ifclint.testing import read_network
from tests.packs.test_moved import moved, raised

TALL = """
lavatory A  -5 0 33
p-trap 1.5 TA  -5 0 33 > -4.5 0 32.2
pipe 1.5 BA  -4.5 0 32.2 > -0.3 0 32
sanitary-tee 3 X1 at=0,0,31.9  -0.3 0 32 > 0 0 31.5 > 0 0 32.3
pipe 3 V system=vent  0 0 32.3 > 0 0 50
vent-through-roof R system=vent  0 0 50
pipe 3 S1  0 0 31.5 > 0 0 25
lavatory B  -5 0 26
p-trap 1.5 TB  -5 0 26 > -4.5 0 25.2
pipe 1.5 BB  -4.5 0 25.2 > -0.3 0 25
sanitary-tee 3 X2 at=0,0,24.8  -0.3 0 25 > 0 0 24.5 > 0 0 25
pipe 3 S2  0 0 24.5 > 0 0 15
lavatory C  -5 0 16
p-trap 1.5 TC  -5 0 16 > -4.5 0 15.2
pipe 1.5 BC  -4.5 0 15.2 > -0.3 0 15
sanitary-tee 3 X3 at=0,0,14.8  -0.3 0 15 > 0 0 14.5 > 0 0 15
pipe 3 S3  0 0 14.5 > 0 0 10
bend 3 E1 at=0,0,9.8  0 0 10 > 0.2 0 9.8
pipe 3 OFF  0.2 0 9.8 > 9.8 0 9.6
bend 3 E2 at=10,0,9.6  9.8 0 9.6 > 10 0 9.4
pipe 3 S4  10 0 9.4 > 10 0 0.5
bend 3 E3 at=10,0,0.3  10 0 0.5 > 10.2 0 0.3
pipe 3 BD  10.2 0 0.3 > 50 0 -0.5
sewer-connection SEWER  50 0 -0.5
"""


def feet(length_m: float | None) -> float | None:
    return None if length_m is None else round(length_m / M_PER_FT, 2)


def stack(plumbing: Plumbing, base: str) -> Stack:
    return next(s for s in plumbing.stacks if s.base.first.guid == base)


@pytest.mark.parametrize("order", [1, -1])
def test_a_stack_is_divided_into_intervals_of_a_storey_height(order: int) -> None:
    plumbing = build(read_network("\n".join(TALL.strip().splitlines()[::order])))
    upper, lower = stack(plumbing, "S3"), stack(plumbing, "S4")
    assert [s.first.guid for s in upper.segments] == ["S1", "S2", "S3"]
    assert (feet(upper.height_m), feet(lower.height_m)) == (21.5, 8.9)
    intervals = [
        (i.number, feet(i.top_m), [b.first.guid for b in i.branches]) for i in upper.intervals
    ]
    assert intervals == [(1, 31.9, ["BA", "BB"]), (2, 14.8, ["BC"])]
    assert (upper.interval_count, lower.interval_count) == (2, 2)  # counted through the offset
    assert lower.upper == [upper]
    elements = plumbing.network.elements
    assert [elements[s.foot].guid for s in (upper, lower)] == ["E1", "E3"]


@pytest.mark.parametrize(("drop_ft", "intervals"), [(7.97, 1), (8.01, 2)])
def test_a_branch_a_storey_lower_begins_another_interval(drop_ft: float, intervals: int) -> None:
    z = 31.9 - drop_ft
    lower = TALL.replace("at=0,0,24.8", f"at=0,0,{z!r}").replace(
        "> 0 0 24.5 > 0 0 25", f"> 0 0 {z - 0.2!r} > 0 0 25"
    )
    lower = lower.replace("pipe 3 S2  0 0 24.5", f"pipe 3 S2  0 0 {z - 0.2!r}")
    found = stack(build(read_network(lower)), "S3").intervals
    assert len([i for i in found if {b.first.guid for b in i.branches} & {"BA", "BB"}]) == intervals


@pytest.mark.parametrize(("top_ft", "is_stack"), [(8.48, False), (8.52, True)])
def test_a_vertical_a_storey_high_is_a_stack(top_ft: float, is_stack: bool) -> None:
    text = TALL.replace(
        "at=10,0,9.6  9.8 0 9.6 > 10 0 9.4", f"at=10,0,9.6  9.8 0 9.6 > 10 0 {top_ft}"
    )
    plumbing = build(read_network(text.replace("S4  10 0 9.4", f"S4  10 0 {top_ft}")))
    assert any(s.base.first.guid == "S4" for s in plumbing.stacks) is is_stack


def test_a_drop_below_the_lowest_floor_is_no_stack() -> None:
    def stacks(floor_ft: float) -> list[str]:
        storeys = (Storey("Ground", floor_ft * M_PER_FT),)
        return [s.base.first.guid for s in build(read_network(TALL, storeys)).stacks]

    assert stacks(9.3) == ["S4", "S3"]
    assert stacks(9.5) == ["S3"]


def test_the_building_drain_is_followed_from_the_busiest_branch() -> None:
    (drain,) = build(read_network(TALL)).building_drains
    names = [drain.piping.elements[i].guid for i in drain.path]
    assert names[-4:] == ["S4", "E3", "BD", "SEWER"]
    assert names[:3] == ["A", "TA", "BA"]
    at = dict(zip(names, drain.path, strict=True))
    assert feet(drain.above_outlet_m(at["E3"])) == 40.01
    assert feet(drain.above_outlet_m(at["E2"])) == 49.31
    middle = (30.1 * M_PER_FT, 0.0, -0.1 * M_PER_FT)
    assert feet(drain.above_outlet_m(at["BD"], middle)) == 19.9


@pytest.mark.parametrize(("edge_ft", "above_ft"), [(20.2, 29.81), (45.2, 4.8), (60.0, None)])
def test_where_the_building_drain_leaves_the_building(edge_ft: float, above_ft) -> None:
    slab = Surface("s", "slab", "", (-6.0, -6.0, -0.2), (edge_ft * M_PER_FT, 6.0, 0.0))
    (drain,) = build(read_network(TALL)).building_drains
    assert feet(drain.crossing_m(Footprint([], [slab], []))) == above_ft


LOW_CELLAR = """
storey Cellar -7.5
storey Ground 0
room C storey=Cellar -5 -5 -7.5 > 30 20 -0.5
room G storey=Ground -5 -5 0 > 30 20 8
lavatory A  -4 0 2
p-trap 1.5 TA  -4 0 2 > -3.5 0 1
pipe 1.5 V  -3.5 0 1 > -3.5 0 -0.7
pipe 3 H  -3.5 0 -0.7 > 0 0 {top}
pipe 3 S  0 0 {top} > 0 0 {foot}
pipe 3 D  0 0 {foot} > 50 0 -9.5
sewer-connection SEWER  50 0 -9.5
"""


@pytest.mark.parametrize(
    ("top", "foot", "bases"),
    [
        (-0.8, -7.6, ["S"]),  # 6.8 ft, from below the floor to below that of the cellar
        (-0.8, -7.4, []),  # it hangs in the cellar
        (-1.6, -7.6, ["S"]),
        (-1.7, -7.6, []),  # it begins more than 0.5 m below the floor
    ],
)
def test_a_drain_through_a_low_storey_is_a_stack(top: float, foot: float, bases: list[str]) -> None:
    low = LOW_CELLAR.format(top=top, foot=foot)
    for drawn in (low, moved(low, raised)):  # at the sea, and a mile above it
        assert [s.base.first.guid for s in build(read_network(drawn)).stacks] == bases
