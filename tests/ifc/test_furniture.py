"""Furniture that is named as a fixture or appliance is one where a pipe ends at it."""

from __future__ import annotations

import pytest

from ifclint.findings import Verdict
from ifclint.ifc import read
from ifclint.ifc.elements import Element, Model, Role, System
from ifclint.ifc.joints.doubles.furniture import without_cabinets
from tests.effort import calls
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.reviewing import without_corrections

BOX = (0.0, 0.0, 0.6), (0.6, 0.5, 0.9)
UNMET = "furniture named as fixtures or appliances, at which no pipe ends"


def drain(m: SmallModel, start=(0.3, 0.25, 0.65), system="SEWAGE"):
    """A pipe down from inside the box."""
    pipe = m.pipe(start, (start[0], start[1], 0.2), name="1-1/2 in pipe", diameter=0.0483)
    m.system(system.title(), [pipe], system)
    return pipe


def kinds(model):
    return sorted((e.role, e.kind) for e in model.elements if e.role is not Role.PIPE)


@pytest.mark.parametrize(
    ("schema", "ifc_class"),
    [*((s, "IfcFurnishingElement") for s in SCHEMAS), ("IFC4", "IfcFurniture"),
     ("IFC4X3_ADD2", "IfcFurniture"), ("IFC4", "IfcSystemFurnitureElement")],
)  # fmt: skip
@pytest.mark.parametrize(
    ("name", "system", "role", "kind"),
    [
        ("Kitchen sink", "SEWAGE", Role.FIXTURE, "kitchen-sink"),
        ("Lavatory", "SEWAGE", Role.FIXTURE, "lavatory"),
        ("Gas range 65,000 Btu/h", "GAS", Role.APPLIANCE, "range"),
    ],
)
def test_where_a_pipe_ends_at_it(tmp_path, schema, ifc_class, name, system, role, kind):
    m = SmallModel(schema)
    drain(m, system=system)
    m.block(ifc_class, name, *BOX)
    model = read(m.write(tmp_path))
    assert kinds(model) == [(role, kind)]
    assert len(model.joints) == 1
    assert not model.set_aside


@pytest.mark.parametrize("name", ["Kitchen sink", "Gas range 65,000 Btu/h"])
def test_where_none_does_it_is_counted_and_not_read(tmp_path, name):
    m = SmallModel()
    drain(m, (5.0, 5.0, 0.65))
    m.block("IfcFurniture", name, *BOX)
    model = read(m.write(tmp_path))
    assert kinds(model) == []
    assert model.set_aside == {UNMET: 1}
    assert any(name in note.what for note in model.notes)


@pytest.mark.parametrize("name", ["Dining table", "Towel rail", "Grab bar", "Desk"])
def test_other_furniture_is_none(tmp_path, name):
    m = SmallModel()
    drain(m)
    m.block("IfcFurniture", name, *BOX)
    model = read(m.write(tmp_path))
    assert kinds(model) == []
    assert not model.set_aside


def test_the_cabinet_of_a_sink_is_no_second_one(tmp_path):
    m = SmallModel()
    drain(m)
    m.block("IfcFurniture", "Sink cabinet 36 in", (-0.1, -0.1, 0.0), (0.8, 0.6, 0.9))
    m.block("IfcSanitaryTerminal", "Kitchen sink", *BOX)
    assert kinds(read(m.write(tmp_path))) == [(Role.FIXTURE, "kitchen-sink")]


def test_of_two_pieces_of_furniture_the_smaller_is_the_sink(tmp_path):
    m = SmallModel()
    drain(m)
    m.block("IfcFurniture", "Vanity sink cabinet", (-0.1, -0.1, 0.0), (0.8, 0.6, 0.9))
    m.block("IfcFurniture", "Kitchen sink", *BOX)
    model = read(m.write(tmp_path))
    assert kinds(model) == [(Role.FIXTURE, "kitchen-sink")]
    assert not model.set_aside


def test_the_fixtures_of_the_architect_s_file(tmp_path):
    pipes, rooms = SmallModel("IFC4", "MILLIMETRE"), SmallModel("IFC2X3", "FOOT", first=5000)
    drain(pipes)
    rooms.block("IfcFurnishingElement", "Kitchen sink", *BOX)
    model = read([pipes.write(tmp_path, "p.ifc"), rooms.write(tmp_path, "a.ifc")])
    assert kinds(model) == [(Role.FIXTURE, "kitchen-sink")]
    assert [e.system for e in model.elements if e.role is Role.PIPE] == [System.SANITARY]
    assert len(model.joints) == 1


def test_a_file_of_furniture_alone_says_what_was_not_read(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    m.block("IfcFurniture", "Kitchen sink", *BOX)
    done = without_corrections([m.write(tmp_path)], None, "upc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert f"{UNMET} (1)" in done.reason


def calls_of_row(count: int) -> int:
    """For a row of vanities, each with the basin that stands in it."""
    model = Model()
    for n in range(count):
        for name, width_m in (("vanity", 0.6), ("basin", 0.4)):
            made = Element(f"{name}{n}", role=Role.FIXTURE, ifc_class="IfcFurniture")
            made.box = (n, 0.0, 0.6), (n + width_m, 0.5, 0.9)
            model.elements.append(made)

    def work() -> None:
        without_cabinets(model, {})
        assert [e.guid for e in model.elements] == [f"basin{n}" for n in range(count)]

    return calls(work)


def test_work_grows_with_the_furniture_and_not_faster():
    calls_of_row(10)
    assert calls_of_row(320) < 1.5 * 4 * calls_of_row(80)
