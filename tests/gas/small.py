"""Small gas piping as text, and its plan."""

from __future__ import annotations

from typing import Any

from ifclint import codes
from ifclint.job import Job
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.rules.gas.sizing import Sized, SizedSystem, plan
from ifclint.testing import read_network

W_PER_BTU_PER_H = 0.2930710702
NATURAL = {"heating_value": "1000 Btu/ft**3", "specific_gravity": 0.6}
LOW = {"delivery_pressure": "7 inH2O", "allowed_drop": "0.5 inH2O", **NATURAL}


def watts(btu_per_h: float) -> float:
    return btu_per_h * W_PER_BTU_PER_H


def context_of(text: str, code: str = "ipc-2021", **gas: Any) -> Context:
    the_job = Job.model_validate({"gas": {**LOW, **gas}})
    plumbing = build(read_network(text), gas_sources=the_job.gas.source)
    return Context(codes.load(code), plumbing, the_job)


def sized(text: str, code: str = "ipc-2021", **gas: Any) -> dict[str, Sized]:
    """Every run by the name of its first pipe."""
    made: SizedSystem = plan(context_of(text, code, **gas))
    return {run.first.guid: s for run, s in made.sized.items()}
