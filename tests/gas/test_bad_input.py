"""What cannot be known is said, with the key or property that would tell; nothing is assumed."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import job
from ifclint.errors import InputError
from ifclint.review import review
from tests.gas.small import sized
from tests.gas.test_published_examples import LONGEST

HOUSE = Path(__file__).parents[2] / "models" / "dwelling_corrected.ifc"


def load(tmp_path: Path, text: str) -> job.Job:
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    return job.load(path)[0]


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('kind = "natural"\nspecific_gravity = 1.52', "not of one gas"),
        ('heating_value = "2500 Btu/ft**3"\nspecific_gravity = 0.6', "not of one gas"),
        ('kind = "propane"\nheating_value = "1000 Btu/ft**3"', "not of one gas"),
        ('delivery_pressure = "-1 psi"', "gas.delivery_pressure"),
        ('delivery_pressure = "7 ft"', "gas.delivery_pressure"),
        ('method = "guess"', "gas.method"),
        ('[[gas.what_if]]\nname = "x"\nelement = "y"\ninput = "0 Btu/hour"', "gas.what_if.1.input"),
        ('[[gas.loads]]\nelement = "y"', "gas.loads.1.input"),
        ("csst_ehd = { half = 18 }", "gas.csst_ehd"),
    ],
)
def test_a_wrong_key_is_refused_by_name(tmp_path: Path, keys: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        load(tmp_path, f"[gas]\n{keys}\n")


@pytest.mark.parametrize("section", ["loads", "what_if", "regulators"])
def test_an_element_that_is_not_there_is_refused(tmp_path: Path, section: str) -> None:
    entry = {
        "loads": 'input = "40000 Btu/hour"', "what_if": 'name = "x"\ninput = "40000 Btu/hour"',
        "regulators": 'allowed_drop = "0.5 inH2O"',
    }[section]  # fmt: skip
    path = tmp_path / "job.toml"
    path.write_text(f'[[gas.{section}]]\nelement = "nobody"\n{entry}\n', encoding="utf-8")
    with pytest.raises(InputError, match=rf'gas\.{section}\.element: no element .* "nobody"'):
        review([HOUSE], path, code="upc-2021")


def test_propane_is_not_sized_by_natural_gas_tables() -> None:
    segments = sized(
        LONGEST,
        delivery_pressure="11 inH2O",
        heating_value="2500 Btu/ft**3",
        specific_gravity=1.52,
    )
    assert segments["S3"].capacity is not None
    assert "402.4(28)" in segments["S3"].capacity.clause
    assert segments["S3"].capacity.unit == "kBtu/h"


def test_propane_below_its_table_is_not_sized() -> None:
    segments = sized(
        LONGEST, delivery_pressure="9 inH2O", heating_value="2500 Btu/ft**3", specific_gravity=1.52
    )
    assert all(run.capacity is None and run.missing is not None for run in segments.values())


def test_a_supply_below_what_the_table_needs_takes_the_table_of_less_drop() -> None:
    """The 3 in wc table asks for 8 in wc of supply; at 7 in wc the 0.5 in wc table remains."""
    at_7, at_8 = (
        sized(LONGEST, allowed_drop="3 inH2O", delivery_pressure=f"{p} inH2O")["S3"] for p in (7, 8)
    )
    assert at_7.capacity is not None
    assert at_8.capacity is not None
    assert at_7.capacity.value < at_8.capacity.value


def test_usual_inputs_come_from_the_table_and_are_marked() -> None:
    from ifclint.plumbing.gas.inputs import inputs
    from tests.gas.small import context_of

    text = """
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 0 > out 0.4 0 0
pipe 1 P1  0.4 0 0 > 20 0 0
cross 1 X  20 0 0 > 20.4 0 0 > 20.2 0 0.2 > 20.2 0 -0.2
water-heater A storage_volume_m3=0.1136  gas 20.4 0 0
water-heater B storage_volume_m3=0.1893  gas 20.2 0 0.2
water-heater C  gas 20.2 0 -0.2
"""
    known = {a.element.guid: stated for a, stated in inputs(context_of(text)).items()}
    found = {guid: round(stated.btu_per_h) for guid, stated in known.items() if stated}
    assert found == {"A": 35000, "B": 50000, "C": 50000}  # of unknown size: the largest listed
    assert all(stated is not None and stated.is_usual for stated in known.values())
