"""The pipe from a sump to the pump above it: the pump's flow, where it is stated, does not run
back through it."""

from __future__ import annotations

import pytest

from ifclint.job import Job
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.drainage.slopes import drain_backfall
from ifclint.testing.questions import all_answers, context_of

CELLAR = """
system=sanitary_drainage
bathtub T  0 0 0
pipe 3 D  0 0 0 > 10 0 -0.3
sump PIT  10 0 -0.3 > 10 0 {suction}
pipe 2 SUCTION  10 0 {suction} > 10 0.5 -1
pump P  10 0.5 -1 > 10 0.7 -1
pipe 2 UP  10 0.7 -1 > 10 0.7 3
pipe 2 ACROSS  10 0.7 3 > 11 0.7 3
pipe 3 MAIN  11 0.7 3 > 30 0.7 2.5
sewer-connection S  30 0.7 2.5
"""


@pytest.mark.parametrize("suction", ["-0.5", "-1", "-1.5"])
def test_its_suction_is_no_drain_that_rises(suction: str) -> None:
    job = Job.model_validate(
        {"drainage": {"continuous_flow": [{"element": "P", "flow": "20 gpm"}]}}
    )
    context = context_of(CELLAR.replace("{suction}", suction), "upc-2021", job)
    assert "SUCTION" not in all_answers(drain_backfall, context)
    carried = {s.first.guid: value for s, value in loads(context).carried.items()}
    assert carried["D"] < carried["MAIN"]
