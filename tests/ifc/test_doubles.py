"""What is drawn a second time in the place of another is set aside once, and judged by nothing."""

from __future__ import annotations

from itertools import pairwise

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import System
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.reviewing import without_corrections

A, B, C, D = (0.0, 0.0, 0.0), (1.0, 0.0, -0.02), (2.0, 0.0, -0.04), (3.0, 0.0, -0.06)


def run(m: SmallModel, *points, joined=True, name="2 in pipe", system="SEWAGE"):
    """Pipes from point to point in one system, joined by ports or by nothing."""
    pipes = [m.pipe(a, b, name=name) for a, b in pairwise(points)]
    m.system(system.title(), pipes, system)
    if joined:
        ports = [m.ports(p, *ends) for p, ends in zip(pipes, pairwise(points), strict=True)]
        for one, other in pairwise(ports):
            m.connect(one[1], other[0])
    return pipes


@pytest.mark.parametrize("joined", [True, False])
@pytest.mark.parametrize("schema", SCHEMAS)
def test_a_coordination_file_holds_the_pipes_again(tmp_path, schema, joined):
    first, second = SmallModel(schema), SmallModel(schema, "MILLIMETRE", first=5000)
    run(first, A, B, C)
    run(second, A, B, C, joined=joined)
    files = [first.write(tmp_path, "a.ifc"), second.write(tmp_path, "b.ifc")]
    model = read(files)
    assert model.set_aside == {"drawn twice in one place": 2}
    assert (len(model.elements), len(model.joints)) == (2, 1)
    (note,) = [n for n in model.notes if n.topic == "duplicate"]
    assert note.what.startswith("Set aside, as others of their kind, size and service lie")
    assert {e.guid for e in model.elements} == {e.guid for e in read(files[:1]).elements}


def test_in_one_file_the_joined_one_stays(tmp_path):
    m = SmallModel()
    double = run(m, B, A, joined=False)
    pipes = run(m, A, B, C)
    model = read(m.write(tmp_path))
    assert {e.guid for e in model.elements} == {p.GlobalId for p in pipes}
    assert double[0].GlobalId not in {e.guid for e in model.elements}


def test_what_only_the_double_is_joined_to_is_joined_to_the_first(tmp_path):
    m = SmallModel()
    run(m, A, B, C)
    run(m, C, D)
    run(m, B, C, D, joined=True)
    model = read(m.write(tmp_path))
    assert model.set_aside == {"drawn twice in one place": 2}
    assert (len(model.elements), len(model.joints)) == (3, 2)


@pytest.mark.parametrize(
    "other",
    [
        {"name": "3 in pipe"},  # another size
        {"system": "DOMESTICCOLDWATER"},  # another service
    ],
)
def test_another_size_or_service_is_no_double(tmp_path, other):
    m = SmallModel()
    run(m, A, B)
    run(m, A, B, **other)
    model = read(m.write(tmp_path))
    assert not model.set_aside
    assert len(model.elements) == 2


def test_a_millimetre_farther_is_no_double_and_a_fixture_never(tmp_path):
    m = SmallModel()
    run(m, A, B)
    run(m, (0.0, 0.003, 0.0), (1.0, 0.003, -0.02))
    for _ in range(2):
        m.ports(m.element("IfcSanitaryTerminal", "WC"), (5, 5, 0), (5, 5.2, 0))
    model = read(m.write(tmp_path))
    assert not model.set_aside
    assert len(model.elements) == 4


def test_a_plug_is_a_double_beside_doubles_only(tmp_path):
    m = SmallModel()
    run(m, A, B)
    for _ in range(2):
        m.ports(m.element("IfcPipeFitting", "Cleanout plug", predefined="OBSTRUCTION"), A)
    assert not read(m.write(tmp_path)).set_aside
    run(m, A, B)
    assert read(m.write(tmp_path)).set_aside == {"drawn twice in one place": 2}


def test_a_fixture_is_a_double_beside_doubles_only(tmp_path):
    m = SmallModel()
    run(m, A, B)
    for name, x in (("Lavatory", 5), ("Lavatory", 5), ("Lavatory", 5.002), ("Sink", 5)):
        m.element("IfcSanitaryTerminal", name, at=m.placement((x, 5, 0)))
    assert not read(m.write(tmp_path)).set_aside
    run(m, A, B)
    assert read(m.write(tmp_path)).set_aside == {"drawn twice in one place": 2}


def test_a_review_judges_no_double(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    run(m, A, B, C)
    once = without_corrections([m.write(tmp_path)], None, "upc-2021")
    run(m, A, B, C)
    twice = without_corrections([m.write(tmp_path)], None, "upc-2021")
    assert [(f.rule, f.message) for f in once.findings] == [
        (f.rule, f.message) for f in twice.findings
    ]
    assert [(s.service, s.elements) for s in twice.set_aside] == [("drawn twice in one place", 2)]
    assert all(e.system is System.SANITARY for e in read([tmp_path / "model.ifc"]).elements)


def test_which_one_stays_does_not_hang_on_the_order_of_the_files(tmp_path):
    first, second = SmallModel(), SmallModel("IFC4", "MILLIMETRE", first=5000)
    run(first, A, B, C)
    run(second, A, B, C)
    files = [first.write(tmp_path, "a.ifc"), second.write(tmp_path, "b.ifc")]
    one, other = read(files), read(files[::-1])
    assert [e.guid for e in one.elements] == [e.guid for e in other.elements]


@pytest.mark.parametrize(
    ("kind", "x", "ports", "left"),
    [
        ("WASHHANDBASIN", 0.0, False, 1),
        ("WASHHANDBASIN", 0.0, True, 2),  # each is joined by its own ports, or is to be
        ("WASHHANDBASIN", 0.02, False, 1),
        ("WASHHANDBASIN", 0.14, False, 1),
        ("WASHHANDBASIN", 0.16, False, 2),
        ("WASHHANDBASIN", 0.6, False, 2),
        ("SINK", 0.0, False, 2),
    ],
)
@pytest.mark.parametrize("first_has_ports", [True, False])
def test_a_fixture_that_fills_most_of_the_box_of_another_of_its_kind_is_this(
    tmp_path, kind, x, ports, left, first_has_ports
):
    m = SmallModel()
    for predefined, at, has_ports in (
        ("WASHHANDBASIN", 0.0, first_has_ports),
        (kind, x, ports),
    ):
        basin = m.element(
            "IfcSanitaryTerminal",
            "Basin",
            at=m.placement((at, 0.0, 0.0)),
            shape=m.shape(m.raised(m.polygon((0, 0), (0.5, 0), (0.5, 0.4), (0, 0.4)), 0.2)),
            predefined=predefined,
        )
        if has_ports:
            m.ports(basin, (at + 0.2, 0.2, 0.6))
    model = read(m.write(tmp_path))
    if ports and not first_has_ports:
        left = min(left, 1)  # the one with ports stays
    assert len(model.elements) == left
    assert model.set_aside == ({"drawn twice in one place": 1} if left == 1 else {})


def test_a_piece_shorter_than_a_millimetre_is_a_double_too(tmp_path):
    m = SmallModel()
    for _ in range(3):
        run(m, A, B)
        run(m, (5.0, 0.0, 0.0), (5.0004, 0.0, 0.0), joined=False)
    assert read(m.write(tmp_path)).set_aside == {"drawn twice in one place": 4}
    unplaced = SmallModel()
    for _ in range(3):
        unplaced.ports(unplaced.element("IfcPipeSegment", "2 in pipe"), A, A)
    assert not read(unplaced.write(tmp_path)).set_aside
