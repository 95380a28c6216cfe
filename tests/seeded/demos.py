"""The corrected demos as they are read, and copies of them to be changed."""

from __future__ import annotations

import pickle
from functools import cache
from pathlib import Path

from ifclint import ifc
from ifclint.ifc.elements import Model

MODELS = Path(__file__).parents[2] / "models"
DWELLING, RESTAURANT = "dwelling_corrected", "restaurant_corrected"
FILES = {
    DWELLING: [MODELS / f"{DWELLING}.ifc"],
    RESTAURANT: [MODELS / f"{RESTAURANT}.ifc", MODELS / "restaurant_architecture.ifc"],
}


def fresh(name: str) -> Model:
    """A copy of a demo as read, with elements of its own."""
    model: Model = pickle.loads(_read(name))
    return model


@cache
def _read(name: str) -> bytes:
    return pickle.dumps(ifc.read(FILES[name]))  # copied faster than deepcopy
