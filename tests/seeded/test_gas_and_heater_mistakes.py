"""Each gas and heater mistake of the early revision, made alone in the corrected house, is found
on the right element, and nothing else is."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import ifc
from ifclint.findings import Outcome
from models.build import write
from models.dwelling.mistakes import MISTAKES, with_mistakes
from tests.reviewing import without_corrections

JOB = Path(__file__).parents[2] / "models" / "dwelling_corrected.toml"
FOUND = (Outcome.VIOLATION, Outcome.ADVISORY)

# mistake -> what both codes' rules say, and of which elements (Tags)
EXPECTED = {
    "relief1_rises": {("relief-line-falls", "pipe/wh1/relief>wh1/relief/turn-0")},
    "relief2_in": {("relief-line-size", "pipe/wh2/relief>wh2/relief/turn-0")},
    "washer_pan_drained": {("pan-drained", "cw1/pan")},
    "gas_trunk_in": {
        ("gas-pipe-size", "pipe/gas/meter>gas/riser"),
        ("gas-pipe-size", "pipe/gas/furnace-tee>gas/turn"),
    },
    "furnace_sediment_trap": {("gas-sediment-trap", "f1/gas-turn")},
}


def test_every_mistake_of_these_disciplines_is_listed() -> None:
    mine = {m.field for m in MISTAKES if m.discipline in ("gas", "water heaters")}
    assert mine == set(EXPECTED)


@pytest.mark.parametrize("mistake", EXPECTED)
def test_the_mistake_is_found_and_nothing_else(tmp_path: Path, mistake: str) -> None:
    model = tmp_path / "house.ifc"
    write(model, design=with_mistakes(mistake))
    tags = {element.guid: element.tag for element in ifc.read([model]).elements}
    listed = next(m.element for m in MISTAKES if m.field == mistake)
    for code in ("upc-2021", "ipc-2021"):
        findings = [
            f
            for f in without_corrections([model], JOB, code=code).findings
            if f.pack in ("gas", "heaters") and f.outcome in FOUND
        ]
        said = {(f.rule, tags[f.element_ids[0]]) for f in findings}
        assert said == EXPECTED[mistake], code
        assert listed in {tags[guid] for f in findings for guid in f.element_ids}, code
