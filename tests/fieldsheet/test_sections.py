"""Sections to plug and fill: where they are cut, what they hold, how high the water stands."""

from __future__ import annotations

import csv
import itertools
from collections.abc import Sequence
from math import inf
from pathlib import Path

import fluids
import numpy as np
import pytest

import ifclint.engineering as engineering
from ifclint import codes
from ifclint.engineering.contents import pipe_contents_m3
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.fieldsheet.pressure import GAS, WATER, pressure_sections
from ifclint.fieldsheet.procedures import procedures
from ifclint.fieldsheet.sections import TALLEST_COLUMN_M, joined, sections
from ifclint.fieldsheet.sheet import PipingSection, Stage
from ifclint.fieldsheet.stages import Levels, levels, share
from ifclint.fieldsheet.storm import storm_systems
from ifclint.ifc.elements import Element, Role, System
from ifclint.job import Job
from ifclint.network import Network
from ifclint.plumbing import Plumbing, build
from ifclint.testing.networks import read_network
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[2] / "models"
HEAD_M = 10 * M_PER_FT

# A lavatory on a slab whose underside lies 4 in under the floor; its vent goes through the roof.
HOUSE = """
    storey Ground 0
    slab   S            -5 -5 -0.3333 > 9 9 0
    material=pvc
    lavatory     L      box=-1,-1,1.5,1,1,3 0 0 2
    p-trap 1.25  T      0 0 2 > 1 0 1.8
    pipe 1.5     ARM    1 0 1.8 > 2 0 1.78
    sanitary-tee 1.5  TEE    2 0 1.78 > 2 0 1.9 > 2 0 1.6
    pipe 1.5     DROP   2 0 1.6 > 2 0 -1
    long-sweep 2 SWEEP  2 0 -1 > 2.2 0 -1.2
    pipe 2       MAIN   2.2 0 -1.2 > 20 0 -1.6
    sewer-connection SEWER 20 0 -1.6
    system=vent
    pipe 1.5     VENT   2 0 1.9 > 2 0 {roof}
"""


def _house(roof_ft: float = 15.0, more: str = "") -> Network:
    return read_network(HOUSE.format(roof=roof_ft) + more)


def _sections(network: Network, head_m: float = HEAD_M) -> list[PipingSection]:
    return sections(joined(build(network)), levels(network.model), head_m)


def _one(made: Sequence[PipingSection], stage: Stage) -> PipingSection:
    (found,) = (s for s in made if s.stage is stage)
    return found


def test_the_stages_of_a_house() -> None:
    under, rough, top = _sections(_house())
    assert [s.stage for s in (under, rough, top)] == [
        Stage.UNDERGROUND,
        Stage.ROUGH_IN,
        Stage.TOP_OUT,
    ]
    assert under.high_m == pytest.approx(-0.3333 * M_PER_FT)
    assert under.plugs == ("2 in at SEWER",)
    assert under.caps == ("1 of 1-1/2 in coming up",)
    assert rough.plugs == ("1 of 1-1/2 in at the foot",)
    assert rough.caps == ("1 fixture outlet",)
    assert (rough.low_m, rough.high_m) == pytest.approx((-0.3333 * M_PER_FT, 3 * M_PER_FT))
    assert (top.low_m, top.high_m) == pytest.approx((3 * M_PER_FT, 15 * M_PER_FT))


def test_each_section_holds_its_length_of_pipe() -> None:
    under, rough, top = _sections(_house())
    area = np.pi / 4 * (np.array([1.61, 2.067]) * M_PER_IN) ** 2  # schedule 40, ASTM D1785
    drop_ft, main_ft = 0.6667, float(np.hypot(17.8, 0.4))
    assert under.contents_m3 == pytest.approx(
        (area[0] * drop_ft + area[1] * main_ft) * M_PER_FT, rel=1e-4
    )
    arm_ft = float(np.hypot(1.0, 0.02))
    assert rough.contents_m3 == pytest.approx(
        area[0] * (arm_ft + 1.6 + 0.3333 + 1.1) * M_PER_FT, rel=1e-4
    )
    assert top.contents_m3 == pytest.approx(area[0] * 12 * M_PER_FT, rel=1e-4)


