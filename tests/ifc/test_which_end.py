"""Ports without a place, linked to one another: what they are joined to tells where they are."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SCHEMAS, SmallModel

UP, MIDDLE, DOWN = (0.0, 0.0, 3.0), (0.0, 0.0, 2.0), (0.0, 0.0, 0.0)


def unplaced(m: SmallModel, element, *flows: str):
    made = m.ports(element, *[MIDDLE] * len(flows), flows=flows)
    for port in made:
        port.ObjectPlacement = None
    return made


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("is_turned", [False, True], ids=["drawn with the flow", "against it"])
def test_the_ports_of_a_pipe_are_where_what_they_join_is(tmp_path, schema, is_turned):
    m = SmallModel(schema)
    pipes = [
        m.pipe(*(ends[::-1] if is_turned else ends), name=name)
        for name, ends in (("upper", (UP, MIDDLE)), ("lower", (MIDDLE, DOWN)))
    ]
    upper, lower = (unplaced(m, pipe, "SINK", "SOURCE") for pipe in pipes)
    m.connect(upper[1], lower[0])
    found = {e.name: [end.position for end in e.ends] for e in read(m.write(tmp_path)).elements}
    assert found["upper"] == [pytest.approx(UP), pytest.approx(MIDDLE)]
    assert found["lower"] == [pytest.approx(MIDDLE), pytest.approx(DOWN)]


@pytest.mark.parametrize("schema", SCHEMAS)
def test_a_part_placed_at_the_origin_is_where_its_body_is(tmp_path, schema):
    m = SmallModel(schema)
    pipe = m.pipe(UP, DOWN, name="pipe")
    outline = m.polygon((-0.05, -0.05), (0.05, -0.05), (0.05, 0.05), (-0.05, 0.05))
    body = m.file.create_entity(
        "IfcExtrudedAreaSolid", outline, m.axes(UP), m.direction((0, 0, 1)), m.length(0.1)
    )
    cap = m.element("IfcPipeFitting", "2 in cap", at=m.placement((0, 0, 0)), shape=m.shape(body))
    ports, (on_cap,) = unplaced(m, pipe, "SINK", "SOURCE"), unplaced(m, cap, "SOURCEANDSINK")
    m.connect(ports[0], on_cap)
    model = read(m.write(tmp_path))
    (placed,) = (e for e in model.elements if e.name == "2 in cap")
    assert placed.position == pytest.approx((0.0, 0.0, 3.05))


@pytest.mark.parametrize("schema", SCHEMAS)
def test_the_ports_of_a_fitting_are_where_the_pipes_end(tmp_path, schema):
    m = SmallModel(schema)
    down = m.pipe((0, 0, 3), (0, 0, 0.1), name="down")
    level = m.pipe((2, 0, 0), (0.1, 0, 0), name="level")  # drawn against its flow
    outline = m.polygon((-0.05, -0.05), (0.1, -0.05), (0.1, 0.05), (-0.05, 0.05))
    body = m.file.create_entity(
        "IfcExtrudedAreaSolid", outline, m.axes((0, 0, -0.05)), m.direction((0, 0, 1)),
        m.length(0.15),
    )  # fmt: skip
    far = m.placement((0, 0, 40))  # nowhere near
    body.Position = m.axes((0, 0, -40.05))
    bend = m.element("IfcPipeFitting", "bend", at=far, shape=m.shape(body), predefined="BEND")
    ports = [unplaced(m, part, "SINK", "SOURCE") for part in (down, bend, level)]
    m.connect(ports[0][1], ports[1][0])
    m.connect(ports[1][1], ports[2][0])
    (found,) = (e for e in read(m.write(tmp_path)).elements if e.name == "bend")
    assert [e.position for e in found.ends] == [
        pytest.approx((0, 0, 0.1)), pytest.approx((0.1, 0, 0)),
    ]  # fmt: skip
    assert found.position == pytest.approx((0.05, 0, 0.05))


def _trap(m: SmallModel):
    """A trap about the origin, drawn as two legs: up, and along the x axis."""
    up, along = m.extrusion(0.0603, 0.1), m.extrusion(0.0603, 0.1)
    along.Position = m.axes((0, 0, 0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return m.element(
        "IfcWasteTerminal", "trap", at=m.placement((0, 0, 0)), shape=m.shape(up, along),
        predefined="WASTETRAP",
    )  # fmt: skip


def _sewer(m: SmallModel):
    """A sewer connection whose face is met, placed in its middle."""
    body = m.extrusion(0.1, 0.1)
    body.Position = m.axes((0, 0, -0.05))
    shape, at = m.shape(body), m.placement((1.05, 0, 0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return m.element("IfcDistributionChamberElement", "Sewer connection", at=at, shape=shape)


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("where", ["without a place", "where each part is placed"])
def test_parts_whose_unlinked_ports_tell_no_place_are_met_at_their_shape(tmp_path, schema, where):
    m = SmallModel(schema)
    parts = [
        (m.pipe((0, 0, 3), (0, 0, 0.1), name="down"), (0, 0, 3)),
        (_trap(m), (0, 0, 0)),
        (m.pipe((0.1, 0, 0), (1, 0, 0), name="level"), (0.1, 0, 0)),
        (_sewer(m), (1.05, 0, 0)),
    ]
    for part, place in parts:
        is_last = part is parts[-1][0]
        ports = m.ports(part, *[place] * (1 if is_last else 2))
        for port in ports if where == "without a place" else ():
            port.ObjectPlacement = None
    model = read(m.write(tmp_path))
    joined = {frozenset(model.elements[i].name for i in (j.a, j.b)) for j in model.joints}
    expected = [("down", "trap"), ("trap", "level"), ("level", "Sewer connection")]
    assert joined == {frozenset(pair) for pair in expected}
    assert all(joint.inferred for joint in model.joints)


def test_what_nothing_meets_keeps_its_ports(tmp_path):
    m = SmallModel()
    unplaced(m, _trap(m), "SINK", "SOURCE")
    (trap,) = read(m.write(tmp_path)).elements
    assert [(end.position, end.flow) for end in trap.ends] == [(None, "in"), (None, "out")]


def test_a_port_where_its_part_is_placed_stands_where_other_ports_are_placed(tmp_path):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="level")
    m.ports(pipe, (0, 0, 0), (1, 0, 0))
    sewer = _sewer(m)
    sewer.ObjectPlacement = m.placement((1.0, 0, 0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    m.ports(sewer, (1.0, 0, 0))
    model = read(m.write(tmp_path))
    (at,) = (e.ends[0].position for e in model.elements if e.name == "Sewer connection")
    assert at == pytest.approx((1.0, 0, 0))
    assert len(model.joints) == 1
