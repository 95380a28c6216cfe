"""Why a model could not be reviewed, in a sentence that tells what was read instead."""

from __future__ import annotations

from pathlib import Path

from ifclint.findings import Verdict
from ifclint.review import review
from tests.ifc.small_models import SmallModel


def test_what_was_read_is_named_where_no_rule_judges_it(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "MILLIMETRE")
    m.system("Rain", [m.pipe((0, 0, 0), (4, 0, -0.1), diameter=0.11)], "STORMWATER")
    done = review([m.write(tmp_path)], None, "ipc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert done.reason == (
        "The model holds no plumbing that any rule judges; what was read is of storm drainage."
    )


def test_nothing_answered_is_not_said_to_be_only_zero(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "MILLIMETRE")
    m.element("IfcSanitaryTerminal", "WC", predefined="TOILETPAN", at=m.placement((1, 1, 0)))
    done = review([m.write(tmp_path)], None, "ipc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert done.reason.endswith("could not be answered and none could.")
    unjoined = [f for f in done.findings if f.rule == "fixture-reaches-outlet"]
    assert [f.message for f in unjoined] == ["No drain is joined to WC."]
