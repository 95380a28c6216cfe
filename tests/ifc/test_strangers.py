"""Pipes that end in the body of what is not understood lead there, and not nowhere."""

from __future__ import annotations

import pytest

from ifclint.findings import Outcome
from ifclint.ifc import read
from ifclint.review import review
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import block


def led_to(tmp_path, name="Xylophone", size=0.1, at=1.05, ifc_class="IfcBuildingElementProxy"):
    """What a pipe that ends at x = 1 leads to, beside a body of half this size around x = `at`."""
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe", diameter=0.06)
    body = block(m, (at - size, -size, -size), (at + size, size, size))
    m.element(ifc_class, name, at=m.placement((0, 0, 0)), shape=body)
    return [*read(m.write(tmp_path)).leads_elsewhere.values()]


@pytest.mark.parametrize(
    ("body", "found"),
    [
        ({}, ["Xylophone"]),
        ({"at": 1.2}, []),  # beside it
        ({"size": 0.57}, ["Xylophone"]),
        ({"size": 0.585}, []),  # more than 2 m across: a body of the building
        ({"name": "2 in Wye DWV"}, []),  # understood
    ],
)
def test_a_pipe_leads_to_the_body_that_it_ends_in(tmp_path, body, found):
    assert led_to(tmp_path, **body) == found


def test_the_smallest_of_several_bodies_is_meant(tmp_path):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe", diameter=0.06)
    for name, size in (("Cupboard", 0.4), ("Xylophone", 0.1)):
        body = block(m, (1 - size, -size, -size), (1 + size, size, size))
        m.element("IfcBuildingElementProxy", name, at=m.placement((0, 0, 0)), shape=body)
    assert [*read(m.write(tmp_path)).leads_elsewhere.values()] == ["Xylophone"]


def drained_into(tmp_path, name, vent_into=""):
    """A basin, its trap, a vented drain that ends in a body of some name, and one of the vent's."""
    m = SmallModel()
    drop = m.pipe((0, 0, 0.5), (0, 0, -0.4), name="Drop", diameter=0.0603)
    drain = m.pipe((0, 0, -0.4), (6, 0, -0.52), name="Drain", diameter=0.0603)
    vent = m.pipe((0, 0, 0.5), (0, 0, 3), name="Riser", diameter=0.0603)
    arm = m.pipe((0.5, 0, 0.51), (0, 0, 0.5), name="Arm", diameter=0.0484)
    trap = m.element("IfcWasteTerminal", "P-trap", predefined="WASTETRAP",
                     at=m.placement((0.5, 0, 0.55)))  # fmt: skip
    m.ports(trap, (0.5, 0, 0.6), (0.5, 0, 0.51))
    basin = m.element("IfcSanitaryTerminal", "Lavatory", predefined="WASHHANDBASIN",
                      at=m.placement((0.5, 0, 0.8)))  # fmt: skip
    tail = m.pipe((0.5, 0, 0.8), (0.5, 0, 0.6), name="Tailpiece", diameter=0.0484)
    m.ports(basin, (0.5, 0, 0.8))
    m.system("Sanitary", [drop, drain, arm, trap, tail], "SEWAGE")
    m.system("Vents", [vent], "VENT")
    for called, (x, z) in ((name, (6, -0.52)), (vent_into, (0, 3))):
        if called:
            body = block(m, (x - 0.1, -0.1, z - 0.1), (x + 0.1, 0.1, z + 0.1))
            m.element("IfcBuildingElementProxy", called, at=m.placement((0, 0, 0)), shape=body)
    answers = review([m.write(tmp_path)], None, "upc-2021").findings
    return {f.rule: (f.outcome, f.message) for f in answers}


def test_a_drain_that_ends_in_what_is_not_understood_is_asked_about_with_its_name(tmp_path):
    said = drained_into(tmp_path, "Xylophone", "Glockenspiel")
    for rule, name in (
        ("fixture-reaches-outlet", "Xylophone"),
        ("vent-reaches-outdoors", "Glockenspiel"),
    ):
        outcome, message = said[rule]
        assert outcome is Outcome.UNVERIFIED
        assert name in message


@pytest.mark.parametrize(
    ("name", "outcome"), [("Xylophone", Outcome.UNVERIFIED), ("", Outcome.VIOLATION)]
)
def test_gas_piping_that_ends_in_what_is_not_understood_is_asked_about(tmp_path, name, outcome):
    m = SmallModel()
    meter = m.element("IfcFlowMeter", "Gas meter", predefined="GASMETER",
                      at=m.placement((0, 0, 1)))  # fmt: skip
    m.ports(meter, (0, 0, 1))
    pipes = [
        m.pipe((0, 0, 1), (2, 0, 1), name="Gas pipe", diameter=0.0267),
        m.pipe((2.4, 0, 1), (5, 0, 1), name="Gas pipe", diameter=0.0267),
    ]
    heater = m.element("IfcBoiler", "Gas water heater 40,000 Btu/h", predefined="WATER",
                       at=m.placement((5, 0, 1)))  # fmt: skip
    m.ports(heater, (5, 0, 1))
    m.system("Natural gas", [meter, *pipes], "GAS")
    if name:
        body = block(m, (1.95, -0.1, 0.9), (2.45, 0.1, 1.1))
        m.element("IfcBuildingElementProxy", name, at=m.placement((0, 0, 0)), shape=body)
    found = review([m.write(tmp_path)], None, "upc-2021").findings
    for rule in ("gas-piping-whole", "gas-reaches-appliance"):
        (finding,) = [f for f in found if f.rule == rule]
        assert finding.outcome is outcome
        assert (f'lies in "{name}", which is not understood' in finding.message) is bool(name)
