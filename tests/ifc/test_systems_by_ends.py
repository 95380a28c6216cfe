"""The service of piping that no system, port or name tells: by its material and its ends."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Element, End, Joint, Role, System
from ifclint.ifc.facts.service.spreading import spread
from ifclint.ifc.facts.service.systems_by_ends import (
    outrank_names,
    tell_by_ends,
    tell_junctions,
)
from ifclint.ifc.facts.service.water_by_ends import tell_feeds_of_returns, tell_sides
from ifclint.testing import read_network
from tests.ifc.small_models import SmallModel

HOUSE = """
system=none
water-meter 1 M  in -1 0 0 > out 0 0 0
pipe 1 C1  0 0 0 > 5 0 0
tee 1 T  5 0 0 > 5.4 0 0 > 5.2 0 0.2
pipe 0.5 C2  5.2 0 0.2 > 5.2 0 3
lavatory L  cold 5.2 0 3 > hot 5.4 0 3
pipe 0.75 C3  5.4 0 0 > 9 0 0
water-heater WH  cold 9 0 0 > hot 9.4 0 0 > 9.6 0 0
pipe 0.75 H1  9.4 0 0 > 9.4 0 3
bend 0.75 HB  9.4 0 3 > 9.4 0 3.2
pipe 0.75 H2  9.4 0 3.2 > 5.4 0 3
pipe 0.75 G1  9.6 0 0 > 12 0 0
"""


Tell = Callable[[list[Element], list[Joint]], None]


def _systems(text: str, tell: Tell = tell_by_ends) -> dict[str, System | None]:
    model = read_network(text).model
    tell(model.elements, model.joints)
    return {element.guid: element.system for element in model.elements}


def test_water_from_the_meter_is_cold_and_from_its_heater_to_a_faucet_hot() -> None:
    told = _systems(HOUSE)
    assert {told[i] for i in ("C1", "T", "C2", "C3")} == {System.COLD_WATER}
    assert {told[i] for i in ("H1", "HB", "H2")} == {System.HOT_WATER}
    assert told["G1"] is None  # leads to no faucet: a gas pipe, or a relief line


TAILPIECE = """
lavatory L  0 0 3
wye 1.25 W system=condensate called=Condensate_branch_tailpiece  0 0 3 > 0 0 2.8 > 0.2 0 3
p-trap 1.25 T  0 0 2.8 > 0.4 0 2.5
pipe 0.75 C system=condensate  0.2 0 3 > 0.2 0 9
"""


def test_a_branch_called_after_condensate_is_of_the_drain_that_runs_through_it() -> None:
    assert _systems(TAILPIECE, outrank_names)["W"] is System.SANITARY
    own = TAILPIECE.replace("lavatory L", "pipe 0.75 L system=condensate")
    assert _systems(own, outrank_names)["W"] is System.CONDENSATE


@pytest.mark.parametrize(
    ("water", "system"),
    [("water", System.COLD_WATER), ("cold_water", System.COLD_WATER), ("hot_water", None)],
)
def test_a_meter_of_hot_water_tells_of_no_cold(water: str, system: System | None) -> None:
    told = _systems(HOUSE.replace("water-meter 1 M", f"water-meter 1 M system={water}"))
    assert told["C1"] is system


def test_without_a_meter_nothing_tells_which_water_it_is() -> None:
    told = _systems(HOUSE.replace("water-meter 1 M  in -1 0 0 > out 0 0 0\n", ""))
    assert set(told.values()) == {None}


@pytest.mark.parametrize(
    ("pipe", "system"),
    [
        ("pipe 3 P", System.SANITARY),
        ("pipe 2 P", System.SANITARY),
        ("pipe 1.5 P", None),  # the water of a flushometer valve
        ("pipe 1.5 P material=PVC_Schedule_40_DWV", System.SANITARY),
        ("pipe 1.5 P material=PVC_Schedule_40", None),
        ("pipe P", None),
        ("pipe 3 P system=storm_drainage material=PVC_DWV", System.STORM),
    ],
)
def test_what_drains_by_its_material_or_size_at_a_closet(pipe: str, system: System | None) -> None:
    told = _systems(
        f"system=none\nwater-closet W  0 0 0\n{pipe}  0 0 0 > 9 0 0\nbend 3 B  9 0 0 > 9 0 1"
    )
    assert told["P"] is system
    assert told["B"] is system  # what is known is passed on


def test_a_large_pipe_at_another_fixture_tells_nothing() -> None:
    told = _systems("system=none\nlavatory L  0 0 0\npipe 3 P  0 0 0 > 9 0 0")
    assert told["P"] is None


MIXED = """
system=none
pipe 1 C system=cold_water  0 0 0 > 5 0 0
pipe 1 H system=hot_water  5.2 0 0 > 9 0 0
mixing 1 M  cold 5 0 0 > hot 5.2 0 0 > out 5.1 0 1
pipe 1 T  5.1 0 1 > 5.1 0 5
bend 1 B  5.1 0 5 > 5.1 0 5.2
"""


def test_what_a_mixing_valve_gives_is_hot_where_both_waters_come_to_it() -> None:
    told = _systems(MIXED)
    assert {told[i] for i in ("T", "B")} == {System.HOT_WATER}


def test_the_one_water_that_comes_to_a_mixing_valve_does_not_pass_it() -> None:
    told = _systems(MIXED.replace("system=hot_water", ""))
    assert {told[i] for i in ("H", "T", "B")} == {None}


@pytest.mark.parametrize(
    ("named", "system"),
    [("", System.COLD_WATER), ("Mains 3", System.COLD_WATER), ("Mains 4", None)],
)
def test_a_service_is_not_taken_from_a_system_of_another_name(named, system) -> None:
    known, other = Element("A", system=System.COLD_WATER), Element("B", system_name=named)
    known.system_name = "Mains 3"
    for element in (known, other):
        element.role, element.ends = Role.PIPE, [End(None), End(None)]
    spread([known, other], [Joint(0, 1, 1, 0)])
    assert other.system is system


FED_WITH_RETURN = """
system=cold_water
pipe 0.75 C1  0 0 0 > 5 0 0
tee 0.75 T system={tee}  5 0 0 > 5.4 0 0 > 5.2 0 0.2
pipe 0.75 C2  5.4 0 0 > 9 0 0
water-heater WH  cold 9 0 0 > hot 9.4 0 0
pipe 0.5 R1 system={back}  5.2 0 0.2 > 5.2 0 3
{then} 0.5 R2 system={back}  5.2 0 3 > 5.2 0 3.2
pipe 0.5 R3 system={back}  5.2 0 3.2 > 20 0 3.2
"""


@pytest.mark.parametrize(
    ("tee", "back", "then", "system"),
    [
        ("hot_water_return", "hot_water_return", "coupling", System.COLD_WATER),
        ("hot_water", "hot_water", "check", System.COLD_WATER),
        ("hot_water", "hot_water", "coupling", System.HOT_WATER),
        ("cold_water", "hot_water_return", "check", System.COLD_WATER),
    ],
)
def test_a_tee_in_the_cold_feed_that_a_return_enters_is_of_the_feed(tee, back, then, system):
    network = FED_WITH_RETURN.format(tee=tee, back=back, then=then)
    assert _systems(network, tell_feeds_of_returns)["T"] is system


ONE_SYSTEM = """
system=water
water-meter 1 M  in -1 0 0 > out 0 0 0
pipe 1 C1  0 0 0 > 5 0 0
tee 1 T  5 0 0 > 5.4 0 0 > 5.2 0 0.2
pipe 0.5 C2  5.2 0 0.2 > 5.2 0 3
isolating 0.75 V system=cold_water  5.4 0 0 > 5.6 0 0
pipe 0.75 C3  5.6 0 0 > 9 0 0
water-heater WH system=none  in 9 0 0 > out 9.4 0 0
pipe 0.75 H1  9.4 0 0 > 9.4 0 3
mixing 0.75 MV  in 5.2 0 3 > in 9.4 0 3 > out 7 0 3.2
pipe 0.75 X  7 0 3.2 > 7 0 4
lavatory L system=none  7 0 4
"""
COLD, HOT, WATER = System.COLD_WATER, System.HOT_WATER, System.WATER


def test_water_of_one_system_is_cold_from_its_meter_and_hot_from_its_heater() -> None:
    told = _systems(ONE_SYSTEM, tell_sides)
    assert {told[i] for i in ("M", "C1", "T", "C2", "V", "C3")} == {COLD}
    assert {told[i] for i in ("H1", "X")} == {HOT}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("water-meter 1 M  in -1 0 0 > out 0 0 0\n", ""),  # and the valve no more called cold
        ("mixing 0.75 MV  in 5.2 0 3 > in 9.4 0 3 > out", "tee 0.75 MV  5.2 0 3 > 9.4 0 3 >"),
    ],
    ids=["nothing tells which is cold", "cold and hot are joined"],
)  # fmt: skip
def test_where_cold_and_hot_are_not_told_apart_water_is_water(old: str, new: str) -> None:
    told = _systems(ONE_SYSTEM.replace(old, new).replace(" system=cold_water", ""), tell_sides)
    assert told["H1"] is told["C1"] is told["X"] is WATER


@pytest.mark.parametrize("filed", [System.SANITARY, System.STORM])
@pytest.mark.parametrize("run", [System.SANITARY, System.STORM])
def test_a_junction_of_sewage_and_rain_follows_its_run(
    tmp_path: Path, filed: System, run: System
) -> None:
    m = SmallModel()
    literals = {System.SANITARY: "WASTEWATER", System.STORM: "STORMWATER"}
    branch = next(s for s in literals if s is not run)
    upper, lower = m.pipe((0, 0, 0.1), (1, 0, 0.08)), m.pipe((1.2, 0, 0.07), (3, 0, 0))
    side = m.pipe((1.1, 2, 0.2), (1.1, 0.1, 0.09))
    wye = m.element("IfcPipeFitting", "Wye", at=m.placement((0, 0, 0)))
    m.ports(wye, (1, 0, 0.08), (1.2, 0, 0.07), (1.1, 0.1, 0.09))
    of = {run: [upper, lower], branch: [side]}
    of[filed].append(wye)
    for system, members in of.items():
        m.system(literals[system], members, literals[system])
    model = read(m.write(tmp_path))
    found = next(e for e in model.elements if e.guid == wye.GlobalId)
    assert found.system is run
    assert len(model.joints) == 2  # of its run: the branch meets it, of another service


def test_a_fitting_between_sewage_and_rain_keeps_its_system() -> None:
    text = """
    pipe 4 A  0 0 1 > 1 0 0.9
    coupling 4 C system=storm_drainage  1 0 0.9 > 1.2 0 0.9
    pipe 4 B system=storm_drainage  1.2 0 0.9 > 3 0 0.8
    """
    model = read_network(text).model
    tell_junctions(model.elements, [(j.a, j.b) for j in model.joints])
    assert [e.system for e in model.elements if e.guid == "C"] == [System.STORM]
