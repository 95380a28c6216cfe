"""Flows that are stated the wrong way round, told by meters: all who take lie at their inlets."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.reviewing import without_corrections

RIGHT, WRONG = ("SINK", "SOURCE"), ("SOURCE", "SINK")


def supply(m: SmallModel, meter_flows, pipe_flows, street=True, users="after"):
    """From the street through a meter and a valve to a lavatory; or the lavatory on both sides."""
    meter, valve = (
        m.element(ifc_class, name, predefined=kind, at=m.placement((x, 0, 0)))
        for ifc_class, name, kind, x in (
            ("IfcFlowMeter", "Water meter", "WATERMETER", 1),
            ("IfcValve", "Ball valve", "ISOLATING", 2),
        )
    )
    pipes = [m.pipe((x, 0, 0), (x + 0.8, 0, 0), name="3/4 in pipe") for x in (0.1, 1.1, 2.1)]
    basin = m.element("IfcSanitaryTerminal", "Lavatory", predefined="WASHHANDBASIN",
                      at=m.placement((3, 0, 0)))  # fmt: skip
    ports = {
        "meter": m.ports(meter, (0.9, 0, 0), (1.1, 0, 0), flows=meter_flows),
        "valve": m.ports(valve, (1.9, 0, 0), (2.1, 0, 0), flows=pipe_flows),
        "basin": m.ports(basin, (2.9, 0, 0), flows=pipe_flows[:1]),
    }
    of_pipes = [
        m.ports(p, (x, 0, 0), (x + 0.8, 0, 0), flows=pipe_flows)
        for p, x in zip(pipes, (0.1, 1.1, 2.1), strict=True)
    ]
    chain = [
        *of_pipes[0],
        *ports["meter"],
        *of_pipes[1],
        *ports["valve"],
        *of_pipes[2],
        *ports["basin"],
    ]
    first = 1 if street else 3
    for a, b in zip(chain[first::2], chain[first + 1 :: 2], strict=False):
        m.connect(a, b)
    if users == "both":
        other = m.element("IfcSanitaryTerminal", "Lavatory 2", predefined="WASHHANDBASIN",
                          at=m.placement((0, 0, 0)))  # fmt: skip
        m.connect(m.ports(other, (0.1, 0, 0), flows=("SINK",))[0], chain[0])
    m.system("Cold water", [meter, valve, *pipes], "DOMESTICCOLDWATER")


def flows(model, role):
    return [[end.flow for end in e.ends] for e in model.elements if e.role is role]


@pytest.mark.parametrize("street", [True, False])
@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("meter_flows", "pipe_flows", "told"),
    [
        (RIGHT, RIGHT, ""),
        (WRONG, RIGHT, "it was turned"),
        (WRONG, WRONG, "all ports of its file were turned"),
    ],
)
def test_a_meter_gives_to_those_who_take(tmp_path, schema, meter_flows, pipe_flows, told, street):
    m = SmallModel(schema)
    supply(m, meter_flows, pipe_flows, street)
    model = read(m.write(tmp_path))
    assert flows(model, Role.METER) == [["in", "out"]]
    assert flows(model, Role.PIPE) == [["in", "out"]] * 3
    assert flows(model, Role.FIXTURE) == [["in"]]
    notes = [n.what for n in model.notes if n.topic == "flow"]
    assert (told in notes[0]) if told else notes == []


def test_a_meter_with_users_on_both_sides_is_left(tmp_path):
    m = SmallModel()
    supply(m, WRONG, RIGHT, users="both")
    model = read(m.write(tmp_path))
    assert flows(model, Role.METER) == [["out", "in"]]


def test_a_meter_with_one_port_that_is_stated_to_take(tmp_path):
    m = SmallModel()
    meter = m.element("IfcFlowMeter", "Gas meter", predefined="GASMETER", at=m.placement((0, 0, 0)))
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="1 in pipe")
    stove = m.element("IfcElectricAppliance", "Gas range", at=m.placement((1, 0, 0)))
    a, *b, c = [
        *m.ports(meter, (0, 0, 0), flows=("SINK",)),
        *m.ports(pipe, (0, 0, 0), (1, 0, 0), flows=RIGHT),
        *m.ports(stove, (1, 0, 0), flows=("SINK",)),
    ]
    m.connect(a, b[0])
    m.connect(b[1], c)
    m.system("Gas", [meter, pipe], "GAS")
    model = read(m.write(tmp_path))
    assert flows(model, Role.METER) == [["out"]]
    assert flows(model, Role.PIPE) == [["in", "out"]]


@pytest.mark.parametrize("pipe_flows", [RIGHT, WRONG])
def test_a_supply_stated_backward_is_no_violation(tmp_path, pipe_flows):
    m = SmallModel("IFC4", "MILLIMETRE")
    supply(m, WRONG, pipe_flows)
    done = without_corrections([m.write(tmp_path)], None, "upc-2021")
    wrong = [f.rule for f in done.findings if f.outcome.value == "violation"]
    assert not {"main-shutoff-valve", "supply-is-fed"} & {*wrong}
    assert not [f for f in done.findings if f.rule == "supply-is-fed"]


@pytest.mark.parametrize("both", ["SINK", "SOURCE"])
def test_two_joined_ports_that_both_take_or_both_give_tell_no_flow(tmp_path, both):
    m = SmallModel()
    supply(m, RIGHT, (both, both))
    model = read(m.write(tmp_path))
    assert flows(model, Role.FIXTURE) == [[""]]
    assert flows(model, Role.METER) == [["in", "out"]]  # it tells both
    (note,) = (n.what for n in model.notes if n.topic == "flow")
    assert note.startswith("At 4 joints")
