"""A remodel: new piping that is joined to existing piping which is not in the model."""

from __future__ import annotations

import pytest

from ifclint.plumbing import build
from ifclint.testing import read_network

BATH = """
water-closet WC  0 0 0
pipe 3 A  0 0 0 > 0 0 -1
bend 3 E  0 0 -1
pipe 3 B  0 0 -1 > 8 0 -1.2
tie-in 4 POC  8 0 -1.2
sanitary-tee 3 ST  -1 0 -1
"""
VENTED = """
lavatory L  0 0 2
pipe 1.5 A  0 0 2 > 2 0 1.96
sanitary-tee 1.5 T  2 0 1.96 > 2 0 2.1 > 2 0 1.8
pipe 1.5 D  2 0 1.8 > 2 0 0
tie-in 2 WASTE  2 0 0
pipe 1.5 V system=vent  2 0 2.1 > 2 0 8
tie-in 2 VENT system=vent  2 0 8
"""


def _outlets(text: str) -> list[tuple[str, str]]:
    plumbing = build(read_network(text))
    return [
        (plumbing.network.elements[o.element].guid, o.kind)
        for o in plumbing.drainage.outlets
        if o.accepted
    ]


def test_drains_leave_by_it_and_the_building_drain_is_another() -> None:
    assert _outlets(BATH) == [("POC", "tie-in")]
    plumbing = build(read_network(BATH))
    assert [f.outlet.accepted for f in plumbing.fixtures if f.outlet] == [True]
    assert plumbing.building_drains == []


def test_the_upper_one_is_where_the_vent_is_joined() -> None:
    assert _outlets(VENTED) == [("WASTE", "tie-in")]
    (tree,) = [t for t in build(read_network(VENTED)).venting.trees if t.joints]
    assert [tree.piping.elements[i].guid for i in tree.tie_ins] == ["VENT"]


def test_what_is_joined_on_both_sides_is_none() -> None:
    beyond = "pipe 4 C  9 0 -1.3 > 20 0 -1.6\nsewer-connection S  20 0 -1.6"
    through = BATH.replace("8 0 -1.2\nsani", f"8 0 -1.2 > 9 0 -1.3\n{beyond}\nsani")
    assert _outlets(through) == [("S", "sewer-connection")]


@pytest.mark.parametrize(
    ("meter", "source"), [("", "POC"), ("water-meter M system=cold_water  -2 0 0 > -1 0 0", "M")]
)
def test_water_comes_from_it_unless_there_is_a_meter(meter: str, source: str) -> None:
    start = "-1 0 0" if meter else "0 0 0"
    poc = "9 9 9" if meter else "0 0 0"
    text = f"""
tie-in 0.75 POC system=cold_water  {poc}
{meter}
pipe 0.5 P system=cold_water  {start} > 5 0 0
lavatory L  5 0 0
"""
    supply = build(read_network(text)).supply
    assert [supply.network.elements[i].guid for i in supply.sources.heads] == [source]


def test_gas_comes_from_it() -> None:
    text = """
tie-in 0.75 POC system=fuel_gas  0 0 0
pipe 0.5 P system=fuel_gas  0 0 0 > 5 0 0
range R  5 0 0
"""
    gas = build(read_network(text)).gas
    assert gas is not None
    assert [e.guid for e in gas.source_elements] == ["POC"]
