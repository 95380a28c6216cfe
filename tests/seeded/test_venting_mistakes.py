"""Each trap, vent and cleanout mistake of the demo, made alone in the corrected house, is found on
the right element, and nothing else is."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import ifc
from models.build import write
from models.dwelling.mistakes import with_mistakes
from tests.models.conftest import MODELS
from tests.reviewing import without_corrections

# mistake -> what the venting and cleanout rules must say, and of which element (its Tag)
BOTH = {
    "tub_vented": {("trap-vented", "b1/trap")},
    "powder_vent_level": {("vent-above-rim", "pipe/wc1/vent-tee>l1/vent-bend")},
    "floor_drain_vent_to_stack": {("vent-reaches-outdoors", "pipe/fd1/vent>open")},
    "refrigerator_y": {("cleanout-clearance", "k1/foot-cleanout")},
    "main_cleanout_in": {("cleanout-size", "main/head/plug")},
}
EXPECTED = {
    "upc-2021": BOTH
    | {
        "laundry_sink_x": {("trap-arm-length", "ls1/trap")},
        "laundry_cleanout": {
            ("upper-end-cleanout", "s2/base"),
            ("stack-base-cleanout", "pipe/s2/sink>s2/base"),
        },
    },
    # the IPC lets 1-1/2 in run 6 ft, and asks for no cleanout at an upper end
    "ipc-2021": BOTH
    | {
        "laundry_sink_x": set(),
        "laundry_cleanout": {("stack-base-cleanout", "pipe/s2/sink>s2/base")},
    },
}


def said(model: Path, code: str) -> set[tuple[str, str]]:
    tags = {element.guid: element.tag for element in ifc.read([model]).elements}
    findings = without_corrections([model], MODELS / "dwelling_corrected.toml", code).findings
    return {
        (f.rule, tags[f.element_ids[0]]) for f in findings if f.pack in ("venting", "cleanouts")
    }


@pytest.mark.parametrize("mistake", EXPECTED["upc-2021"])
def test_the_mistake_is_found_and_nothing_else(tmp_path: Path, mistake: str) -> None:
    model = tmp_path / "house.ifc"
    write(model, design=with_mistakes(mistake))
    for code, expected in EXPECTED.items():
        assert said(model, code) == expected[mistake], code


@pytest.mark.parametrize("code", EXPECTED)
def test_the_corrected_house_has_none(code: str) -> None:
    assert said(MODELS / "dwelling_corrected.ifc", code) == set()
