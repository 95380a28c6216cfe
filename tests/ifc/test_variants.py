"""However a model is written, the same elements are read of it; and damage is never passed over.

Checked against ifcopenshell's own reading of the same text, which counts the elements.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

import ifcopenshell
import pytest

from ifclint import ifc
from ifclint.findings import Verdict
from ifclint.ifc.elements import Model
from ifclint.review import review
from tests.ifc.variants import variant

MODELS = Path(__file__).parents[2] / "models"
SMALLEST = (MODELS / "smallest.ifc").read_text(encoding="utf-8")
DWELLING = (MODELS / "dwelling_early.ifc").read_text(encoding="utf-8")
COUNTED = ("IfcPipeSegment", "IfcPipeFitting", "IfcSanitaryTerminal", "IfcValve")


def told(model: Model) -> tuple[object, ...]:
    """What is read of a model, whatever the order of its instances."""
    elements = {
        e.guid: (
            e.label, e.role, e.kind, e.system, e.size_in, e.material, e.storey, e.space,
            e.length_m and round(e.length_m, 6), len(e.ends),
            sorted(tuple(round(c, 6) for c in end.position) for end in e.ends if end.position),
        )
        for e in model.elements
    }  # fmt: skip
    guids = [e.guid for e in model.elements]
    joints = sorted(tuple(sorted((guids[j.a], guids[j.b]))) for j in model.joints)
    return elements, joints, [(s.name, s.elevation_m) for s in model.storeys]


def _read(text: str, folder: Path) -> Model:
    path = folder / "variant.ifc"
    path.write_text(text, encoding="utf-8", newline="")
    return ifc.read([path])


def _differing(base: str, seeds: Iterable[int], folder: Path) -> list[str]:
    expected = told(_read(base, folder))
    wrong = []
    for seed in seeds:
        text, said = variant(base, seed)
        if told(_read(text, folder)) != expected:
            wrong.append(f"{seed}: {said}")
    return wrong


def test_variants_of_a_small_model_are_read_alike(tmp_path: Path) -> None:
    assert _differing(SMALLEST, range(150), tmp_path) == []


def test_variants_of_a_house_are_read_alike(tmp_path: Path) -> None:
    assert _differing(DWELLING, range(1000, 1008), tmp_path) == []


HALF = "#35="
NOTHING = "\n" * 6000
WRITTEN = {
    "sections with a comment between": (
        HALF,
        "ENDSEC;\n/* #9=IFCX(); */DATA ('b',('IFC4')) ;\n#35=",
    ),
    "the end long before that of the file": ("END-ISO-10303-21;", f"END-ISO-10303-21;{NOTHING}"),
    "a long header": ("FILE_DESCRIPTION((", f"FILE_DESCRIPTION(('{'x' * 80_000}',"),
    "a long comment before": ("HEADER;", f"HEADER;/*{'x ' * 40_000}*/"),
    "another schema in a comment": ("(('IFC4'", "((/*'IFC2X3'*/'IFC4'"),
    "sections in a description": ("'ViewDef", "'ENDSEC; DATA; #1=IFCX; ViewDef"),
    "the last instance beside the end": (";\nENDSEC;\nEND-ISO", ";ENDSEC;\nEND-ISO"),
    "many semicolons": (HALF, f"#99=IFCORGANIZATION($,'{';' * 150_000}',$,$,$);\n#35="),
    "blank lines by the million": (HALF, f"{NOTHING * 500}#35="),
    "a text of 10 MB": (HALF, f"#99=IFCORGANIZATION($,'{'y' * 10_000_000}',$,$,$);\n#35="),
    "zeros after the end": ("END-ISO-10303-21;\n", "END-ISO-10303-21;\n\0\0\x1a"),
}


@pytest.mark.parametrize("comments", [True, False])
@pytest.mark.parametrize("what", WRITTEN)
def test_the_same_model_written_otherwise_is_read_alike(
    what: str, comments: bool, tmp_path: Path
) -> None:
    base = SMALLEST if comments else re.sub(r"/\*.*\*/\n", "", SMALLEST)
    old, new = WRITTEN[what]
    model = _read(base.replace(old, new, 1), tmp_path)
    assert told(model) == told(_read(base, tmp_path))
    assert model.notes == []


@pytest.mark.parametrize("seed", range(0, 60, 3))
def test_the_library_counts_the_same(seed: int, tmp_path: Path) -> None:
    text, said = variant(SMALLEST, seed)
    if "two sections" in said:
        pytest.skip("the library reads one data section")
    model = _read(text, tmp_path)
    library = ifcopenshell.open(tmp_path / "variant.ifc")
    counted = sum(len(library.by_type(name)) for name in COUNTED)
    assert sum(e.ifc_class in COUNTED for e in model.elements) == counted, said


DAMAGED = {
    "a number given twice": ("#37=", "#63="),
    "a coordinate that is no number": (
        "#55=IFCCARTESIANPOINT((1.11,0.",
        "#55=IFCCARTESIANPOINT((1.11,1E999",
    ),
    "a placement that is cut": ("#57=IFCLOCALPLACEMENT($,#56)", "#57=IFCLOCALPLACEMENT($,#9999)"),
}


@pytest.mark.parametrize("what", DAMAGED)
def test_damage_is_noted_and_never_passes(what: str, tmp_path: Path) -> None:
    old, new = DAMAGED[what]
    assert SMALLEST.count(old) == 1
    path = tmp_path / "damaged.ifc"
    path.write_text(SMALLEST.replace(old, new), encoding="utf-8")
    assert any(note.topic == "damage" for note in ifc.read([path]).notes)
    assert _verdict(path, tmp_path) is not Verdict.PASS


def _verdict(model: Path, folder: Path) -> Verdict:
    """Of the drainage alone: the small model has no vents."""
    job = folder / "job.toml"
    job.write_text('adopted_code = "upc-2021"\nout_of_scope = ["venting"]\n', encoding="utf-8")
    return review([model], job).verdict


def test_the_undamaged_model_passes(tmp_path: Path) -> None:
    assert _verdict(MODELS / "smallest.ifc", tmp_path) is Verdict.PASS


def test_a_pipe_beside_a_string_that_goes_on_in_the_next_line_is_read(tmp_path: Path) -> None:
    odd = "#200=IFCORGANIZATION($,'begin);\n#205=IFCORGANIZATION($,end',$,$,$);"
    pipe = "#204=IFCPIPESEGMENT('0HIDDENpipe00000000001',$,'Hidden',$,$,$,$,$,.RIGIDSEGMENT.);"
    text = SMALLEST.replace("ENDSEC;\nEND-ISO", f"{odd}{pipe}\nENDSEC;\nEND-ISO")
    assert "Hidden" in [e.name for e in _read(text, tmp_path).elements]


def test_a_string_that_does_not_end_is_noted(tmp_path: Path) -> None:
    text = SMALLEST.replace("'Lavatory L-1'", "'Lavatory L-1")
    assert any(note.topic == "damage" for note in _read(text, tmp_path).notes)
