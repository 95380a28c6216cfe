"""Which parts are where outside air comes in."""

from __future__ import annotations

import pytest

from ifclint.ifc.building.doors import air_intake_kind

UNIT, TERMINAL = b"IFCUNITARYEQUIPMENT", b"IFCAIRTERMINAL"


@pytest.mark.parametrize(
    ("class_name", "named", "stated", "kind"),
    [
        (UNIT, "Rooftop unit RTU-1 outside air intake", b"$", "air intake"),
        (TERMINAL, "Intake louver 24x24", b"$", "air intake"),
        (TERMINAL, "Außenlufthaube", b"$", "air intake"),
        (UNIT, "RTU_1", b"$", "air unit"),
        (UNIT, "York 10 ton", b".ROOFTOPUNIT.", "air unit"),
        (TERMINAL, "Louver 24x24", b"$", "air unit"),
        (TERMINAL, "Exhaust louver", b"$", ""),
        (UNIT, "Outdoor air-cooled condenser", b".USERDEFINED.", ""),
        (TERMINAL, "Supply diffuser", b".DIFFUSER.", ""),
    ],
)
def test_the_kind(class_name: bytes, named: str, stated: bytes, kind: str) -> None:
    assert air_intake_kind(class_name, named, stated) == kind
