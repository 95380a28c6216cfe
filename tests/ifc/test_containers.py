"""A system that holds pieces of others of several services besides is of none itself."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Model, System
from tests.ifc.small_models import SCHEMAS, SmallModel

SERVICES = [
    ("Sanitary waste", System.SANITARY),
    ("Vent", System.VENT),
    ("Domestic cold water", System.COLD_WATER),
    ("Domestic hot water", System.HOT_WATER),
    ("Natural gas", System.GAS),
]


def house(tmp_path, schema: str, name: str, own: list[str], first: bool, more: int = 0) -> Model:
    """A pipe in each of some systems and all of them in one more, which is written first or last,
    with `more` pipes of its own."""
    m = SmallModel(schema)
    pipes = [m.pipe((0, y, 0), (1, y, 0), name="2 in pipe") for y in range(len(own))]
    alone = [m.pipe((5, y, 0), (6, y, 0), name="2 in pipe") for y in range(more)]
    for order in (first, not first):
        if order:
            m.system(name, [*pipes, *alone])
        else:
            for of, pipe in zip(own, pipes, strict=True):
                m.system(of, [pipe])
    return read(m.write(tmp_path))


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize(
    ("name", "noted"),
    [("Sanitary", True), ("Gas", True), ("Water and waste", False), ("House 1", False)],
)
def test_a_system_of_pieces_of_all_services_is_a_container(tmp_path, schema, first, name, noted):
    model = house(tmp_path, schema, name, [s for s, _ in SERVICES], first)
    assert [e.system for e in model.elements] == [system for _, system in SERVICES]
    said = [n.what for n in model.notes if n.topic == "system"]
    counted = f'The system "{name}" holds 5 pieces of pipework'
    assert [s.startswith(counted) for s in said] == [True] * noted


@pytest.mark.parametrize(
    ("own", "name", "found", "doubted"),
    [  # kinds of one service, and pieces that are in two systems by mistake
        (["Domestic cold water", "Domestic hot water"], "Water", ["cold", "hot"], 0),
        (["Sanitary waste", "Vent"], "Drainage", ["sanitary", "vent"], 0),
        (["Domestic cold water"], "Natural gas", ["cold"], 1),
    ],
)
def test_a_system_of_kinds_of_its_service_is_none(tmp_path, own, name, found, doubted):
    model = house(tmp_path, "IFC4", name, own, first=False)
    told = [(e.system or System.OTHER).value for e in model.elements]
    assert all(value.startswith(word) for value, word in zip(told, found, strict=True))
    said = [n.what for n in model.notes if "different services" in n.what]
    assert len(said) == doubted
    assert not [n for n in model.notes if "container" in n.what]


@pytest.mark.parametrize(("more", "is_container"), [(1, True), (2, False), (3, False)])
def test_most_of_a_container_is_in_other_systems(tmp_path, more, is_container):
    own = ["Domestic cold water", "Natural gas"]
    model = house(tmp_path, "IFC4", "Sanitary waste", own, first=True, more=more)
    alone = {e.system for e in model.elements[len(own) :]}
    assert alone == ({None} if is_container else {System.SANITARY})


def test_the_side_of_water_is_of_the_system_that_tells_it(tmp_path):
    model = house(tmp_path, "IFC4", "Water", ["Domestic hot water"], first=True)
    assert [e.system for e in model.elements] == [System.HOT_WATER]
