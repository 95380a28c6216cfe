"""Placements of every kind: the element is where they put it, or it is said that nobody knows."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.review import review
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import block


def grid_placement(m: SmallModel):
    """The crossing of two grid axes, 7 m along x and 3 m along y."""
    create = m.file.create_entity

    def axis(tag, start, end):
        line = create("IfcPolyline", [m.point(start), m.point(end)])
        return create("IfcGridAxis", tag, line, True)

    one, two = axis("A", (7, 0), (7, 9)), axis("1", (0, 3), (9, 3))
    grid = m.root("IfcGrid", "Grid", ObjectPlacement=m.placement((0, 0, 0)))
    grid.UAxes, grid.VAxes = [one], [two]
    crossing = create("IfcVirtualGridIntersection", [one, two], [0.0, 0.0, 0.0])
    return create("IfcGridPlacement", PlacementLocation=crossing)


def linear_placement(m: SmallModel, cartesian, parent=None):
    create = m.file.create_entity
    line = create("IfcPolyline", [m.point((0, 0, 0)), m.point((100, 0, 0))])
    along = create(
        "IfcPointByDistanceExpression", DistanceAlong=create("IfcLengthMeasure", 12.0),
        BasisCurve=line,
    )  # fmt: skip
    return create(
        "IfcLinearPlacement", PlacementRelTo=parent,
        RelativePlacement=create("IfcAxis2PlacementLinear", Location=along),
        CartesianPosition=cartesian,
    )  # fmt: skip


def with_placement(schema: str, make, below: bool = False):
    """A pipe 2 m long whose placement is made, and one beside it in the usual way."""
    m = SmallModel(schema)
    m.pipe((0, 5, 0), (2, 5, 0), name="Usual", type_name="Pipe")
    odd = m.pipe((0, 0, 0), (2, 0, 0), name="Odd", type_name="Pipe")
    placement = make(m)
    if below:
        odd.ObjectPlacement.PlacementRelTo = placement
    else:
        odd.ObjectPlacement = placement
    return m


def odd_of(tmp_path, m: SmallModel):
    path = m.write(tmp_path)
    model = read(path)
    odd = next(e for e in model.elements if e.name == "Odd")
    usual = next(e for e in model.elements if e.name == "Usual")
    assert usual.position == (0, 5, 0)
    return path, model, odd


def assert_reported(path, odd) -> None:
    """Placed nowhere, and the review says so of the element itself."""
    assert odd.position is None
    assert all(end.position is None for end in odd.ends)
    done = review([path], code="upc-2021")
    said = [f for f in done.findings if f.rule == "told-without-doubt"]
    assert [(f.element_ids, f.message.split(";")[0]) for f in said] == [
        ((odd.guid,), "The placement of Odd cannot be read")
    ]
    assert "IfcLocalPlacement" in said[0].remedy


@pytest.mark.parametrize("below", [False, True], ids=["itself", "what it is placed in"])
@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4", "IFC4X3_ADD2"])
def test_a_grid_placement_is_reported(tmp_path, schema, below):
    path, _, odd = odd_of(tmp_path, with_placement(schema, grid_placement, below))
    assert_reported(path, odd)


@pytest.mark.parametrize("below", [False, True], ids=["itself", "what it is placed in"])
def test_a_linear_placement_without_a_cartesian_position_is_reported(tmp_path, below):
    m = with_placement("IFC4X3_ADD2", lambda m: linear_placement(m, None), below)
    path, _, odd = odd_of(tmp_path, m)
    assert_reported(path, odd)


def test_a_linear_placement_is_where_its_cartesian_position_says(tmp_path):
    m = with_placement(
        "IFC4X3_ADD2", lambda m: linear_placement(m, m.axes((12, 1, 0), z=(0, 1, 0), x=(0, 0, 1)))
    )
    _, _, odd = odd_of(tmp_path, m)
    assert odd.position == pytest.approx((12, 1, 0))
    assert odd.ends[1].position == pytest.approx((12, 3, 0))


def test_a_linear_placement_in_a_placement_of_its_own(tmp_path):
    def make(m):
        return linear_placement(m, m.axes((12, 1, 0)), m.placement((100, 0, 0)))

    _, _, odd = odd_of(tmp_path, with_placement("IFC4X3_ADD2", make))
    assert odd.position == pytest.approx((112, 1, 0))


@pytest.mark.parametrize(("far", "place"), [(5.0, (5.0, 0.0, 0.0)), (0.5, (0.0, 0.0, 0.0))])
def test_a_part_without_ends_that_is_placed_at_the_origin_stands_where_its_body_is(
    tmp_path, far, place
):
    m = SmallModel()
    body = block(m, (far - 0.1, -0.1, -0.1), (far + 0.1, 0.1, 0.1))
    m.element("IfcValve", "Relief valve", at=m.placement((0, 0, 0)), shape=body)
    (valve,) = read(m.write(tmp_path)).elements
    assert valve.position == pytest.approx(place)


@pytest.mark.parametrize(("far", "place"), [(5.0, (5.0, 0.0, 0.0)), (0.5, (0.0, 0.0, 0.0))])
def test_a_part_whose_ports_have_no_place_stands_where_its_body_is(tmp_path, far, place):
    m = SmallModel()
    body = block(m, (far - 0.1, -0.1, -0.1), (far + 0.1, 0.1, 0.1))
    cleanout = m.element("IfcPipeFitting", "Cleanout", at=m.placement((0, 0, 0)), shape=body)
    for port in m.ports(cleanout, (0, 0, 0)):
        port.ObjectPlacement = None
    (read_back,) = read(m.write(tmp_path)).elements
    assert [end.position for end in read_back.ends] == [None]
    assert read_back.position == pytest.approx(place)


@pytest.mark.parametrize("origin", [(0.0, 0.0, 0.0), (20.0, 30.0, 3.0)])
@pytest.mark.parametrize(
    ("others", "ends", "stands"),
    [
        (3, [(0.5, 0, 0.2), (0.7, 0, 0.2)], (0.6, 0.0, 0.2)),
        (2, [(0.5, 0, 0.2), (0.7, 0, 0.2)], (0.0, 0.0, 0.0)),  # no more than may meet there
        (3, [(0.04, 0, 0), (0.24, 0, 0)], (0.0, 0.0, 0.0)),
        (3, [(0.06, 0, 0), (0.26, 0, 0)], (0.16, 0.0, 0.0)),
        (3, [(-0.1, 0, 0), (0, 0.1, 0)], (0.0, 0.0, 0.0)),  # the corner of a bend
    ],
)
def test_what_is_placed_where_many_are_stands_where_its_ports_are(
    tmp_path, origin, others, ends, stands
):
    m = SmallModel()
    for n in range(others):
        m.pipe((n, 5, 0), (n, 7, 0), name=f"Pipe {n}")
    for pipe in m.file.by_type("IfcPipeSegment"):
        pipe.ObjectPlacement = m.placement(origin)
    valve = m.element("IfcValve", "Odd", predefined="ISOLATING", at=m.placement(origin))
    m.ports(valve, *(tuple(a + b for a, b in zip(origin, end, strict=True)) for end in ends))
    model = read(m.write(tmp_path))
    odd = next(e for e in model.elements if e.name == "Odd")
    told = [a - b for a, b in zip(odd.position, origin, strict=True)]
    assert told == pytest.approx(stands)
