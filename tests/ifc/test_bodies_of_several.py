"""Bodies that join several services, and fittings that more pipes enter than they have legs."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role
from tests.ifc.small_models import SmallModel


def joined_to(model, name):
    """The names of what is joined to an element."""
    of = {i for i, e in enumerate(model.elements) if e.name == name}
    found = [(j.a, j.b) for j in model.joints if of & {j.a, j.b}]
    return sorted(model.elements[b if a in of else a].name for a, b in found)


@pytest.mark.parametrize(
    ("service", "names"),
    [("DRAINAGE", ["Nipple"]), ("DOMESTICHOTWATER", ["Nipple"]), ("GAS", [])],
)
def test_a_relief_line_meets_its_heater_whatever_service_the_port_states(tmp_path, service, names):
    """Never a port of the fuel."""
    m = SmallModel()
    heater = m.element("IfcTank", "Water heater storage 40 gal", predefined="STORAGE")
    (port,) = m.ports(heater, (1, 0, 1))
    port.SystemType = service
    nipple = m.pipe((1, 0, 1), (1.1, 0, 1), name="Nipple")
    m.system("Relief discharge", [nipple])
    model = read(m.write(tmp_path))
    assert joined_to(model, "Water heater storage 40 gal") == names


@pytest.mark.parametrize(("kind", "joined"), [("Thermostatic mixing valve", 3), ("Ball valve", 2)])
def test_the_cold_side_of_a_mixing_valve_in_the_hot_water(tmp_path, kind, joined):
    m = SmallModel()
    valve = m.element("IfcValve", kind, predefined="MIXING" if joined == 3 else "ISOLATING")
    m.ports(valve, (-0.1, 0, 0), (0.1, 0, 0), (0, 0.1, 0))
    hot = [m.pipe((-1, 0, 0), (-0.1, 0, 0), name="H"), m.pipe((0.1, 0, 0), (1, 0, 0), name="M")]
    cold = m.pipe((0, 0.1, 0), (0, 1, 0), name="C")
    m.system("Hot", [valve, *hot], "DOMESTICHOTWATER")
    m.system("Cold", [cold], "DOMESTICCOLDWATER")
    assert len(joined_to(read(m.write(tmp_path)), kind)) == joined


def spread(m, name, legs):
    """A fitting drawn as legs from its middle, each at an angle (degrees) and of a length."""
    solids = []
    for angle, length in legs:
        direction = (math.cos(math.radians(angle)), math.sin(math.radians(angle)), 0.0)
        solids.append(
            m.file.create_entity(
                "IfcExtrudedAreaSolid", m.round_profile(0.0267),
                m.axes((0, 0, 0), direction, (0.0, 0.0, 1.0)), m.direction((0, 0, 1)),
                m.length(length),
            )
        )  # fmt: skip
    return m.element(
        "IfcPipeFitting", name, predefined="JUNCTION", at=m.placement((0, 0, 0)),
        shape=m.shape(*solids),
    )  # fmt: skip


def away(angle, length, to):
    """A pipe's two places on the line of a leg."""
    x, y = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return (length * x, length * y, 0.0), (to * x, to * y, 0.0)


def test_a_manifold_whose_legs_stand_close_keeps_every_branch(tmp_path):
    """Tips as near as 4 mm to the next leg, and ends nearer to each other than the tolerance."""
    m = SmallModel()
    legs = [(180, 0.04), (61, 0.032), (15, 0.028), (22, 0.036), (38, 0.028)]
    spread(m, "Gas manifold", legs)
    pipes = [m.pipe(*away(a, length, 2.0), name=f"P{a}", diameter=0.02) for a, length in legs]
    m.system("Gas", pipes, "GAS")
    model = read(m.write(tmp_path))
    assert joined_to(model, "Gas manifold") == sorted(f"P{angle}" for angle, _ in legs)
    assert len(model.joints) == len(legs)


@pytest.mark.parametrize(("kind", "joined"), [("Cross", 4), ("Tee", 3)])
def test_a_branch_that_ends_within_the_legs_of_a_fitting_is_of_it(tmp_path, kind, joined):
    """Branches that begin at its middle, as many as a fitting of its kind can take."""
    m = SmallModel()
    fitting = spread(m, kind, [(180, 0.1), (0, 0.1)])
    pipes = [m.pipe(*away(angle, 0.1, 2.0), name=f"Run{angle}") for angle in (180, 0)]
    pipes += [m.pipe(*away(angle, 0.05, 2.0), name=f"Branch{angle}") for angle in (90, 270)]
    m.system("Cold", [fitting, *pipes], "DOMESTICCOLDWATER")
    assert len(joined_to(read(m.write(tmp_path)), kind)) == joined


