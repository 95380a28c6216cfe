"""Sizes that are told by a number without a unit, and of traps and valves that tell none."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Element, Model
from tests.ifc.small_models import SmallModel

OUTSIDE = {0.75: 0.0267, 1.5: 0.0483, 2.0: 0.0603, 3.0: 0.0889, 6.0: 0.1683, 8.0: 0.2191}


def told(tmp_path, unit: str, value: float, outside_m: float, name: str = "Size") -> Model:
    m = SmallModel("IFC4", unit)
    pipe = m.pipe((0, 0, 0), (1, 0, 0), diameter=outside_m, name="P")
    m.property_set(pipe, "Dimensions", [m.single(name, "IfcReal", value)])
    return read(m.write(tmp_path))


@pytest.mark.parametrize("size", sorted(OUTSIDE))
@pytest.mark.parametrize("unit", ["MILLIMETRE", "METRE", "INCH", "FOOT"])
def test_a_number_that_is_the_size_of_the_body_in_inches_is_inches(tmp_path, size, unit):
    """6 mm and 8 mm are sizes of pipe as well, and not of this one."""
    model = told(tmp_path, unit, size, OUTSIDE[size])
    assert model.elements[0].size_in == size
    assert model.elements[0].basis["size"].words == "Dimensions.Size"
    assert model.notes == []


@pytest.mark.parametrize(
    ("value", "outside_m", "name", "size", "words"),
    [
        (80.0, OUTSIDE[3.0], "Size", 3.0, "Dimensions.Size"),  # millimetres
        (3.0, OUTSIDE[2.0], "Size", 2.0, "diameter of the extruded solid"),  # neither fits
        (3.3, OUTSIDE[3.0], "Size", 3.0, "diameter of the extruded solid"),  # no size in any unit
        (3.0, OUTSIDE[3.0], "DN", 3.0, "diameter of the extruded solid"),  # a DN is in millimetres
    ],
)
def test_a_number_that_the_body_denies_in_inches_too_leaves_it_to_the_body(
    tmp_path, value, outside_m, name, size, words
):
    (pipe,) = told(tmp_path, "MILLIMETRE", value, outside_m, name).elements
    assert (pipe.size_in, pipe.basis["size"].words) == (size, words)


@pytest.mark.parametrize(
    ("value", "size"), [(0.5, 0.5), (4.0, 4.0), (5.0, None), (30.0, None), (4.2, None)]
)
def test_without_a_body_only_what_is_too_thin_for_any_pipe_is_inches(tmp_path, value, size):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.element("IfcPipeSegment", "P", at=m.placement((0, 0, 0)))
    m.property_set(pipe, "Dimensions", [m.single("Size", "IfcReal", value)])
    model = read(m.write(tmp_path))
    assert model.elements[0].size_in == size
    assert bool(model.notes) is (size is None)


@pytest.mark.parametrize(
    ("value", "size"),
    [(20.0, 0.75), (40.0, 1.5), (50.0, 2.0), (24.0, 24.0), (30.0, 30.0)],
)
def test_in_a_file_of_feet_a_large_number_is_millimetres_or_else_inches(tmp_path, value, size):
    """24 mm is no size of pipe, and 20 in and 40 in are none of a building."""
    m = SmallModel("IFC4", "FOOT")
    trap = m.element(
        "IfcWasteTerminal", "P-trap", predefined="WASTETRAP", at=m.placement((0, 0, 0))
    )
    m.property_set(trap, "Mechanical", [m.single("Diameter", "IfcReal", value)])
    (read_back,) = read(m.write(tmp_path)).elements
    assert read_back.size_in == size


def trap_between(tmp_path, inlet_m: float | None, outlet_m: float, stated: float = 0.0) -> Element:
    m = SmallModel()
    trap = m.element(
        "IfcWasteTerminal", "P-trap", predefined="WASTETRAP", at=m.placement((0, 0, 0))
    )
    ends = m.ports(trap, (0, 0, 0.1), (0.2, 0, 0))
    if stated:
        m.properties(trap, "Pset_WasteTerminalTypeCommon",
                     NominalDiameter=("IfcPositiveLengthMeasure", stated))  # fmt: skip
    for end, start, far, diameter in (
        (ends[0], (0, 0, 0.1), (0, 0, 0.5), inlet_m), (ends[1], (0.2, 0, 0), (1, 0, 0), outlet_m)
    ):  # fmt: skip
        if diameter is not None:
            pipe = m.pipe(start, far, diameter=diameter)
            m.connect(end, m.ports(pipe, start, far)[0])
    return next(e for e in read(m.write(tmp_path)).elements if e.name == "P-trap")


@pytest.mark.parametrize(
    ("inlet_m", "outlet_m", "stated", "size"),
    [
        (OUTSIDE[1.5], OUTSIDE[1.5], 0.0, 1.5),
        (OUTSIDE[2.0], OUTSIDE[2.0], 0.0, 2.0),
        (OUTSIDE[1.5], OUTSIDE[2.0], 0.0, None),  # it may be of either
        (None, OUTSIDE[1.5], 0.0, None),
        (OUTSIDE[2.0], OUTSIDE[2.0], 0.0381, 1.5),  # it says so itself
    ],
)
def test_a_trap_that_tells_no_size_has_that_of_the_pipes_at_both_its_ends(
    tmp_path, inlet_m, outlet_m, stated, size
):
    trap = trap_between(tmp_path, inlet_m, outlet_m, stated)
    assert trap.size_in == size
    if size and not stated:
        assert trap.basis["size"].words == "pipes joined to it"


@pytest.mark.parametrize(
    ("inlet_m", "outlet_m", "kind", "size"),
    [
        (OUTSIDE[0.75], OUTSIDE[0.75], "PRESSURERELIEF", 0.75),
        (OUTSIDE[1.5], OUTSIDE[0.75], "PRESSURERELIEF", None),  # its line may be too small for it
        (None, OUTSIDE[0.75], "PRESSURERELIEF", None),
        (OUTSIDE[0.75], OUTSIDE[0.75], "ISOLATING", None),  # a stop may be of another size
    ],
)
def test_so_has_a_relief_valve_and_its_outlet(tmp_path, inlet_m, outlet_m, kind, size):
    m = SmallModel()
    valve = m.element("IfcValve", "Valve", predefined=kind, at=m.placement((0, 0, 0)))
    into, out = m.ports(valve, (0, 0, 0), (0.1, 0, 0), flows=("SINK", "SOURCE"))
    for end, start, far, diameter in (
        (into, (0, 0, 0), (-1, 0, 0), inlet_m), (out, (0.1, 0, 0), (1, 0, 0), outlet_m)
    ):  # fmt: skip
        if diameter is not None:
            pipe = m.pipe(start, far, diameter=diameter)
            m.connect(end, m.ports(pipe, start, far)[0])
    made = next(e for e in read(m.write(tmp_path)).elements if e.name == "Valve")
    assert made.size_in == size
    assert made.ends[1].own_size_in == size