# The stack stands 9.99, 10 and 10.01 ft above the highest pipe of the rough-in (the rim, 3 ft).
@pytest.mark.parametrize(
    ("roof_ft", "head_ft", "from_roof"),
    [(12.99, 9.99, True), (13.0, 10.0, False), (13.01, 10.0, False)],
)
def test_water_stands_as_high_as_asked_or_as_the_stack(
    roof_ft: float, head_ft: float, from_roof: bool
) -> None:
    rough = _one(_sections(_house(roof_ft)), Stage.ROUGH_IN)
    assert rough.fill_to_m is not None
    assert rough.fill_to_m - rough.high_m == pytest.approx(head_ft * M_PER_FT)
    assert ("overflowing" in rough.fill_from) is from_roof


def test_a_section_is_filled_with_the_pipe_above_it() -> None:
    rough = _one(_sections(_house(30.0)), Stage.ROUGH_IN)
    area = np.pi / 4 * (1.61 * M_PER_IN) ** 2
    assert rough.to_fill_m3 - rough.contents_m3 == pytest.approx(area * 10 * M_PER_FT)
    assert _one(_sections(_house(30.0)), Stage.UNDERGROUND).to_fill_m3 == pytest.approx(
        _one(_sections(_house(30.0)), Stage.UNDERGROUND).contents_m3
    )


def test_pipe_that_passes_the_lowest_floor_is_no_underground() -> None:
    """A flat whose stack goes on below: nothing lies under its floor."""
    flat = """
        storey Flat 0
        material=pvc
        lavatory     L     box=-1,-1,1.5,1,1,3 0 0 2
        p-trap 1.25  T     0 0 2 > 1 0 1.8
        pipe 1.5     ARM   1 0 1.8 > 2 0 1.78
        sanitary-tee 3 TEE 2 0 1.78 > 2 0 1.9 > 2 0 1.6
        pipe 3       DROP  2 0 1.6 > 2 0 {foot}
        sewer-connection SEWER 2 0 {foot}
    """
    for foot, stages in (("-0.5", {Stage.ROUGH_IN}), ("-4", {Stage.UNDERGROUND, Stage.ROUGH_IN})):
        made = _sections(read_network(flat.format(foot=foot)))
        assert {s.stage for s in made} == stages
        (rough,) = (s for s in made if s.stage is Stage.ROUGH_IN)
        assert rough.fill_from == "its highest opening, to overflowing"


# A water line just under, at and just over the underside of the slab.
@pytest.mark.parametrize(
    ("height_ft", "stage"),
    [(-0.34, Stage.UNDERGROUND), (-0.3333, Stage.ROUGH_IN), (-0.32, Stage.ROUGH_IN)],
)
def test_what_lies_below_the_slab_is_underground(height_ft: float, stage: Stage) -> None:
    line = f"system=cold_water\n pipe 0.75 W 0 5 {height_ft} > 9 5 {height_ft}"
    network = _house(more=line)
    (found,) = pressure_sections(network.elements, levels(network.model))
    assert (found.name, found.stage) == (WATER, stage)


@pytest.mark.parametrize(
    ("height_ft", "until", "stage"),
    [
        (-1.0, 50, Stage.ROUGH_IN),
        (-2.99, 50, Stage.ROUGH_IN),
        (-3.01, 50, Stage.UNDERGROUND),
        (-1.0, 5, Stage.UNDERGROUND),  # part of the floor stands on the ground
    ],
)
def test_what_hangs_in_a_crawl_space_is_rough_in(
    height_ft: float, until: float, stage: Stage
) -> None:
    line = f"system=cold_water\n pipe 0.75 W 0 5 {height_ft} > 9 5 {height_ft}"
    rooms = f"room Crawl_space -50 -50 -3 > {until} 50 -0.5\nroom Bath -50 -50 0 > 50 50 8"
    network = _house(more=f"{rooms}\n{line}")
    (found,) = pressure_sections(network.elements, levels(network.model))
    assert found.stage == stage


def test_without_a_slab_the_storey_parts_the_work() -> None:
    text = "\n".join(line for line in HOUSE.splitlines() if "slab" not in line)
    network = read_network(text.format(roof=15))
    assert levels(network.model) == Levels("Ground", 0.0, (("Ground", 0.0),), False)


