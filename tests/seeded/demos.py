"""The corrected demos as they are read, and copies of them to be changed."""

from __future__ import annotations

import pickle
from pathlib import Path

from ifclint import ifc
from ifclint.ifc.elements import Model

MODELS = Path(__file__).parents[2] / "models"
DWELLING, RESTAURANT = "dwelling_corrected", "restaurant_corrected"
READ = {
    DWELLING: ifc.read([MODELS / f"{DWELLING}.ifc"]),
    RESTAURANT: ifc.read([MODELS / f"{RESTAURANT}.ifc", MODELS / "restaurant_architecture.ifc"]),
}
_KEPT = {name: pickle.dumps(model) for name, model in READ.items()}  # copied faster than deepcopy


def fresh(name: str) -> Model:
    """A copy of a demo as read, with elements of its own."""
    model: Model = pickle.loads(_KEPT[name])
    return model
