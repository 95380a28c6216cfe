"""Hoses, risers and appliance connectors, known by where they are."""

from __future__ import annotations

import pytest

from ifclint.ifc.facts.connectors import tell_connectors
from ifclint.packs import Context
from ifclint.plumbing.gas.connectors import is_connector
from ifclint.rules.materials.lots import lots
from ifclint.rules.supply.pressure_model import solution
from ifclint.testing import read_network
from tests.supply.trees import context_of

LAVATORY = """
system=cold_water material=copper
water-meter 1 M  in 0 0 0 > out 1 0 0
pipe 0.75 MAIN  1 0 0 > 20 0 0
{stop} 0.5 STOP  20 0 0 > 20.3 0 0
pipe {size} HOSE material={material}  20.3 0 0 > {end} 0 0
{taker}
"""


def riser(
    stop: str = "isolating", size: str = "0.5", end: float = 22.3, material: str = "EPDM_hose",
    taker: str = "lavatory L  cold {end} 0 0",
) -> str:  # fmt: skip
    drawn = LAVATORY.format(stop=stop, size=size, end=end, material=material, taker=taker)
    return drawn.format(end=end)


def told(text: str) -> Context:
    model = read_network(text).model
    tell_connectors(model.elements, model.joints)
    return context_of(model)


def kinds(context: Context) -> dict[str, str]:
    return {e.guid: e.kind for e in context.plumbing.network.elements}


@pytest.mark.parametrize(
    ("drawn", "kind"),
    [
        (riser(), "connector"),
        (riser(end=26.29), "connector"),  # 6 ft
        (riser(end=26.35), ""),
        (riser(stop="coupling"), ""),  # no stop before it
        (riser(size="", material="copper"), "connector"),
    ],
)
def test_what_leads_from_a_stop_to_its_fixture_is_a_connector(drawn, kind):
    assert kinds(told(drawn))["HOSE"] == kind
    assert kinds(told(drawn))["MAIN"] == ""


def test_a_branch_that_feeds_two_fixtures_behind_a_stop_is_piping():
    two = riser(taker="tee 0.5 T  {end} 0 0 > 22.5 0 0 > 22.3 0.2 0\n"
                      "lavatory L  cold 22.5 0 0\nlavatory L2  cold 22.3 0.2 0")  # fmt: skip
    assert kinds(told(two))["HOSE"] == ""


def test_a_riser_in_three_pieces_is_one_connector():
    pieces = riser(taker="bend 0.5 B  {end} 0 0 > 22.4 0 0.1\n"
                         "pipe 0.5 UP material=copper  22.4 0 0.1 > 22.4 0 1\n"
                         "lavatory L  cold 22.4 0 1")  # fmt: skip
    found = kinds(told(pieces))
    assert (found["HOSE"], found["UP"]) == ("connector", "connector")


@pytest.mark.parametrize(("end", "known"), [(22.3, True), (30.0, False)])
def test_a_hose_of_unknown_bore_hides_no_pressure(end, known):
    context = told(riser(end=end))
    solved = solution(context)
    losses = [solved.loss[line.number].unknown for line in context.plumbing.supply.segments]
    assert (losses[-1] is None) is known
    assert any("EPDM" in lot.material for lot in lots(context)) is not known


GAS = """
system=fuel_gas material=black_steel
gas-meter 1 M  in 0 0 0 > out 1 0 0
pipe 0.75 MAIN  1 0 0 > 20 0 0
gas-shutoff 0.5 STOP  20 0 0 > 20.3 0 0
pipe 0.5 TUBE material={material}  20.3 0 0 > {end} 0 0
range R  gas {end} 0 0
"""


@pytest.mark.parametrize(
    ("material", "end", "connector"),
    [
        ("stainless_steel", 23.0, True),
        ("stainless_steel", 27.0, False),  # 6.7 ft of corrugated tube are piping
        ("black_steel", 23.0, False),
    ],
)
def test_corrugated_tube_from_a_shutoff_to_its_appliance(material, end, connector):
    elements = told(GAS.format(material=material, end=end)).plumbing.network.elements
    (tube,) = (e for e in elements if e.guid == "TUBE")
    assert is_connector(tube) is connector
