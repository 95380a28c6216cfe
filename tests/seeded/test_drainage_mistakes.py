"""Each drainage mistake, made alone in the corrected house, is found on the right element, and
nothing else is."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint import ifc
from models.build import write
from models.dwelling.mistakes import with_mistakes
from tests.reviewing import without_corrections

# mistake -> what each code's rules must say, and of which element (its Tag)
BOTH = {
    "powder_branch_in": {
        ("drain-not-reduced", "pipe/wc1/vent>main/wc1"),
        ("fixtures-allowed-on-drain", "pipe/wc1/vent>main/wc1"),
    },
    "standpipe_trap_in": {("fixture-trap-size", "sp1/trap")},
    "bath2_branch_slope": {
        ("drain-slope", "pipe/b1/sweep>bath2/l3"),
        ("drain-slope", "pipe/bath2/l2>s1/bath2"),
        ("drain-slope", "pipe/bath2/l3>bath2/l2"),
        ("self-cleansing-velocity", "pipe/b1/sweep>bath2/l3"),
        ("self-cleansing-velocity", "pipe/bath2/l2>s1/bath2"),
        ("self-cleansing-velocity", "pipe/bath2/l3>bath2/l2"),
    },
    "laundry_branch_slope": {("drain-backfall", "pipe/ls1/sweep>s2/sink")},
    "sewer_in": {("drain-not-reduced", "pipe/main/coupling>main/two-way")},
    "waste_stack_junction": {("fitting-for-direction", "main/s3")},
    "powder_lavatory_gap": {("fixture-reaches-outlet", "pipe/l1/sweep>open")},
    "lavatory3_trap_in": {("fixture-trap-size", "l3/trap")},
    "floor_drain_size_stated": {
        ("drain-capacity", "pipe/fd1/bend>fd1/wye"),
        ("drain-slope", "pipe/fd1/bend>fd1/wye"),
    },
}
EXPECTED = {
    "upc-2021": BOTH
    | {
        "kitchen_drain_in": {
            ("drain-capacity", "pipe/k1/return>main/kitchen"),
            ("drain-capacity", "pipe/k1/sweep>k1/return"),
            ("fixtures-allowed-on-drain", "pipe/k1/tee>k1/cleanout-tee"),
            ("fixture-branch-size", "pipe/k1/tee>k1/cleanout-tee"),
        },
        "shower_trap_in": {("fixture-trap-size", "sh1/trap")},
        "closet_fitting": {("fitting-for-direction", "s1/closets")},
    },
    # under the IPC 1-1/2 in carries the sink, a shower of up to 5.7 gpm may have the trap, and a
    # double sanitary tee takes closets that reach it by 18 in of level pipe: here 20
    "ipc-2021": BOTH
    | {"kitchen_drain_in": set(), "shower_trap_in": set(), "closet_fitting": set()},
}


@pytest.mark.parametrize("mistake", EXPECTED["upc-2021"])
def test_the_mistake_is_found_and_nothing_else(tmp_path: Path, mistake: str) -> None:
    model = tmp_path / "house.ifc"
    write(model, design=with_mistakes(mistake))
    tags = {element.guid: element.tag for element in ifc.read([model]).elements}
    for code, expected in EXPECTED.items():
        findings = without_corrections([model], code=code).findings
        said = {(f.rule, tags[f.element_ids[0]]) for f in findings if f.pack == "drainage"}
        assert said == expected[mistake], code
