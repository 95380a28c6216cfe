"""A gas meter that is drawn and joined to nothing is told so, and not as missing."""

from __future__ import annotations

import pytest

from tests.ifc.small_models import SmallModel
from tests.reviewing import without_corrections


def review_of(tmp_path, *, meter: bool):
    """A range on a gas pipe, and a meter that nothing joins to it."""
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (3, 0, 0), name="1 in pipe")
    stove = m.element("IfcElectricAppliance", "Gas range", at=m.placement((3, 0, 0)))
    ends = m.ports(pipe, (0, 0, 0), (3, 0, 0))
    m.connect(ends[1], m.ports(stove, (3, 0, 0))[0])
    m.system("Gas", [pipe], "GAS")
    if meter:
        m.element("IfcFlowMeter", "Gas meter", predefined="GASMETER", at=m.placement((9, 9, 0)))
    return without_corrections([m.write(tmp_path)], None, "upc-2021")


@pytest.mark.parametrize(
    ("meter", "said", "remedy"),
    [
        (True, "The model draws a gas meter, and joins no gas meter", "Join the gas meter"),
        (False, "The model draws no gas meters or service regulators", "Model the gas meter"),
    ],
)
def test_it_is_said_what_is_missing(tmp_path, meter, said, remedy):
    found = [f for f in review_of(tmp_path, meter=meter).findings if f.rule == "gas-piping-whole"]
    assert [f.outcome.value for f in found] == ["unverified"]
    assert found[0].message.startswith(said)
    assert found[0].remedy.startswith(remedy)
