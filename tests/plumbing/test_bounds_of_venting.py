"""Bounds by which traps and vents are told, each from both sides."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import Plumbing, build
from ifclint.plumbing.venting.islands import _falls_again, _loop_m
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.plumbing.venting.vent_groups import _adjacent
from ifclint.testing import read_network


def ft(length_m: float) -> str:
    return repr(length_m / M_PER_FT)


@pytest.mark.parametrize(("level_m", "meets"), [(0.100, Meets.VENT), (0.103, Meets.DROP)])
def test_the_drain_of_a_closet_may_fall_first_and_not_after_running_level(level_m, meets) -> None:
    x = ft(level_m)
    plumbing = build(
        read_network(f"""
water-closet C  0 0 0
pipe 3 A  0 0 0 > {x} 0 0
pipe 3 F  {x} 0 0 > {x} 0 -2
tee 3 T at={x},0,-2.2  {x} 0 -2 > {x} 0 -2.4 > {x} 0.3 -2.2
pipe 2 V system=vent  {x} 0.3 -2.2 > {x} 0.3 12
vent-through-roof R system=vent  {x} 0.3 12
pipe 3 D  {x} 0 -2.4 > 20 0 -3
sewer-connection S  20 0 -3
""")
    )
    (arm,) = plumbing.venting.arms
    assert arm.meets is meets
    if meets is Meets.DROP:
        assert arm.piping.elements[arm.turned_down].guid == "F"


@pytest.mark.parametrize("order", [1, -1])
@pytest.mark.parametrize(("fall_in", "meets"), [(1.4, Meets.VENT), (1.6, Meets.DROP)])
def test_an_arm_turns_down_where_it_falls_by_more_than_its_size(order, fall_in, meets) -> None:
    z = 2 - fall_in / 12
    lines = f"""
pipe 1.5 F1  3 0 2 > 3 0 {(2 + z) / 2!r}
pipe 1.5 F2  3 0 {(2 + z) / 2!r} > 3 0 {z!r}
lavatory L  0 0 3
pipe 1.5 P  0 0 3 > 0 0 2.2
p-trap 1.5 T  0 0 2.2 > 1 0 2
pipe 1.5 A  1 0 2 > 3 0 2
pipe 1.5 B  3 0 {z!r} > 5 0 {z!r}
tee 1.5 X at=5.2,0,{z!r}  5 0 {z!r} > 5.2 0 {z - 0.2!r} > 5.2 0 {z + 0.2!r}
pipe 1.5 V system=vent  5.2 0 {z + 0.2!r} > 5.2 0 12
vent-through-roof R system=vent  5.2 0 12
pipe 1.5 D  5.2 0 {z - 0.2!r} > 5.2 0 -3
sewer-connection S  5.2 0 -3
""".strip().splitlines()
    (arm,) = build(read_network("\n".join(lines[::order]))).venting.arms
    assert arm.meets is meets
    if meets is Meets.DROP:  # the first of two pieces that fall, wherever it stands in the model
        assert arm.piping.elements[arm.turned_down].guid == "F1"
        assert [arm.piping.elements[i].guid for i in arm.path] == ["A"]


@pytest.mark.parametrize(("rise_m", "is_meant"), [(0.299, False), (0.303, True)])
def test_dry_pipe_that_rises_a_foot_may_be_meant_as_a_vent(rise_m: float, is_meant: bool) -> None:
    z = ft(9 * M_PER_FT + rise_m)
    plumbing = build(
        read_network(f"""
