"""Parts drawn on an unbroken pipe, which runs through them."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Model
from ifclint.network import connect
from tests.ifc.small_models import SCHEMAS, Point, SmallModel

LEG_M = 0.1


def part(m: SmallModel, name: str, at: Point, *ways: Point, has_ports: bool = False):
    """A fitting drawn as legs from its middle, or told by ports at their tips."""
    legs = []
    for way in ways:
        leg = m.extrusion(0.0603, LEG_M)
        leg.Position = m.axes((0, 0, 0), way, (0.0, 0.0, 1.0) if way[2] == 0 else (1.0, 0.0, 0.0))
        legs.append(leg)
    shape = None if has_ports else m.shape(*legs)
    made = m.element("IfcPipeFitting", name, at=m.placement(at), shape=shape)
    if has_ports:
        m.ports(made, *(tuple(a + LEG_M * b for a, b in zip(at, w, strict=True)) for w in ways))
    return made


WEST, EAST, UP = (-1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)


def joined(model: Model) -> set[frozenset[str]]:
    """Pairs of what is joined, pieces of a pipe by their number."""
    called = [f"{e.name} {e.piece}" if e.name == "main" else e.name for e in model.elements]
    return {frozenset((called[j.a], called[j.b])) for j in model.joints}


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("has_ports", [False, True], ids=["legs", "ports"])
@pytest.mark.parametrize("is_turned", [False, True], ids=["", "turned"])
def test_a_main_is_parted_by_each_tee_on_it(tmp_path, schema, has_ports, is_turned):
    m = SmallModel(schema)
    ends = [(0.0, 0.0, 0.0), (4.0, 0.0, 0.0)]
    m.pipe(*(ends[::-1] if is_turned else ends), name="main")
    for name, x in (("tee 1", 1.0), ("tee 2", 3.0)):
        part(m, name, (x, 0, 0), WEST, EAST, UP, has_ports=has_ports)
        m.pipe((x, 0, LEG_M), (x, 0, 2), name=name.replace("tee", "branch"))
    model = read(m.write(tmp_path))
    first, last = ("main 2", "main 0") if is_turned else ("main 0", "main 2")
    assert joined(model) == {
        frozenset(pair)
        for pair in [
            (first, "tee 1"), ("tee 1", "main 1"), ("main 1", "tee 2"), ("tee 2", last),
            ("tee 1", "branch 1"), ("tee 2", "branch 2"),
        ]
    }  # fmt: skip
    lengths = sorted(e.length_m for e in model.elements if e.name == "main")
    assert lengths == [pytest.approx(0.9), pytest.approx(0.9), pytest.approx(1.8)]
    assert connect(model).components() == 1


def test_tees_that_touch_are_joined_to_each_other(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="main")
    for name, x in (("tee 1", 1.0), ("tee 2", 1.0 + 2 * LEG_M)):
        part(m, name, (x, 0, 0), WEST, EAST, UP)
    found = joined(read(m.write(tmp_path)))
    assert found == {
        frozenset(pair)
        for pair in [("main 0", "tee 1"), ("tee 1", "tee 2"), ("tee 2", "main 1")]
    }  # fmt: skip


def test_a_branch_drawn_on_to_the_axis_meets_the_main_where_the_tee_begins(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="main")
    part(m, "coupling", (1.0, 0, 0), WEST, EAST)
    m.pipe((1.0, 0, 0), (1.0, 0, 2), name="branch")
    model = read(m.write(tmp_path))
    assert joined(model) == {
        frozenset(pair)
        for pair in [("main 0", "coupling"), ("coupling", "main 1"), ("main 0", "branch")]
    }


@pytest.mark.parametrize(
    ("z", "meets"), [(0.009, True), (0.011, False)], ids=["on the axis", "beside it"]
)
def test_openings_lie_on_the_axis(tmp_path, z, meets):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="main")
    part(m, "tee", (1.0, 0, z), WEST, EAST, UP)
    assert bool(read(m.write(tmp_path)).joints) is meets


def test_pipe_drawn_over_again_runs_through_nothing(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (4, 0, 0), name="main")
    part(m, "tee", (1.0, 0, 0), WEST, EAST, UP)
    m.pipe((0, 0, 0), (1.0 - LEG_M, 0, 0), name="west")
    m.pipe((1.0 + LEG_M, 0, 0), (4, 0, 0), name="east")
    found = joined(read(m.write(tmp_path)))
    assert {frozenset(("tee", "west")), frozenset(("tee", "east"))} <= found
    assert frozenset(("tee", "main 0")) not in found


def test_parts_of_another_service_are_not_on_the_pipe(tmp_path):
    m = SmallModel()
    main = m.pipe((0, 0, 0), (4, 0, 0), name="main")
    tee = part(m, "tee", (1.0, 0, 0), WEST, EAST, UP)
    m.system("Fuel gas", [main])
    m.system("Domestic cold water", [tee])
    assert not read(m.write(tmp_path)).joints