def test_branches_along_the_bar_of_a_manifold(tmp_path):
    m = SmallModel()
    bar = spread(m, "PEX manifold", [(180, 0.3), (0, 0.3)])
    main = m.pipe((-2, 0, 0), (-0.3, 0, 0), name="Main")
    places = (-0.2, -0.1, 0.0, 0.1, 0.2)
    branches = [m.pipe((x, 0.03, 0), (x, 2, 0), name=f"B{x}", diameter=0.016) for x in places]
    beside = m.pipe((0.4, 0.03, 0), (0.4, 2, 0), name="Beside", diameter=0.016)
    m.system("Cold", [bar, main, beside, *branches], "DOMESTICCOLDWATER")
    cap = m.pipe((0.3, 0, 0), (1, 0, 0), name="Far")
    m.system("Cold 2", [cap], "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert len(joined_to(model, "PEX manifold")) == 2 + len(places)
    assert "Beside" not in joined_to(model, "PEX manifold")


def test_what_ends_at_one_place_is_joined_before_what_ends_nearby(tmp_path):
    m = SmallModel()
    pairs = [((0, 0, 0), (1, 0, 0), (2, 0, 0)), ((0, 0.006, 0), (1, 0.006, 0), (2, 0.006, 0))]
    pipes = [
        m.pipe(a, b, name=f"{row}{k}", diameter=0.004)
        for row, places in zip("AB", pairs, strict=True)
        for k, (a, b) in enumerate(pairwise(places))
    ]
    m.system("Cold", pipes, "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert "A1" in joined_to(model, "A0")
    assert "B1" in joined_to(model, "B0")
    assert {e.role for e in model.elements} == {Role.PIPE}


def without_places(m, element):
    """Two ports of an element that nothing places."""
    ports = m.ports(element, (0, 0, 0), (0, 0, 0))
    for port, flow in zip(ports, ("SINK", "SOURCE"), strict=True):
        port.ObjectPlacement, port.FlowDirection = None, flow


def test_a_valve_whose_ports_have_no_place_stands_between_the_pipes_that_meet_there(tmp_path):
    m = SmallModel()
    valve = m.element("IfcValve", "Valve", predefined="CHECK", at=m.placement((1, 0, 0)))
    aside = m.element("IfcValve", "Aside", predefined="CHECK", at=m.placement((1, 0.5, 0)))
    pipes = [m.pipe((0, 0, 0), (1, 0, 0), name="A"), m.pipe((1, 0, 0), (2, 0, 0), name="B")]
    for each in (valve, aside):
        without_places(m, each)
    m.system("Cold", [valve, aside, *pipes], "DOMESTICCOLDWATER")
    model = read(m.write(tmp_path))
    assert joined_to(model, "Valve") == ["A", "B"]
    assert joined_to(model, "Aside") == []
    (kept,) = [e for e in model.elements if e.name == "Aside"]
    assert [end.flow for end in kept.ends] == ["in", "out"]


def test_a_sump_whose_ports_have_no_place_is_met_within_its_box(tmp_path):
    m = SmallModel()
    sump = m.block("IfcDistributionChamberElement", "Sewage sump", (0.8, -0.3, -1), (1.4, 0.3, 0.2))
    sump.PredefinedType = "SUMP"
    m.contain(sump, m.storey)
    without_places(m, sump)
    pipes = [m.pipe((0, 0, 0), (1, 0, 0), name="Drain"), m.pipe((1, 0, 0), (1, 0, 3), name="Vent")]
    m.system("Soil", [sump, *pipes], "SEWAGE")
    assert joined_to(read(m.write(tmp_path)), "Sewage sump") == ["Drain", "Vent"]


@pytest.mark.parametrize(
    ("ifc_class", "predefined", "service", "flow", "joined"),
    [
        ("IfcSanitaryTerminal", "TOILETPAN", "DOMESTICCOLDWATER", "SINK", True),
        ("IfcSanitaryTerminal", "TOILETPAN", "DOMESTICCOLDWATER", "SOURCEANDSINK", True),
        ("IfcSanitaryTerminal", "TOILETPAN", "DOMESTICCOLDWATER", "SOURCE", False),
        ("IfcSanitaryTerminal", "TOILETPAN", "GAS", "SINK", False),
        ("IfcElectricAppliance", "WASHINGMACHINE", "DOMESTICHOTWATER", "SINK", True),
        ("IfcElectricAppliance", "WASHINGMACHINE", "DOMESTICHOTWATER", "SOURCE", False),
        ("IfcBoiler", "WATER", "GAS", "SINK", True),
    ],
)
def test_a_port_of_no_told_service_takes_what_its_body_takes(
    tmp_path, ifc_class, predefined, service, flow, joined
):
    """The body is in the systems of all that it is joined to, one of which is named first."""
    m = SmallModel()
    body = m.element(ifc_class, "Body", predefined=predefined, at=m.placement((0, 0, 0)))
    m.ports(body, (0, 0.1, 0.3), (0, 0, 0), flows=(flow, "SOURCE"))
    supply, drain = m.pipe((0, 1, 0.3), (0, 0.1, 0.3), name="Supply"), m.pipe((0, 0, 0), (0, 0, -1))
    first = "DOMESTICCOLDWATER" if ifc_class == "IfcBoiler" else "SEWAGE"
    m.system("First", [body, drain], first)
    m.system("Supply", [body, supply], service)
    assert ("Supply" in joined_to(read(m.write(tmp_path)), "Body")) is joined


def test_a_drain_meets_the_outlet_of_a_washer_that_is_only_in_the_cold_water(tmp_path):
    m = SmallModel()
    washer = m.element("IfcElectricAppliance", "Washer", predefined="WASHINGMACHINE")
    m.ports(washer, (0, 0, 0.5), (0, 0, 0), flows=("SINK", "SOURCE"))
    drains = [m.pipe((0, 0, 0), (0, 0, -1), name="D"), m.pipe((0, 0, 0.5), (0, 1, 0.5), name="E")]
    m.system("Cold", [washer], "DOMESTICCOLDWATER")
    m.system("Soil", drains, "SEWAGE")
    assert joined_to(read(m.write(tmp_path)), "Washer") == ["D"]
