"""A capped drain whose length the model does not show."""

from __future__ import annotations

import tomllib
from pathlib import Path

from ifclint.findings import Outcome
from ifclint.rules.drainage.dead_ends import drain_dead_end
from ifclint.testing import context_of

CASES = Path(__file__).parents[1] / "packs" / "drainage" / "dead_ends.toml"


def test_a_dead_end_of_unknown_length_is_asked_about() -> None:
    network = tomllib.loads(CASES.read_text(encoding="utf-8"))["networks"]["stub"]
    context = context_of(network, "ipc-2021")
    for element in context.plumbing.network.elements:
        if element.guid == "STUB":
            element.length_m = None
    cap = next(p for p in context.plumbing.pieces if p.element.guid == "CAP")
    answer = drain_dead_end.judge(cap, context)
    assert answer.outcome is Outcome.UNVERIFIED
    assert "length" in answer.message