def test_a_foundation_is_no_floor_and_a_floor_drain_stands_on_the_floor_above() -> None:
    network = _house(
        more="storey Foundation -4\n floor-drain FD box=4.8,4.8,-0.5,5,5,-0.1 5 5 -0.5"
    )
    assert levels(network.model).floor == "Ground"


def test_nothing_is_underground_where_no_floor_is_known() -> None:
    text = "\n".join(line for line in HOUSE.splitlines() if "storey" not in line)
    made = _sections(read_network(text.format(roof=15)))
    assert [s.stage for s in made] == [Stage.ROUGH_IN, Stage.TOP_OUT]


@pytest.mark.parametrize("storeys", [3, 9])
def test_a_tall_stack_is_tested_in_successive_sections(storeys: int) -> None:
    rough = [s for s in _sections(_tower(storeys)) if s.stage is Stage.ROUGH_IN]
    assert (len(rough) > 1) is (storeys == 9)
    for section in rough:
        assert section.fill_to_m is not None
        assert section.fill_to_m - section.low_m <= TALLEST_COLUMN_M + 1e-6
    for below, above in itertools.pairwise(rough):
        assert below.high_m == above.low_m
        assert below.fill_to_m is not None
        assert below.fill_to_m >= above.low_m + HEAD_M - 1e-6


def _tower(storeys: int) -> Network:
    lines = ["material=pvc", "sewer-connection SEWER 20 0 -1.4", "storey Cellar -9"]
    lines += ["pipe 4 MAIN 0.2 0 -1.2 > 20 0 -1.4", "long-sweep 4 SWEEP 0 0 -1 > 0.2 0 -1.2"]
    low = -1.0
    for n in range(storeys):
        z = 10.0 * n
        lines.append(f"storey Floor_{n + 1} {z}")
        lines.append(f"lavatory L{n} box=2.5,-1,{z + 1.5},3.5,1,{z + 3} 3 0 {z + 2}")
        lines.append(f"p-trap 1.5 T{n} 3 0 {z + 2} > 2 0 {z + 1.8}")
        lines.append(f"pipe 1.5 A{n} 2 0 {z + 1.8} > 0.3 0 {z + 1.78}")
        lines.append(f"sanitary-tee 4 TEE{n} 0.3 0 {z + 1.78} > 0 0 {z + 1.5} > 0 0 {z + 2}")
        lines.append(f"pipe 4 S{n} 0 0 {low} > 0 0 {z + 1.5}")
        low = z + 2
    lines.append(f"system=vent\npipe 4 V 0 0 {low} > 0 0 {low + 9}")
    return read_network("\n".join(lines))


@pytest.mark.parametrize("name", ["dwelling_early", "restaurant_early", "dwelling_corrected"])
def test_sections_hold_what_the_pipe_holds_by_another_calculation(name: str) -> None:
    _, context = reviewed_demo(name)
    plumbing = context.plumbing
    at = levels(plumbing.network.model)
    made = sections(joined(plumbing), at, HEAD_M)
    pipes = [p.element for system in joined(plumbing) for p in system.pipes]
    assert len(pipes) > 80
    assert sum(s.contents_m3 for s in made) == pytest.approx(_held_m3(pipes), rel=1e-9)
    pressed = pressure_sections(plumbing.network.elements, at)
    for service, systems in ((GAS, {System.GAS}), (WATER, set(System) & _WATER)):
        own = [e for e in plumbing.network.elements if e.role is Role.PIPE and e.system in systems]
        assert own
        assert sum(s.contents_m3 for s in pressed if s.name == service) == pytest.approx(
            _held_m3(own), rel=1e-9
        )


_WATER = {System.COLD_WATER, System.HOT_WATER, System.HOT_WATER_RETURN, System.WATER}


