"""What the job file lists as a gas regulator, or tells the pressure behind, regulates it."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.review import review_with_context
from tests.ifc.small_models import SmallModel

GAS = """
adopted_code = "ipc-2021"
[[gas.regulators]]
element = "{}"
outlet_pressure = "7 inH2O"
"""
WATER = """
adopted_code = "ipc-2021"
[[water.pressures]]
element = "{}"
static_pressure = "60 psi"
residual_pressure = "50 psi"
"""


def kind_of_valve(tmp_path: Path, name: str, job: str) -> str:
    m = SmallModel()
    valve = m.element("IfcValve", name)
    m.pipe((0, 0, 0), (1, 0, 0))
    path = tmp_path / "job.toml"
    path.write_text(job.format(valve.GlobalId))
    _, context = review_with_context([m.write(tmp_path)], path)
    (found,) = (e for e in context.plumbing.network.elements if e.guid == valve.GlobalId)
    return found.kind


@pytest.mark.parametrize("job", [GAS, WATER])
@pytest.mark.parametrize("name", ["Maxitrol 325-5A", "LFN45B", "Line regulator"])
def test_a_valve_that_the_job_file_names_is_a_regulator(
    tmp_path: Path, job: str, name: str
) -> None:
    assert kind_of_valve(tmp_path, name, job) == "pressure-reducing"


def test_a_gas_cock_is_refused_as_a_regulator(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"gas\.regulators\.element: .*regulates no gas"):
        kind_of_valve(tmp_path, "Gas cock", GAS)


def test_the_pressure_at_another_valve_makes_it_no_regulator(tmp_path: Path) -> None:
    assert kind_of_valve(tmp_path, "Ball valve", WATER) == "isolating"