lavatory L  0 0 9.5
p-trap 1.5 T  0 0 9.5 > 1 0 9.2
pipe 1.5 A  1 0 9.2 > 4.8 0 9.1
tee 1.5 X at=5,0,9.1  4.8 0 9.1 > 5 0 8.9 > 5.2 0 9
pipe 1.5 N  5.2 0 9 > 5.2 0 {z}
pipe 1.5 E  5 0 8.9 > 5 0 -3
sewer-connection S  5 0 -3
""")
    )
    trees = [t for t in plumbing.venting.trees if not t.is_vent]
    assert [[t.piping.elements[i].guid for i in t.members] for t in trees] == [["N"]] * is_meant


def sinks(
    apart_m: float, first: str = "lavatory", second: str = "lavatory", room: str = ""
) -> Plumbing:
    x = ft(apart_m)
    return build(
        read_network(f"""
{first} A {room}  0 0 3
p-trap 1.5 TA  0 0 3 > 0 1 2.8
pipe 1.5 PA  0 1 2.8 > 0 9 2.7
sewer-connection SA  0 9 2.7
{second} B {room}  {x} 0 3
p-trap 1.5 TB  {x} 0 3 > {x} 1 2.8
pipe 1.5 PB  {x} 1 2.8 > {x} 9 2.7
sewer-connection SB  {x} 9 2.7
""")
    )


@pytest.mark.parametrize(
    ("plumbing", "near"),
    [
        (sinks(2.99), True),
        (sinks(3.01), False),
        (sinks(9.0, room="space=Bath"), True),
        (sinks(1.0, second="kitchen-sink"), False),  # not alike in kind
        (sinks(1.0, "kitchen-sink", "kitchen-sink"), True),
        (sinks(1.0, "floor-drain", "kitchen-sink"), True),
        (sinks(1.0, second="water-closet"), True),
    ],
)
def test_fixtures_near_each_other_and_alike_make_one_battery(plumbing: Plumbing, near) -> None:
    one, other = plumbing.venting.arms
    assert _adjacent(one, other) is near
    assert _adjacent(other, one) is near


ISLAND = """
kitchen-sink K  -2 0 2.4
p-trap 1.5 T  -2 0 2.4 > -1.7 0 1.535
pipe 1.5 A  -1.7 0 1.535 > -0.1 0 1.502
sanitary-tee TEE at=0,0,1.5  -0.1 0 1.502 > 0 0 1.4 > 0 0 1.6
pipe 2 DROP  0 0 1.4 > 0 0 -1.5
pipe 2 D1  0 0 -1.5 > 2 0 -1.54
combination BACK at=2.1,0,-1.542  2 0 -1.54 > 2.2 0 -1.544 > 2.1 0 -1.4
pipe 2 D2  2.2 0 -1.544 > 20 0 -1.92
sewer-connection SEWER  20 0 -1.92
system=vent
pipe 2 UP  0 0 1.6 > 0 0 3
pipe 2 OVER  0 0 3 > 2.1 0 3
tee 2 FOOT at=2.1,0,{z}  2.1 0 3 > 2.1 0 {low} > 2.1 0.2 {z}
pipe 2 RETURN  2.1 0 {low} > 2.1 0 -1.4
pipe 2 RISE  2.1 0.2 {z} > 2.1 0.2 {z2}
pipe 2 ON  2.1 0.2 {z2} > 2.1 9 13
vent-through-roof VTR  2.1 9 13
"""


@pytest.mark.parametrize(("fall_m", "falls"), [(0.150, False), (0.153, True)])
def test_the_vent_of_an_island_falls_again_by_more_than_an_offset(fall_m: float, falls) -> None:
    z = 3 - fall_m / M_PER_FT
    text = ISLAND.format(z=repr(z), low=repr(z - 0.2), z2=repr(z + 0.5))
    found = build(read_network(text)).venting
    joints = {t.piping.elements[j.drain].guid: j for t in found.trees for j in t.joints}
    over, back = joints["TEE"], joints["BACK"]
    assert _falls_again(over.tree.piping, over, back) is falls
    assert _loop_m(over, back) == pytest.approx(_loop_m(back, over))
    (arm,) = found.arms
    assert (arm.method is not None and arm.method.value == "island vent") is falls


def row(kinds: tuple[str, ...]) -> str:
    """Fixtures one after another on a level branch, with a vent past the last."""
    lines = []
    for n, kind in enumerate(kinds):
        x = 4 * n
        lines += [
            f"{kind} F{n}  {x} 6 0",
            f"p-trap 2 T{n}  {x} 6 0 > {x} 5.5 -1",
            f"pipe 2 A{n}  {x} 5.5 -1 > {x} 0.3 -1.1",
            f"wye 4 W{n} at={x},0,-1.2  {x - 0.3} 0 -1.2 > {x + 0.3} 0 -1.2 > {x} 0.3 -1.1"
            if n
            else "bend 4 W0 at=0,0,-1.2  0 0.3 -1.1 > 0.3 0 -1.2",
            f"pipe 4 R{n}  {x + 0.3} 0 -1.2 > {x + 3.7} 0 -1.2",
        ]
    x = 4 * len(kinds)
    return "\n".join(
        [
            *lines,
            f"combination 4 V at={x},0,-1.2  {x - 0.3} 0 -1.2 > {x + 0.3} 0 -1.2 > {x} 0 -0.9",
            f"pipe 2 VENT system=vent  {x} 0 -0.9 > {x} 0 12",
            f"vent-through-roof VTR system=vent  {x} 0 12",
            f"pipe 4 OUT  {x + 0.3} 0 -1.2 > {x + 20} 0 -1.2",
            f"sewer-connection S  {x + 20} 0 -1.2",
        ]
    )


@pytest.mark.parametrize(
    ("kinds", "method"),
    [
        (("lavatory", "lavatory"), "common vent"),  # a pair
        (("lavatory", "lavatory", "lavatory"), "circuit vent"),
        (("water-closet", "lavatory", "bathtub"), "common vent"),  # one bathroom
        (("lavatory", "lavatory", "bathtub"), "common vent"),
        (("water-closet", "water-closet", "lavatory"), "circuit vent"),  # more than one
        (("kitchen-sink", "lavatory", "bathtub"), "circuit vent"),  # none alone
    ],
)
def test_a_row_before_its_vent_is_a_battery_unless_it_is_a_pair_or_one_bathroom(kinds, method):
    (group,) = build(read_network(row(kinds))).venting.groups
    assert (group.method.value, len(group.own)) == (method, len(kinds))
