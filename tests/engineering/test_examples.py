"""The examples in the documentation of the formulas hold."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize(
    "name", ["data", "demand", "directions", "extents", "friction", "gas_flow", "thermal"]
)
def test_documented_examples(name: str) -> None:
    result = doctest.testmod(import_module(f"ifclint.engineering.{name}"))
    assert result.attempted > 0
    assert result.failed == 0
