"""The dwelling in ground that lies higher: its gas pipe comes through the wall below it."""

from __future__ import annotations

import tomllib

import pytest

from ifclint import codes, job, network
from ifclint.judge import judge
from ifclint.packs import Context, adopt, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import DWELLING, MODELS, fresh

LOADED = load_packs()
PACKS = [pack for pack in LOADED.loaded if pack.name == "gas"]
STATED = tomllib.loads((MODELS / f"{DWELLING}.toml").read_text("utf-8"))
TRUNK = "2uWirmZETINPC0KdA31Sx3"  # its middle is 8.5 ft up where it passes the east wall


@pytest.mark.parametrize(
    ("code", "grade", "said"),
    [
        ("irc-2021", "8 ft", ""),
        ("irc-2021", "9 ft", "violation"),
        ("ipc-2021", "8 ft", ""),
        ("ipc-2021", "9 ft", "violation"),
        ("upc-2021", "8 ft", ""),
        ("upc-2021", "9 ft", "unverified"),  # the model draws no sleeve anywhere
    ],
)
def test_gas_passes_the_wall_above_the_ground(code: str, grade: str, said: str) -> None:
    building = {**STATED["building"], "grade_elevation": grade}
    the_job = job.job_of({**STATED, "building": building}, LOADED.sections)
    _, adopted = adopt(LOADED, codes.load(code))
    made = judge(PACKS, Context(adopted, build(network.connect(fresh(DWELLING))), the_job))
    found = [f for f in made.findings if f.rule == "gas-through-foundation"]
    assert [(f.outcome.value, f.element_ids) for f in found] == [(said, (TRUNK,))][: bool(said)]
