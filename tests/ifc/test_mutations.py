"""Damaged models: whatever is done to a file, it is reviewed, or refused in one sentence.

Our own small files are damaged by hypothesis, one to three times each, and reviewed by a worker
(`worker.py`) that may neither raise, hang, die nor take more than its memory.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.ifc.small_models import SmallModel
from tests.ifc.worker import ROOT, Reviewer

SMALLEST = (ROOT / "models" / "smallest.ifc").read_bytes()
STEADY = settings(
    derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large,
                           HealthCheck.function_scoped_fixture],
)  # fmt: skip
Damage = Callable[[bytes], bytes]
REAL = re.compile(rb"(?<=[(,])-?\d+\.\d*(?:E-?\d+)?(?=[),])")
REFERENCE = re.compile(rb"(?<=[(,])#\d+")
FIELD = re.compile(rb"(?<=,)(?:\$|\*|\.\w+\.|#\d+|'[^']*')(?=[,)])")
TEXT = re.compile(rb"'[^'\n]*'")
GUID = re.compile(rb"'[0-9A-Za-z_$]{22}'")
CLASS = re.compile(rb"(?<==)IFC\w+")
NUMBERS = (
    b"1.E300", b"-1.E300", b"1E999", b"-1E999", b"1.E-300", b"NAN", b"INF", b"", b"$", b"0.",
    b"-0.", b"99999999999999999999", b"1.E", b"1_0.", b"'1'", b".T.", b"(1.)", b"1.E9", b"-1.E11",
)  # fmt: skip
REFERENCES = (b"#999999", b"#0", b"#1", b"#999999999999999999999", b"#-1", b"#", b"$", b"()")
FIELDS = (b"$", b"*", b"", b".X.", b".NOTDEFINED.", b"()", b"((#1))", b"#1", b"1", b"'x'", b'"0F"')
TEXTS = {
    "a megabyte": b"x" * 1_000_000, "control characters": b"a\x00\x07\x1b[31m",
    "markup": b"<script>alert(1)</script>", "template": b"&amp;{{ 7*7 }}%s%n{0}",
    "escape": b"\\X2\\00E9\\X0\\", "half a pair": b"\\X2\\D800\\X0\\",
    "beyond Unicode": b"\\X4\\00110000\\X0\\", "byte": b"\\X\\FF", "half escapes": b"\\S\\",
    "backslash": b"\\", "code page": b"\\PZ\\", "quotes": b"''", "quote": b"'",
    "no UTF-8": b"\xff\xfe\xc3", "other directions": "\u202eDN 50\u2028".encode(),
    "two lines": b"a\nb", "semicolon": b";", "comment": b"/*", "brackets": b"({[",
    "fractions": b"1/0 in x 0/0", "digits": b"9" * 400 + b" in", "no size": b"DN 1e999",
}  # fmt: skip


def bathroom_with_walls() -> bytes:
    """A small building with walls, spaces, shapes, systems, types and properties."""
    from tests.ifc.test_reading import bathroom

    m = bathroom("IFC2X3", "FOOT")
    m.block("IfcWall", "Wall", (-1, -0.2, 0), (3, 0, 3))
    m.block("IfcSlab", "Roof", (-1, -1, 3), (3, 3, 3.2), PredefinedType="ROOF")
    m.space("Bath", (-1, 0, 0), (3, 3, 3))
    solid = m.extrusion(0.05, 0.3)
    shown = m.file.create_entity("IfcShapeRepresentation", m.context, "Body", "SweptSolid", [solid])
    source = m.file.create_entity("IfcRepresentationMap", m.axes((0, 0, 0)), shown)
    target = m.file.create_entity(
        "IfcCartesianTransformationOperator3D", None, None, m.point((0, 0, 0)), 1.0, None
    )
    item = m.file.create_entity("IfcMappedItem", source, target)
    m.element(
        "IfcPipeSegment", "Riser", type_name="Copper 1 in", at=m.placement((2, 2, 0)),
        shape=m.shape(item, kind="MappedRepresentation"),
    )  # fmt: skip
    tub = m.raised(m.polygon((0, 0), (1.6, 0), (1.6, 0.8), (0, 0.8)), 0.5)
    m.element(
        "IfcSanitaryTerminal", "Tub", predefined="BATH", type_name="Bathtub",
        at=m.placement((0, 2, 0)), shape=m.shape(tub),
    )  # fmt: skip
    return m.file.to_string().encode()


def on_a_map() -> bytes:
    """A pipe and a wall in a file that says where it lies."""
    m = SmallModel("IFC4", "MILLIMETRE", first=5000)
    m.context.WorldCoordinateSystem = m.axes((1, 2, 3), z=(0, 0, 1), x=(0, 1, 0))
    crs = m.file.create_entity("IfcProjectedCRS", Name="EPSG:25832")
    m.file.create_entity("IfcMapConversion", m.context, crs, 1000.5, 2000.5, 30.5, 0.5, 0.5, 0.001)
    m.pipe((0, 0, 0), (1, 0, 0), name="Pipe")
    m.block("IfcWall", "Wall", (-1, -0.2, 0), (3, 0, 3))
    return m.file.to_string().encode()


LARGER = bathroom_with_walls()
ON_A_MAP = on_a_map()


def _one_of(pattern: re.Pattern[bytes], text: bytes, at: int, new: bytes) -> bytes:
    """The text with one match replaced, the one that `at` hits when counted around."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    match = found[at % len(found)]
    return text[: match.start()] + new + text[match.end() :]


