"""Water and other services that nobody drinks from: what tells them, and where they end."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from tests.ifc.small_models import SmallModel
from tests.ifc.test_systems_by_words import systems


@pytest.mark.parametrize(
    ("name", "literal", "system"),
    [
        ("Pool Water", "WATERSUPPLY", System.NON_POTABLE),
        ("Pool Return", "DOMESTICCOLDWATER", System.NON_POTABLE),
        ("P-POOL", "NOTDEFINED", System.NON_POTABLE),
        ("Spa Supply", "HEATING", System.NON_POTABLE),
        ("Ornamental Fountain", "WATERSUPPLY", System.NON_POTABLE),
        ("Pool Cold Water", "WATERSUPPLY", System.COLD_WATER),  # which fills it
        ("Pool Deck Drainage", "NOTDEFINED", System.SANITARY),
        ("Drinking Fountain Supply", "WATERSUPPLY", System.WATER),
        ("Reclaimed Water", "DOMESTICCOLDWATER", System.NON_POTABLE),
        ("Rainwater Supply", "RAINWATER", System.NON_POTABLE),
        ("Rainwater", "RAINWATER", System.STORM),
        ("Rainwater", "WATERSUPPLY", System.NON_POTABLE),  # led to fixtures
        ("Gray water", "DRAINAGE", System.SANITARY),
        ("Process Water", "WATERSUPPLY", System.NON_POTABLE),
        ("Chilled Water Supply", "WATERSUPPLY", System.HEATING),
        ("Condenser Water Return", "NOTDEFINED", System.HEATING),
        ("Heating Hot Water Supply", "NOTDEFINED", System.HEATING),
        ("Condensate Return", "NOTDEFINED", System.HEATING),  # of steam
        ("Condensate Drain", "DRAINAGE", System.CONDENSATE),
        ("Boiler Makeup Water", "WATERSUPPLY", System.WATER),
        ("Wet Standpipe", "WATERSUPPLY", System.FIRE),
        ("Fire Service", "DOMESTICCOLDWATER", System.FIRE),
        ("Combined Fire and Domestic Water Service", "WATERSUPPLY", System.WATER),
        ("Irrigation Sprinkler Main", "WATERSUPPLY", System.COLD_WATER),
        ("Medical Oxygen", "GAS", System.OTHER),
        ("Natural Gas", "GAS", System.GAS),
        ("Dialysis Water", "WATERSUPPLY", System.OTHER),
        ("Medical Vacuum", "VACUUM", System.OTHER),
        ("Compressed Air", "NOTDEFINED", System.OTHER),
        ("Acid Waste", "CHEMICAL", System.SANITARY),
        ("Acid Vent", "CHEMICAL", System.VENT),
        ("Acid Dosing", "CHEMICAL", System.OTHER),
        ("Diesel Fuel Vent", "NOTDEFINED", System.OTHER),
        ("Domestic Cold Water", "DOMESTICCOLDWATER", System.COLD_WATER),
    ],
)
def test_the_name_of_a_system_tells_what_its_literal_does_not(tmp_path, name, literal, system):
    m = SmallModel()
    m.system(name, [m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")], literal)
    assert systems(read(m.write(tmp_path)))["Pipe"] is system


def _in_line(m: SmallModel, middle: str, predefined: str) -> None:
    """Pool pipe, a valve or meter, a pipe of no system; joined by ports."""
    ifc_class = "IfcFlowMeter" if predefined == "WATERMETER" else "IfcValve"
    made = [
        m.ports(m.pipe((0, 0, 0), (1, 0, 0), name="Pool pipe"), (0, 0, 0), (1, 0, 0)),
        m.ports(
            m.element(ifc_class, middle, predefined=predefined, at=m.placement((1.05, 0, 0))),
            (1, 0, 0), (1.1, 0, 0),
        ),
        m.ports(m.pipe((1.1, 0, 0), (2, 0, 0), name="Copper"), (1.1, 0, 0), (2, 0, 0)),
    ]  # fmt: skip
    m.connect(made[0][1], made[1][0])
    m.connect(made[1][1], made[2][0])


@pytest.mark.parametrize(
    ("middle", "predefined", "beyond"),
    [
        ("Ball valve", "ISOLATING", System.NON_POTABLE),
        ("Reduced pressure backflow preventer", "CHECK", None),
        ("Atmospheric vacuum breaker", "ANTIVACUUM", None),
        ("Water meter", "WATERMETER", System.COLD_WATER),
    ],
)
def test_it_passes_no_device_against_backflow_and_no_meter(
    tmp_path, middle, predefined, beyond
) -> None:
    m = SmallModel()
    _in_line(m, middle, predefined)
    assert systems(read(m.write(tmp_path)))["Copper"] is beyond


@pytest.mark.parametrize(
    ("one", "other", "beyond"),
    [("Pool Water 1", "Pool Water 2", System.NON_POTABLE), ("Pool Water", "X-1234", None),
     ("Chilled Water", "P-DOMW", None), ("Chilled Water", "", System.HEATING)],
)  # fmt: skip
def test_it_ends_where_a_system_of_another_name_begins(tmp_path, one, other, beyond):
    m = SmallModel()
    pipes = [m.pipe((x, 0, 0), (x + 1, 0, 0), name=f"Pipe {x}") for x in (0, 1)]
    ends = [m.ports(pipe, (x, 0, 0), (x + 1, 0, 0)) for x, pipe in enumerate(pipes)]
    m.connect(ends[0][1], ends[1][0])
    m.system(one, pipes[:1], "NOTDEFINED")
    if other:
        m.system(other, pipes[1:], "NOTDEFINED")
    assert systems(read(m.write(tmp_path)))["Pipe 1"] is beyond


@pytest.mark.parametrize(
    ("system", "literal", "port", "told"),
    [
        ("Pool Water", "NOTDEFINED", "WATERSUPPLY", System.NON_POTABLE),
        ("Medical Oxygen", "NOTDEFINED", "GAS", System.OTHER),
        ("Domestic Cold Water", "NOTDEFINED", "WATERSUPPLY", System.WATER),
        ("Natural Gas", "NOTDEFINED", "GAS", System.GAS),
    ],
)
def test_a_pump_is_of_the_piping_it_stands_in(tmp_path, system, literal, port, told):
    m = SmallModel()
    pipes = [m.pipe((0, 0, 0), (1, 0, 0)), m.pipe((1.4, 0, 0), (3, 0, 0))]
    pump = m.element("IfcPump", "Pump P-1", predefined="CIRCULATOR", at=m.placement((1.2, 0, 0)))
    before, after = (
        m.ports(pipes[0], (0, 0, 0), (1, 0, 0)),
        m.ports(pipes[1], (1.4, 0, 0), (3, 0, 0)),
    )
    own = m.ports(pump, (1, 0, 0), (1.4, 0, 0))
    for each in own:
        each.SystemType = port
    m.connect(before[1], own[0])
    m.connect(own[1], after[0])
    m.system(system, pipes, literal)
    assert systems(read(m.write(tmp_path)))["Pump P-1"] is told


@pytest.mark.parametrize(
    ("ifc_class", "name", "role"),
    [
        ("IfcBoiler", "Pool Heater PH-1", Role.APPLIANCE),
        ("IfcHeatExchanger", "Pool heat exchanger", Role.APPLIANCE),
        ("IfcBoiler", "Water Heater WH-1", Role.HEATER),
    ],
)
def test_a_heater_of_a_pool_is_no_water_heater(tmp_path, ifc_class, name, role):
    m = SmallModel()
    m.element(ifc_class, name, at=m.placement((0, 0, 0)))
    (element,) = read(m.write(tmp_path)).elements
    assert element.role is role
    assert (element.kind == "pool-heater") is (role is Role.APPLIANCE)


@pytest.mark.parametrize(
    ("literals", "doubted"),
    [
        (("DOMESTICCOLDWATER", "WATERSUPPLY"), False),  # of which it is a kind
        (("DOMESTICCOLDWATER", "DOMESTICHOTWATER"), True),
        (("WATERSUPPLY", "SEWAGE"), True),
    ],
)
def test_ports_of_cold_water_and_of_water_agree(tmp_path, literals, doubted):
    m = SmallModel()
    tee = m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)))
    own = m.ports(tee, (-0.05, 0, 0), (0.05, 0, 0), (0, 0.05, 0))
    for port, literal in zip(own, (*literals, literals[1]), strict=True):
        port.SystemType = literal
    notes = read(m.write(tmp_path)).notes
    assert any("are of different services" in n.what for n in notes) is doubted