def _held_m3(pipes: Sequence[Element]) -> float:
    """The contents of pipes as tanks of fluids, bores straight from the table of dimensions."""
    path = Path(engineering.__file__).with_name("pipe_dimensions.csv")
    with path.open(encoding="utf-8") as table:
        bores = {
            (row["material"], float(row["size_in"])): float(row["inside_in"])
            for row in csv.DictReader(table)
            if row["material"] and row["inside_in"]
        }
    held = []
    for pipe in pipes:
        if pipe.size_in is None or pipe.length_m is None:
            continue
        drains = pipe.system in (System.SANITARY, System.VENT)
        listed = {"copper": "copper-dwv" if drains else "copper-l", "cast iron": "cast-iron"}
        key = (listed.get(pipe.material, pipe.material), pipe.size_in)
        inside_m = bores.get(key, pipe.size_in) * M_PER_IN
        held.append(fluids.TANK(D=inside_m, L=pipe.length_m, horizontal=True).V_total)
    return float(np.sum(held))


def test_contents_refuse_what_is_no_pipe() -> None:
    assert pipe_contents_m3(0.05, 0.0) == 0
    for inside_m, length_m in ((0.0, 1.0), (-0.1, 1.0), (0.1, -1.0), (float("nan"), 1.0)):
        with pytest.raises(ValueError, match="no pipe"):
            pipe_contents_m3(inside_m, length_m)


@pytest.mark.parametrize(("low", "high"), [(-3.0, 8.0), (1.0, 1.0), (2.0, 2.0), (-9.0, -1.0)])
def test_shares_of_bands_that_meet_add_up(low: float, high: float) -> None:
    edges = [float("-inf"), -2.0, 1.0, 2.0, 5.5, float("inf")]
    shares = [share(low, high, a, b) for a, b in itertools.pairwise(edges)]
    assert sum(shares) == pytest.approx(1.0)


def test_a_pan_drain_that_ends_in_the_open_is_no_section() -> None:
    network = _house(more="pipe 1 PAN 5 5 2 > 9 5 1.9")
    plumbing: Plumbing = build(network)
    assert {s.name for s in _sections(network)} == {"drains and vents to SEWER"}
    assert all(p.element.name != "PAN" for s in joined(plumbing) for p in s.pipes)


STORM_HOUSE = """
    storey Ground 0
    slab   S            -5 -5 -0.3333 > 9 9 0
    lavatory     L      box=-1,-1,1.5,1,1,3 0 0 2
    system=storm_drainage material=cast_iron
    roof-drain 4 RD  5 5 20
    pipe 4 LEADER  5 5 20 > 5 5 -1
    pipe 4 LEVEL  5 5 -1 > 40 5 -1.7292
    manhole MH  40 5 -1.7292
"""


@pytest.mark.parametrize("edition", ["upc-2021", "ipc-2021"])
def test_storm_drainage_is_filled_as_drains_are(edition: str) -> None:
    """What all its sections hold is the bore of its pipe times its length, counted by hand."""
    network = read_network(STORM_HOUSE)
    made = sections(
        storm_systems(build(network), codes.load(edition)), levels(network.model), HEAD_M
    )
    assert {s.stage for s in made} == {Stage.UNDERGROUND, Stage.ROUGH_IN}
    assert _one(made, Stage.UNDERGROUND).plugs == ("4 in at MH",)
    long_m = (21 + (35**2 + 0.7292**2) ** 0.5) * M_PER_FT
    inside_m, _ = engineering.contents.bore_m("cast iron", 4, True)
    assert sum(s.contents_m3 for s in made) == pytest.approx(np.pi / 4 * inside_m**2 * long_m)
    tests = procedures(made, codes.load(edition), Job())
    assert {t.clause.split()[-1] for t in tests} == {"1109.2" if edition == "upc-2021" else "312.8"}
    assert {t.what for t in tests} == {"Water", "Air instead"}


def test_no_storm_test_where_the_code_names_none() -> None:
    assert storm_systems(build(read_network(STORM_HOUSE)), codes.load("irc-2021")) == []


def test_the_storey_of_a_height() -> None:
    storeys = (("Ground", 0.0), ("Upper", 3.0), ("Roof", 6.0))
    told = Levels("", -inf, storeys, False)
    heights = {-1.0: "Ground", 0.0: "Ground", 2.9: "Ground", 3.0: "Upper", 9.0: "Roof"}
    assert {height: told.storey_at(height) for height in heights} == heights
    on_upper = Levels("Upper", -inf, storeys, False)
    assert [on_upper.storey_at(height) for height in (-1.0, 2.9, 6.0)] == ["Upper", "Upper", "Roof"]
    assert Levels("", -inf, (), False).storey_at(1.0) == ""