PLACES = st.integers(0, 10_000)


def replacing(pattern: re.Pattern[bytes], news: st.SearchStrategy[bytes]) -> st.SearchStrategy:
    return st.builds(lambda at, new: lambda text: _one_of(pattern, text, at, new), PLACES, news)


def _copied(pattern: re.Pattern[bytes], text: bytes, source: int, target: int) -> bytes:
    found = pattern.findall(text)
    return _one_of(pattern, text, target, found[source % len(found)]) if found else text


def copying(pattern: re.Pattern[bytes]) -> st.SearchStrategy[Damage]:
    """One match put in the place of another: a shared GlobalId, a cycle, a wrong class."""
    return st.builds(
        lambda source, target: lambda text: _copied(pattern, text, source, target), PLACES, PLACES
    )


def _lines(text: bytes, what: str, a: int, b: int) -> bytes:
    lines = text.splitlines(keepends=True)
    a, b = a % len(lines), b % len(lines)
    if what == "drop":
        del lines[a]
    elif what == "repeat":
        lines.insert(a, lines[b])
    else:
        lines[a], lines[b] = lines[b], lines[a]
    return b"".join(lines)


def _self_placed(text: bytes, a: int, b: int) -> bytes:
    """A placement hung on another, so that some chain of them comes back to itself."""
    placements = re.findall(rb"(#\d+)=IFCLOCALPLACEMENT\(", text) or [b"#1"]
    for child, parent in ((a, b), (b, a)):
        child_ref, parent_ref = (placements[i % len(placements)] for i in (child, parent))
        text = re.sub(
            rb"(?<=\n)" + child_ref + rb"=IFCLOCALPLACEMENT\([^,]*",
            child_ref + b"=IFCLOCALPLACEMENT(" + parent_ref, text,
        )  # fmt: skip
    return text


def _without_units(text: bytes, a: int) -> bytes:
    names = (
        rb"IFCUNITASSIGNMENT",
        rb"IFCSIUNIT",
        rb"IFCCONVERSIONBASEDUNIT",
        rb"IFCMEASUREWITHUNIT",
    )
    return re.sub(rb"#\d+=" + names[a % len(names)] + rb"\(.*\n", b"", text)


