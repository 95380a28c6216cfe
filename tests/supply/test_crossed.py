"""Connections whose name says one water and whose system says the other."""

from __future__ import annotations

import pytest

from ifclint.codes import load
from ifclint.findings import Outcome
from ifclint.ifc.elements import System
from ifclint.job import Job
from ifclint.network import connect
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.rules.heaters.cold_water import heater_not_reversed
from ifclint.rules.supply.crossed import not_crossed
from ifclint.testing.networks import read_network
from ifclint.testing.questions import all_answers

HOUSE = """
system=cold_water material=copper
water-meter 0.75 M  in 0 0 0 > out 1 0 0
pipe 0.75 P1  1 0 0 > 20 0 0
pipe 0.5 C  20 0 0 > 30 0 0
water-heater WH  cold 20 0 0 > hot 20 1 0
system=hot_water
pipe 0.5 H  20 1 0 > 30 1 0
lavatory L  cold 30 0 0 > hot 30 1 0
"""


@pytest.mark.parametrize(
    ("names", "outcome"),
    [
        (("Cold water", "Hot water"), Outcome.PASS),
        (("Hot water", "Cold water"), Outcome.UNVERIFIED),
        (("Cold water", "Cold water"), Outcome.UNVERIFIED),
        (("Inlet 1", "Inlet 2"), Outcome.PASS),
    ],
)
def test_a_name_that_contradicts_its_system_is_asked_about(
    names: tuple[str, str], outcome: Outcome
) -> None:
    network = read_network(HOUSE)
    (lavatory,) = (e for e in network.model.elements if e.guid == "L")
    for end, name, system in zip(
        lavatory.ends, names, (System.COLD_WATER, System.HOT_WATER), strict=True
    ):
        end.name, end.system = name, system
    context = Context(load("upc-2021"), build(connect(network.model)), Job())
    (answer,) = all_answers(not_crossed, context)["L"]
    assert answer.outcome is outcome


@pytest.mark.parametrize(
    ("names", "outcome"),
    [
        (("Cold water inlet", "Hot water outlet"), Outcome.PASS),
        (("Hot water outlet", "Cold water inlet"), Outcome.UNVERIFIED),
        (("1", "2"), Outcome.PASS),
    ],
)
def test_a_heater_whose_ports_are_named_the_other_way_is_asked_about(
    names: tuple[str, str], outcome: Outcome
) -> None:
    network = read_network(HOUSE)
    (heater,) = (e for e in network.model.elements if e.guid == "WH")
    for end, name in zip(heater.ends, names, strict=True):
        end.name = name
    context = Context(load("upc-2021"), build(connect(network.model)), Job())
    (answer,) = all_answers(heater_not_reversed, context)["WH"]
    assert answer.outcome is outcome
