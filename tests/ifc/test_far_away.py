"""What is drawn far off, or far too long, is one note on its element and forbids a pass."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel


def house(unit="METRE"):
    """Pipes end to end along x."""
    m = SmallModel("IFC4", unit)
    for x in range(6):
        m.pipe((x, 0, 0), (x + 1, 0, 0), name=f"Pipe {x}")
    return m


def told(model):
    return [(n.topic, n.what) for n in model.notes if "where it is, is not taken" in n.what]


@pytest.mark.parametrize("ports", [True, False])
@pytest.mark.parametrize("unit", ["METRE", "FOOT"])
@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        ((9e7, 0, 0), (9e7 + 1, 0, 0), "Lost is drawn 90,000 km from the rest"),
        ((0, 1, 0), (9e7, 1, 0), "Lost is drawn 90,000 km long"),
        ((0, 1, 0), (0, 1, -3e4), "Lost is drawn 30 km long"),
        ((0, 1, 0), (1_000.0, 1, 0), ""),  # a sewer in a street
    ],
)
def test_a_pipe(tmp_path, ports, unit, start, end, said):
    m = house(unit)
    lost = m.pipe(start, end, name="Lost")
    if ports:
        m.ports(lost, start, end)
    model = read(m.write(tmp_path))
    assert told(model) == (
        [("damage", f"{said}; where it is, is not taken from that.")] * bool(said)
    )
    places = [end.position for e in model.elements for end in e.ends if end.position is not None]
    assert max(abs(p[k]) for p in places for k in range(3)) < 20_000
    assert all((e.length_m or 0.0) < 20_000 for e in model.elements)


@pytest.mark.parametrize(("away", "notes"), [(5e4, 1), (1.0, 0)])
def test_a_fixture(tmp_path, away, notes):
    m = house()
    m.element(
        "IfcSanitaryTerminal", "Lost", predefined="TOILETPAN", at=m.placement((away, 0, 0)),
        shape=m.shape(m.extrusion(0.5, 0.4)),
    )  # fmt: skip
    model = read(m.write(tmp_path))
    assert len(told(model)) == notes
    (lost,) = [e for e in model.elements if e.name == "Lost"]
    assert (lost.position is None) == bool(notes)


def test_a_building_that_is_far_from_its_origin_is_no_fault(tmp_path):
    m = SmallModel("IFC4", "METRE")
    for x in range(6):
        m.pipe((5e6 + x, 3e5, 0), (5e6 + x + 1, 3e5, 0), name=f"Pipe {x}")
    model = read(m.write(tmp_path))
    assert told(model) == []
    assert all(e.length_m == pytest.approx(1.0) for e in model.elements)


@pytest.mark.parametrize(("away", "notes"), [(9e7, 1), (1.0, 0)])
def test_a_body_far_from_its_ports(tmp_path, away, notes):
    m = house()
    lost = m.pipe((0, 1, 0), (1, 1, 0), name="Lost")
    lost.Representation.Representations[0].Items[0].Position = m.axes((away, 0, 0))
    m.ports(lost, (0, 1, 0), (1, 1, 0))
    model = read(m.write(tmp_path))
    assert len(told(model)) == notes
    assert model.elements[-1].length_m == pytest.approx(1.0)


@pytest.mark.parametrize(("away", "notes"), [(9e7, 1), (9.0, 0)])
def test_a_wall(tmp_path, away, notes):
    m = house()
    m.block("IfcWall", "Lost", (away, 0, 0), (away + 1, 3, 3))
    model = read(m.write(tmp_path))
    assert len([n for n in model.notes if "from the piping" in n.what]) == notes
    assert len(model.surfaces) == 1 - notes
