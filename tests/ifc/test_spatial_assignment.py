"""Elements that no relation puts in a space are found in one by where they stand."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.building.spatial_assignment import assign_storeys_and_spaces
from ifclint.ifc.elements import Element, End, Model, Role, Space, Storey
from tests.effort import effort
from tests.ifc.small_models import SmallModel

GROUND, UPPER = Storey("Ground", 0.0), Storey("Upper", 3.0)


def at(x: float, y: float, z: float, **more) -> Element:
    return Element("g", position=(x, y, z), **more)


def pipe(start, end) -> Element:
    return Element("p", role=Role.PIPE, position=start, ends=[End(start), End(end)])


def placed(element: Element, *spaces: Space) -> Element:
    assign_storeys_and_spaces(
        Model(elements=[element], spaces=list(spaces), storeys=[UPPER, GROUND])
    )
    return element


def room(name: str, low, high, storey: str = "Ground") -> Space:
    return Space(name, storey, low, high)


BATH = room("Bath", (0, 0, 0), (2, 2, 2.5))
HALL = room("Hall", (2, 0, 0), (5, 2, 2.5))


def test_the_one_space_that_holds_an_element():
    found = placed(at(1, 1, 0), BATH, HALL)  # on its floor
    assert (found.space, found.basis["space"].words) == ("Bath", "by position")
    assert placed(at(3, 1, 1), BATH, HALL).space == "Hall"


def test_no_space_outside_of_all_boxes_or_inside_two():
    assert placed(at(9, 1, 1), BATH, HALL).space == ""
    niche = room("Niche", (0.5, 0.5, 0), (1.5, 1.5, 2.5))
    found = placed(at(1, 1, 1), BATH, niche)
    assert found.space == ""
    assert "space" not in found.basis


def test_what_a_relation_says_is_kept():
    found = placed(at(1, 1, 1, space="Wet room"), BATH)
    assert found.space == "Wet room"


def test_the_spaces_of_the_storey_come_first():
    atrium = room("Atrium", (-5, -5, 0), (9, 9, 9), "Upper")
    assert placed(at(1, 1, 1), BATH, atrium).space == "Bath"
    assert placed(at(1, 1, 1, storey="Upper"), BATH, atrium).space == "Atrium"


def test_under_the_ceiling_a_pipe_counts_to_the_storey_above_but_lies_in_the_room():
    found = placed(pipe((0.5, 1, 2.45), (1.5, 1, 2.45)), BATH)
    assert (found.storey, found.space) == ("Upper", "Bath")


def test_a_pipe_that_leaves_a_room_lies_in_none():
    assert placed(pipe((1, 1, 1), (3, 1, 1)), BATH, HALL).space == ""
    assert placed(pipe((1, 1, 1), (1, 1, -1)), BATH, HALL).space == ""


def test_a_fixture_is_where_the_middle_of_its_box_is():
    tub = at(-0.1, 1, 0, box=((-0.1, 0.6, 0.0), (1.5, 1.4, 0.6)))
    assert placed(tub, BATH).space == "Bath"


def test_an_element_at_no_place_is_in_no_space():
    assert placed(Element("g"), BATH).space == ""


def test_spaces_of_the_architecture_and_pipes_of_the_plumbing(tmp_path):
    building, plumbing = SmallModel("IFC2X3", "FOOT"), SmallModel("IFC4", "MILLIMETRE")
    building.space("Bath 2", (0, 0, 0), (3, 3, 2.5))
    building.space("Hall", (3, 0, 0), (6, 3, 2.5))
    plumbing.pipe((1, 1, 1), (2, 1, 1), name="Inside")
    plumbing.pipe((7, 1, 1), (8, 1, 1), name="Outside")
    model = read([plumbing.write(tmp_path, "p.ifc"), building.write(tmp_path, "b.ifc")])
    assert {e.name: e.space for e in model.elements} == {"Inside": "Bath 2", "Outside": ""}


def test_fifty_thousand_elements_and_five_hundred_spaces_take_a_moment():
    spaces = [
        room(f"{i}-{j}", (4 * i, 4 * j, 0), (4 * i + 4, 4 * j + 4, 3))
        for i in range(25) for j in range(20)
    ]  # fmt: skip
    elements = [at(i % 100 + 0.5, i // 100 % 80 + 0.5, i % 29 / 10) for i in range(50_000)]
    with effort() as spent:
        assign_storeys_and_spaces(Model(elements=elements, spaces=spaces, storeys=[GROUND]))
    assert spent.seconds < 5  # about 0.3 s; a loop over all pairs takes minutes
    assert all(e.space == f"{int(e.position[0] // 4)}-{int(e.position[1] // 4)}" for e in elements)


@pytest.mark.parametrize(
    ("stated", "placed", "read_as"),
    [
        ((408.0,), (0.0,), [0.0]),
        ((408.0, 411.0), (0.0, 3.0), [0.0, 3.0]),
        ((408.0, 411.0), (0.0, 0.0), [0.0, 3.0]),  # nothing places them
        ((3.0,), (0.0,), [3.0]),  # a floor above the pipes, for all that is told
        ((29.0,), (0.0,), [29.0]),
        ((33.0,), (0.0,), [0.0]),
        ((-0.5, 3.0), (0.0, 3.0), [-0.5, 3.0]),
    ],
)
def test_elevations_above_the_sea_count_as_things_are_drawn(tmp_path, stated, placed, read_as):
    m = SmallModel()
    storeys = [m.storey, *(m.root("IfcBuildingStorey", f"L{n}") for n in range(1, len(stated)))]
    m.aggregate(m.building, storeys[1:])
    for storey, elevation, z in zip(storeys, stated, placed, strict=True):
        storey.Elevation, storey.ObjectPlacement = elevation, m.placement((0, 0, z))
    m.pipe((0, 0, 0.1), (1, 0, 2.5), name="P")
    model = read(m.write(tmp_path))
    assert [s.elevation_m for s in model.storeys] == read_as
    assert any(note.topic == "storey" for note in model.notes) is (read_as != list(stated))
