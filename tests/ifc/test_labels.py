"""What elements are called in sentences, whatever their program names them."""

from __future__ import annotations

import pytest

from ifclint.ifc.elements import Element, Role

URINAL = "Urinal - Wall Hung"


@pytest.mark.parametrize(
    ("name", "type_name", "kind", "label"),
    [
        ("Urinal UR-1", URINAL, "urinal", "Urinal UR-1"),
        ("U1", URINAL, "urinal", "U1"),
        ("1.12", URINAL, "urinal", "Urinal - Wall Hung 1.12"),
        ("1.12", "", "urinal", "urinal 1.12"),
        ("12-3", "", "", "fixture 12-3"),
        ("SanitaryTerminal", URINAL, "urinal", URINAL),
        ("IfcSanitaryTerminal", "", "urinal", "urinal"),
        ("Flow Terminal", "", "urinal", "Flow Terminal"),
        ("", URINAL, "urinal", URINAL),
        ("", "", "urinal", "urinal"),
        ("", "", "", "fixture"),
    ],
)
def test_a_name_that_tells_nothing_is_not_said_alone(
    name: str, type_name: str, kind: str, label: str
) -> None:
    element = Element(
        "g", name, "IfcSanitaryTerminal", type_name=type_name, role=Role.FIXTURE, kind=kind
    )
    assert element.label == label
