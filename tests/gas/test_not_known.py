"""What a model does not tell of gas pipe is asked for, and passes nothing."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element
from ifclint.judge import answers
from ifclint.packs import Context, Rule
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.rules.gas.hangers import gas_support
from ifclint.rules.gas.piping import gas_supply_known
from ifclint.rules.gas.through_walls import gas_concealed_joint
from ifclint.testing import read_network
from tests.gas.small import context_of

RUN = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 2 > out 0.4 0 2
pipe 1 P1  0.4 0 2 > 2 0 2
gas-shutoff 1 V  2 0 2 > 2.2 0 2
pipe 1 P2  2.2 0 2 > 6 0 2
furnace F input_rating_w=20000  gas 6 0 2
wall W1 40 -5 0 > 40.5 5 9
storey Ground 0
"""


def _unplace(valve: Element) -> None:
    valve.position, valve.box = None, None
    for end in valve.ends:
        end.position = None


def _element(context: Context, guid: str) -> Element:
    return next(e for e in context.plumbing.network.elements if e.guid == guid)


def _outcomes(rule: Rule, context: Context) -> list[str]:
    return [a.outcome.value for _, given in answers(rule, context, finders()) for a in given]


@pytest.mark.parametrize("placed", [True, False])
def test_a_valve_without_a_place_is_asked_for(placed: bool) -> None:
    context = context_of(RUN)
    if not placed:
        _unplace(_element(context, "V"))
    assert ("unverified" in _outcomes(gas_concealed_joint, context)) is not placed


@pytest.mark.parametrize("length_m", [1.0, None])
def test_pipe_of_unknown_length_is_not_supported_in_silence(length_m: float | None) -> None:
    context = context_of(RUN)
    _element(context, "P2").length_m = length_m
    assert ("unverified" in _outcomes(gas_support, context)) is (length_m is None)


@pytest.mark.parametrize(
    ("called", "asked"),
    [("", ["H"]), ("called=Indirect_water_heater", []), ("called=Water_heater_50_gal", ["H"])],
)
def test_a_heater_that_a_circuit_heats_is_asked_for_no_gas_pipe(called: str, asked: list[str]):
    drawn = f"""
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 2 > out 0.4 0 2
pipe 1 P1  0.4 0 2 > 20 0 2
range R input_rating_w=19049.6  gas 20 0 2
water-heater H {called} system=none at=5,5,0
"""
    piping = build(read_network(drawn)).gas
    assert piping is not None
    assert [a.element.guid for a in piping.appliances if a.element.guid != "R"] == asked


@pytest.mark.parametrize(
    ("piping", "said"),
    [
        ("", []),
        ("gas-meter 1 GM  0 0 0", ["pass"]),
        ("pipe 1 P  0 0 0 > 9 0 0", ["unverified"]),
    ],
)
def test_where_gas_piping_begins_is_asked_of_what_is_drawn(piping: str, said: list[str]) -> None:
    context = context_of(f"system=fuel_gas\n{piping}\nfurnace F input_rating_w=20000  gas 20 0 2")
    assert _outcomes(gas_supply_known, context)[:1] == said
