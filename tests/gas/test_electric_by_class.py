"""What its class calls electric is asked for no gas pipe, unless its name calls for gas."""

from __future__ import annotations

import pytest

from tests.ifc.small_models import SmallModel
from tests.reviewing import without_corrections


@pytest.mark.parametrize(
    ("ifc_class", "name", "asked"),
    [
        ("IfcElectricAppliance", "Combination steam oven", False),
        ("IfcElectricAppliance", "Combination steam oven, gas", True),
        ("IfcBuildingElementProxy", "Combination steam oven", True),
    ],
)
def test_an_appliance_without_gas_pipe(tmp_path, ifc_class, name, asked):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (3, 0, 0), name="1 in pipe")
    stove = m.element("IfcElectricAppliance", "Gas range", at=m.placement((3, 0, 0)))
    m.connect(m.ports(pipe, (0, 0, 0), (3, 0, 0))[1], m.ports(stove, (3, 0, 0))[0])
    m.system("Gas", [pipe], "GAS")
    oven = m.element(ifc_class, name, at=m.placement((9, 0, 0)))
    found = without_corrections([m.write(tmp_path)], None, "upc-2021").findings
    of_oven = {f.rule for f in found if oven.GlobalId in f.element_ids}
    assert ("gas-reaches-appliance" in of_oven) is asked
