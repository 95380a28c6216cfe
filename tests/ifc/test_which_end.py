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
