"""How traps are followed to their vents, vents to the open air, and drains to their cleanouts."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from ifclint.engineering.units import M_PER_FT
from ifclint.plumbing import Plumbing, build
from ifclint.plumbing.cleanouts.rodding import Cable, rod
from ifclint.plumbing.venting.trap_arms import Meets
from ifclint.testing import read_network
from tests.effort import calls

PACKS = Path(__file__).parents[1] / "packs"


def drawn(file: str, name: str, *changes: tuple[str, str]) -> Plumbing:
    """A network of the cases of the packs, with changes."""
    text = tomllib.loads((PACKS / file).read_text(encoding="utf-8"))["networks"][name]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return build(read_network(text))


@pytest.mark.parametrize(
    ("thing", "arms"),
    [("fixture F", 0), ("fixture F integral_trap=yes", 1), ("sink F", 1), ("floor-drain F", 1)],
)
def test_no_arm_begins_at_what_shows_neither_kind_nor_trap(thing: str, arms: int) -> None:
    """It may be a cleanout; with a trap drawn it has an arm, whatever it is."""
    rest = "pipe 2 P2  {} 0 -0.02 > 10 0 -0.2\nsewer-connection S  10 0 -0.2\n"
    straight = f"{thing}  0 0 0\npipe 2 P1  0 0 0 > 1 0 -0.02\n{rest.format(1)}"
    assert len(build(read_network(straight)).venting.arms) == arms
    trapped = f"{thing}  0 0 0\np-trap 2 T  0 0 0 > 1 0 -0.02\n{rest.format(1)}"
    assert len(build(read_network(trapped)).venting.arms) == 1


@pytest.mark.parametrize(
    ("network", "expected"),
    [
        ("back_to_back", {"A": "common vent", "B": "common vent"}),
        ("two_levels", {"A": "common vent", "B": "common vent"}),
        ("bathroom", dict.fromkeys("ABC", "horizontal wet vent")),
        ("circuit", dict.fromkeys(("C1", "C2", "C3"), "circuit vent")),
        ("waste_stack", {"A": "waste stack vent", "B": "waste stack vent"}),
        ("island", {"K": "island vent"}),
    ],
)
def test_the_method_of_every_trap(network: str, expected: dict[str, str]) -> None:
    arms = drawn("venting/methods.toml", network).venting.arms
    assert {a.fixture.key: a.method.value for a in arms if a.method} == expected


@pytest.mark.parametrize(
    ("network", "named"),
    [("bathroom", 'horizontal wet vent "DROP"'), ("circuit", 'circuit vent "R2"')],
)
def test_a_vent_that_drains_is_named_by_its_wet_pipe(network: str, named: str) -> None:
    groups = drawn("venting/methods.toml", network).venting.groups
    assert named in [group.label for group in groups]


def test_a_valve_alone_is_told() -> None:
    (arm,) = drawn("venting/terminals.toml", "valve").venting.arms
    assert arm.method is not None
    assert arm.method.value == "air admittance valve"


def test_the_arm_is_measured_along_pipe_and_fittings() -> None:
    """6 in, an elbow, 1 ft, an elbow, 2 ft: 4.7 ft level, 0.072 ft of fall."""
    (arm,) = drawn("venting/arms.toml", "bent").venting.arms
    assert arm.meets is Meets.VENT
    assert arm.length_m is not None
    assert arm.length_m / M_PER_FT == pytest.approx(0.7 + 1.0 + 2.0, abs=0.01)
    assert arm.fall_m is not None
    assert arm.fall_m / M_PER_FT == pytest.approx(1.5 - 1.428)
    assert arm.turns_deg == pytest.approx(180, abs=1)


def test_an_arm_that_turns_down_ends_there() -> None:
    arms = drawn("venting/arms.toml", "turned_down").venting.arms
    arm = next(a for a in arms if a.fixture.key == "B")
    elements = arm.piping.elements
    assert arm.meets is Meets.DROP
    assert elements[arm.turned_down].name == "FALL"
    assert [elements[i].name for i in arm.path] == ["ARM", "Q"]


def test_the_way_to_the_open_air() -> None:
    """From 1.5 ft up to 4, 10 ft over, from 4.2 up to 13, from centre to centre."""
    plumbing = drawn("venting/pipes.toml", "lavatory")
    (tree,) = plumbing.venting.trees
    (joint,) = tree.joints
    names = [plumbing.network.elements[i].name for i in tree.path_out(joint)]
    assert names == ["VENT", "BEND", "LEVEL", "BEND2", "UP", "VTR"]
    assert joint.to_air_m is not None
    assert joint.to_air_m / M_PER_FT == pytest.approx(2.5 + 10.002 + 8.8, abs=0.001)


def test_what_a_cable_reaches() -> None:
    """From the cleanout 2 ft below the head, 50 ft less the way in: the rest stays unreached."""
    plumbing = drawn("cleanouts/rodding.toml", "drain")
    piping = plumbing.venting.piping
    reach = rod(piping, plumbing.cleanouts, Cable(50 * M_PER_FT, 50 * M_PER_FT, 1.5, 360))
    (cleanout,) = plumbing.cleanouts
    done = reach.by_cleanout[cleanout]
    assert done.downstream_m == pytest.approx(50 * M_PER_FT - cleanout.to_entry_m, abs=0.01)
    assert done.upstream_m == 0.0  # a wye leads the cable with the flow alone
    assert done.stopped_by == "end of the cable"
    by_name = {piping.elements[i].name: reach.unreached_m(i) / M_PER_FT for i in range(13)}
    assert by_name["L1"] == pytest.approx(1.8, abs=0.01)
    assert by_name["L2"] == pytest.approx(77.9 - 48.3, abs=0.3)


def test_a_cable_does_not_pass_what_is_too_small_or_too_crooked() -> None:
    plumbing = drawn("cleanouts/rodding.toml", "drain")
    piping = plumbing.venting.piping
    (cleanout,) = plumbing.cleanouts
    wide = rod(piping, [cleanout], Cable(30, 30, 4, 360)).by_cleanout[cleanout]
    assert (wide.downstream_m, wide.stopped_by) != (0.0, "")
    assert wide.stopped_by == "pipe too small for the cable"
    stiff = rod(piping, [cleanout], Cable(30, 30, 1.5, 0)).by_cleanout[cleanout]
    assert stiff.stopped_by == "too many turns"


def test_a_line_ends_where_a_larger_one_takes_it() -> None:
    plumbing = drawn("cleanouts/where.toml", "long")
    (line,) = plumbing.lines
    assert line.length_m is not None
    assert line.length_m / M_PER_FT == pytest.approx(80 + 15, abs=0.1)
    assert [round(degrees) for _, degrees, _ in line.turns] == [90]


def row(count: int) -> str:
    """So many vented lavatories along one drain."""
    lines = [f"pipe 4 OUT 0 0 -1 > -5 0 {-1 - 5 / 48}", f"sewer-connection S -5 0 {-1 - 5 / 48}"]
    for n in range(count):
        x, z = 10.0 * n, -1 + 10 * n / 48
        far = f"{x + 10} 0 {z + 10 / 48}"
        lines += [
            f"lavatory F{n} {x} 3 {z + 4}",
            f"p-trap 1.25 T{n} {x} 3 {z + 4} > {x} 2.5 {z + 3.05}",
            f"pipe 1.25 A{n} {x} 2.5 {z + 3.05} > {x} 1 {z + 3.02}",
            f"sanitary-tee E{n} at={x},0.9,{z + 3} {x} 1 {z + 3.02} > {x} 0.9 {z + 2.9} > "
            f"{x} 0.9 {z + 3.1}",
            f"pipe 2 D{n} {x} 0.9 {z + 2.9} > {x} 0 {z}",
            f"pipe 2 V{n} system=vent {x} 0.9 {z + 3.1} > {x} 0.9 {z + 20}",
            f"vent-through-roof R{n} system=vent {x} 0.9 {z + 20}",
            f"pipe 4 M{n} {far} > {x} 0 {z}",
        ]
    return "\n".join(lines)


def calls_of_row(count: int) -> int:
    plumbing = build(read_network(row(count)))

    def work() -> None:
        assert len(plumbing.venting.groups) == count
        assert plumbing.lines is not None
        assert plumbing.cleanouts == []

    return calls(work)


def test_work_grows_with_the_model_and_not_faster() -> None:
    calls_of_row(50)
    assert calls_of_row(600) < 4 * calls_of_row(150) * 1.5


CLOSET = """
pipe 4 OUT  0 0 -1 > -10 0 -1.2083
pipe 4 OUT2  -10 0 -1.2083 > -20 0 -1.4167
water-closet C  -10 3 -1.15
pipe 3 CP  -10 3 -1.15 > -10 0 -1.2083
"""


@pytest.mark.parametrize(("vented", "breathes"), [(3, True), (4, True), (5, False)])
def test_a_drain_of_many_vented_fixtures_is_no_vent_for_one_without(
    vented: int, breathes: bool
) -> None:
    venting = build(read_network(row(vented) + CLOSET)).venting
    (arm,) = [arm for arm in venting.arms if arm.fixture.kind == "water-closet"]
    assert (arm.method is not None) is breathes
    assert any(arm in group.wet for group in venting.groups) is breathes
