from __future__ import annotations

from pathlib import Path

import pytest

from tests.models.drawn import Drawn

MODELS = Path(__file__).parents[2] / "models"


@pytest.fixture(scope="session")
def corrected() -> Drawn:
    return Drawn(MODELS / "dwelling_corrected.ifc")


@pytest.fixture(scope="session")
def early() -> Drawn:
    return Drawn(MODELS / "dwelling_early.ifc")