LINES = st.builds(
    lambda what, a, b: lambda text: _lines(text, what, a, b),
    st.sampled_from(["drop", "repeat", "swap"]), PLACES, PLACES,
)  # fmt: skip
BYTES = st.builds(
    lambda at, gone, new: lambda t: t[: at % len(t)] + new + t[at % len(t) + gone :],
    st.integers(0, 10**6), st.integers(0, 30), st.binary(max_size=12),
)  # fmt: skip
CUT = st.builds(lambda at: lambda text: text[: at % len(text)], st.integers(0, 10**6))
CYCLES = st.builds(lambda a, b: lambda text: _self_placed(text, a, b), PLACES, PLACES)
UNITS = st.builds(lambda a: lambda text: _without_units(text, a), PLACES)
DAMAGES = st.one_of(
    LINES, BYTES, CUT, CYCLES, UNITS,
    replacing(REAL, st.sampled_from(NUMBERS)),
    replacing(REFERENCE, st.sampled_from(REFERENCES)),
    replacing(FIELD, st.sampled_from(FIELDS)),
    replacing(TEXT, st.sampled_from(sorted(TEXTS)).map(lambda name: b"'" + TEXTS[name] + b"'")),
    copying(REFERENCE), copying(GUID), copying(CLASS), copying(TEXT),
)  # fmt: skip


@pytest.fixture(scope="module")
def reviewer():
    worker = Reviewer()
    yield worker
    worker.stop()


def check(reviewer: Reviewer, folder: Path, text: bytes, *others: Path) -> None:
    path = folder / "damaged.ifc"
    path.write_bytes(text)
    said = reviewer.review(*others, path)
    assert said == "reviewed" or said.startswith("refused: The model damaged.ifc")


@pytest.mark.parametrize("text", [SMALLEST, LARGER, ON_A_MAP], ids=["smallest", "larger", "map"])
def test_each_is_reviewed_as_long_as_it_is_whole(reviewer, tmp_path, text):
    path = tmp_path / "whole.ifc"
    path.write_bytes(text)
    assert reviewer.review(path) == "reviewed"


def test_a_pipe_that_goes_twice_around_the_earth(reviewer, tmp_path):
    """As its ports have it; no joint is stated at its ends."""
    text = SMALLEST.replace(b"((1.11,0.,0.48))", b"((9.E7,0.,-1.E6))", 1)
    (tmp_path / "long.ifc").write_bytes(re.sub(rb"#65=.*\n", b"", text))
    assert reviewer.review(tmp_path / "long.ifc") == "reviewed"


@settings(STEADY, max_examples=60)
@given(damages=st.lists(DAMAGES, min_size=1, max_size=3))
def test_the_smallest_model_damaged(reviewer, tmp_path, damages):
    text = SMALLEST
    for damage in damages:
        text = damage(text) or b" "
    check(reviewer, tmp_path, text)


@settings(STEADY, max_examples=60)
@given(damages=st.lists(DAMAGES, min_size=1, max_size=2))
def test_a_larger_model_damaged(reviewer, tmp_path, damages):
    text = LARGER
    for damage in damages:
        text = damage(text) or b" "
    check(reviewer, tmp_path, text)


@settings(STEADY, max_examples=30)
@given(damages=st.lists(DAMAGES, min_size=1, max_size=2))
def test_one_of_two_files_damaged(reviewer, tmp_path, damages):
    other = tmp_path / "smallest.ifc"
    other.write_bytes(SMALLEST)
    text = ON_A_MAP
    for damage in damages:
        text = damage(text) or b" "
    check(reviewer, tmp_path, text, other)


@settings(STEADY, max_examples=30)
@given(text=st.binary(max_size=2000))
def test_anything_between_head_and_end(reviewer, tmp_path, text):
    head = b"ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n"
    check(reviewer, tmp_path, head + text + b"\nENDSEC;\nEND-ISO-10303-21;\n")
