"""The demo house, read once."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path

import pytest

from ifclint import codes, ifc, job, network
from ifclint.ifc.elements import Model
from ifclint.packs import Context
from ifclint.plumbing import build

MODELS = Path(__file__).parents[2] / "models"


@pytest.fixture(scope="session")
def house() -> Callable[[], Model]:
    """A fresh copy of the corrected demo house at every call."""
    kept = pickle.dumps(ifc.read([MODELS / "dwelling_corrected.ifc"]))
    return lambda: pickle.loads(kept)


@pytest.fixture(scope="session")
def in_context() -> Callable[..., Context]:
    """A model with the corrected house's job file, some keys of [water] changed."""

    def made(model: Model, code: str = "upc-2021", **water: object) -> Context:
        written = job.load(MODELS / "dwelling_corrected.toml")[1]
        changed = {**written, "water": {**written["water"], **water}}
        the_job = job.Job.model_validate(changed)
        return Context(codes.load(code), build(network.connect(model)), the_job)

    return made
