"""How doors swing: as the door says, else its type; nothing where neither does."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Leaf
from tests.ifc.small_models import SCHEMAS, SmallModel

FT = 0.3048
SHELL = Path(__file__).parents[2] / "models" / "restaurant_architecture.ifc"
HINGE_3 = ((3, 0.2), (4, 0.2), (3, 1.2))


def leaves(path: Path, name: str) -> tuple[Leaf, ...]:
    (door,) = (s for s in read([path]).surfaces if s.name == name)
    return door.leaves


def near(found: tuple[Leaf, ...], *expected: Leaf) -> bool:
    flat = [c for leaf in found for place in leaf for c in place]
    asked = [c for leaf in expected for place in leaf for c in place]
    return flat == pytest.approx(asked, abs=1e-9)


@pytest.mark.parametrize("unit", ["METRE", "FOOT"])
@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("SINGLE_SWING_LEFT", [HINGE_3]),
        ("SINGLE_SWING_RIGHT", [((4, 0.2), (3, 0.2), (4, 1.2))]),
        ("DOUBLE_SWING_LEFT", [HINGE_3, ((3, 0), (4, 0), (3, -1))]),
        ("DOUBLE_DOOR_SINGLE_SWING",
         [((3, 0.2), (3.5, 0.2), (3, 0.7)), ((4, 0.2), (3.5, 0.2), (4, 0.7))]),
        ("SLIDING_TO_LEFT", []),
        ("NOTDEFINED", []),
        (None, []),
    ],
)  # fmt: skip
def test_a_door_swings_as_it_says(tmp_path, unit, said, expected):
    m = SmallModel("IFC4", unit)
    m.block("IfcDoor", "Door", (3, 0, 0), (4, 0.2, 2.1), OperationType=said)
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    assert near(leaves(m.write(tmp_path), "Door"), *expected)


@pytest.mark.parametrize("schema", SCHEMAS)
def test_a_door_that_says_nothing_swings_as_its_type(tmp_path, schema):
    m = SmallModel(schema)
    door = m.block("IfcDoor", "Door", (3, 0, 0), (4, 0.2, 2.1))
    values = {"OperationType": "SINGLE_SWING_LEFT"}
    if schema == "IFC2X3":
        style = m.root("IfcDoorStyle", "Style", **values, ConstructionType="WOOD",
                       ParameterTakesPrecedence=False, Sizeable=False)  # fmt: skip
    else:
        style = m.root("IfcDoorType", "Style", **values, PredefinedType="DOOR")
    m.root("IfcRelDefinesByType", RelatedObjects=[door], RelatingType=style)
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    assert near(leaves(m.write(tmp_path), "Door"), HINGE_3)


def test_a_door_without_a_placement_in_a_turned_building_is_turned_with_it(tmp_path):
    m = SmallModel("IFC4")
    wall = m.block("IfcWall", "Wall", (0, 0, 0), (20, 0.2, 3))
    wall.ObjectPlacement = m.placement((0, 0, 0), (0.0, 0.0, 1.0), (0.8, 0.6, 0.0))
    door = m.block("IfcDoor", "Door", (0, 0, 0), (1, 0.2, 2.1), OperationType="SINGLE_SWING_LEFT")
    door.ObjectPlacement = None
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    hinge, tip, open_tip = (0.12, 0.16), (0.92, -0.44), (0.72, 0.96)  # in axes along the wall
    assert near(leaves(m.write(tmp_path), "Door"), (hinge, tip, open_tip))


def test_doors_of_the_restaurant_open_out_of_the_building_and_into_the_rooms() -> None:
    entry = ((13 * FT, 0), (10 * FT, 0), (13 * FT, -3 * FT))
    assert near(leaves(SHELL, "Door:Entry"), entry)
    service = ((21 * FT, 40.1 * FT), (18 * FT, 40.1 * FT), (21 * FT, 43.1 * FT))
    assert near(leaves(SHELL, "Door:Kitchen Service"), service)
