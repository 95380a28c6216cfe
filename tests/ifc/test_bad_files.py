"""Files that are missing, broken or hostile: one clear sentence, or a note; never a traceback."""

from __future__ import annotations

import os
import re
import zipfile
from pathlib import Path

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from ifclint.ifc.elements import Role
from ifclint.ifc.step.text import clean
from tests.ifc.small_models import SmallModel


def message_of(path) -> str:
    with pytest.raises(InputError) as error:
        read(path)
    message = str(error.value)
    assert "\n" not in message
    assert message.endswith(".")
    return message


def a_model(tmp_path, name="good.ifc"):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name="Pipe one")
    m.properties(
        pipe, "Pset_PipeSegmentTypeCommon",
        NominalDiameter=("IfcPositiveLengthMeasure", 50.8),
    )  # fmt: skip
    return m.write(tmp_path, name)


def rewritten(path, pattern, replacement, name="changed.ifc"):
    text = path.read_text()
    assert re.search(pattern, text), "the pattern must be there to be changed"
    changed = path.with_name(name)
    changed.write_text(re.sub(pattern, replacement, text))
    return changed


def test_nothing_given():
    with pytest.raises(InputError, match="No model was given"):
        read([])


def test_missing_empty_folder_and_other_files(tmp_path):
    assert "is not there" in message_of(tmp_path / "none.ifc")
    (tmp_path / "empty.ifc").touch()
    assert "is empty" in message_of(tmp_path / "empty.ifc")
    os.mkfifo(tmp_path / "pipe.ifc")
    assert "it is no file but a device" in message_of(tmp_path / "pipe.ifc")
    assert "is a folder" in message_of(tmp_path)
    assert message_of(Path()).startswith("The model . is a folder")
    (tmp_path / "letter.ifc").write_text("Dear Sir or Madam")
    assert "is not an IFC file" in message_of(tmp_path / "letter.ifc")
    (tmp_path / "binary.ifc").write_bytes(bytes(range(256)) * 100)
    assert "is not an IFC file" in message_of(tmp_path / "binary.ifc")
    (tmp_path / "model.ifcxml").write_text("<?xml version='1.0'?><ifcXML/>")
    assert "is XML" in message_of(tmp_path / "model.ifcxml")


def test_the_message_names_file_and_path(tmp_path):
    message = message_of(tmp_path / "none.ifc")
    assert "none.ifc" in message
    assert str(tmp_path) in message


def test_a_truncated_file(tmp_path):
    good = a_model(tmp_path)
    cut = tmp_path / "cut.ifc"
    cut.write_bytes(good.read_bytes()[:-400])
    assert "cut short" in message_of(cut)


def test_an_unknown_schema(tmp_path):
    path = rewritten(a_model(tmp_path), "FILE_SCHEMA.*;", "FILE_SCHEMA(('IFC9'));")
    assert "IFC9" in message_of(path)


def test_broken_text_says_where(tmp_path, capfd):
    path = rewritten(a_model(tmp_path), r"IFCPIPESEGMENT\(", "IFCPIPESEGMENT(((,,'")
    notes = [note for note in read(path).notes if "IFCPIPESEGMENT(" in note.what]
    assert [note.topic for note in notes] == ["damage"]
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("name", ["zipped.ifczip", "zipped.zip", "zipped.ifc"])
def test_a_zipped_model(tmp_path, name):
    good = a_model(tmp_path)
    path = tmp_path / name
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.write(good, "../../folder/inside.IFC")  # a path that must not be followed
        archive.writestr("readme.txt", "hello")
    model = read(path)
    assert [e.name for e in model.elements] == ["Pipe one"]
    assert model.files[0].name == name
    assert not (tmp_path.parent.parent / "folder").exists()


# -- damage inside a readable file ---------------------------------------------------------------


@pytest.mark.parametrize("value", ["1.E300", "-50.8", "0.", "1.E-300"])
def test_absurd_sizes_are_no_sizes(tmp_path, value):
    path = rewritten(a_model(tmp_path), r"IFCPOSITIVELENGTHMEASURE\(50.8\)",
                     f"IFCPOSITIVELENGTHMEASURE({value})")  # fmt: skip
    (pipe,) = read(path).elements
    assert pipe.size_in in (None, 2)  # nothing, or what its shape says
    assert str(pipe.basis.get("size")) != "Pset_PipeSegmentTypeCommon.NominalDiameter"


def test_text_where_a_number_is_expected(tmp_path):
    path = rewritten(a_model(tmp_path), r"IFCPOSITIVELENGTHMEASURE\(50.8\)", "IFCLABEL('large')")
    model = read(path)
    assert model.elements[0].size_in is None
    assert '"large", which is no pipe size' in model.notes[0].what


@pytest.mark.parametrize("coordinate", ["1.E300", "-1.E200"])
def test_absurd_coordinates_do_not_raise(tmp_path, coordinate):
    path = rewritten(a_model(tmp_path), r"IFCCARTESIANPOINT\(\(0\.,0\.,0\.\)\)",
                     f"IFCCARTESIANPOINT((0.,{coordinate},0.))")  # fmt: skip
    model = read(path)
    assert [e.name for e in model.elements] == ["Pipe one"]


def test_a_placement_that_is_placed_in_itself(tmp_path):
    path = rewritten(
        a_model(tmp_path), r"#(\d+)=IFCLOCALPLACEMENT\(\$", r"#\1=IFCLOCALPLACEMENT(#\1"
    )
    (pipe,) = read(path).elements
    assert pipe.position is None
    assert pipe.role is Role.PIPE


def test_dangling_references_do_not_raise(tmp_path):
    path = rewritten(
        a_model(tmp_path), r"IFCLOCALPLACEMENT\(\$,#\d+\)", "IFCLOCALPLACEMENT($,#99999)"
    )
    (pipe,) = read(path).elements
    assert pipe.position is None


def test_no_units_are_noted_and_metres_taken(tmp_path):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (2, 0, 0), name="P")
    m.file.remove(m.project.UnitsInContext)
    model = read(m.write(tmp_path))
    assert model.elements[0].length_m == pytest.approx(2)
    assert [n.topic for n in model.notes] == ["scale"]


@pytest.mark.parametrize("name", ["SECOND", "SQUARE_METRE"])
def test_a_length_in_what_is_no_length_is_noted(tmp_path, name):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (2, 0, 0), name="P")
    (unit,) = [u for u in m.project.UnitsInContext.Units if u.UnitType == "LENGTHUNIT"]
    unit.Name = name
    assert [n.topic for n in read(m.write(tmp_path)).notes] == ["scale"]


def test_names_are_made_fit_to_print(tmp_path):
    m = SmallModel("IFC4")
    m.pipe((0, 0, 0), (2, 0, 0), name="Pipe\x1b[31m\r\n<script>" + "x" * 100_000)
    (pipe,) = read(m.write(tmp_path)).elements
    assert len(pipe.name) == 200
    assert pipe.name.isprintable()


def test_clean_keeps_letters_of_all_languages():
    assert clean("  Évier – Küche 洗面台 ") == "Évier – Küche 洗面台"
    assert clean(None) == ""
    assert clean("a\u202eb\u2028c") == "ab c"  # what turns text is gone, a line end is a space


@pytest.mark.parametrize(
    "style",
    [
        lambda t: t.replace("\n", "\r\n"),
        lambda t: re.sub(r"^(#\d+)=(\w+)\(", r"\1 = \2 (", t, flags=re.M),
        lambda t: re.sub(r",(?=[#$.])", ", ", t),
        lambda t: t.replace(",", ",\n  ", 0).replace(";\n#", "; #"),
        lambda t: re.sub(r"^(#\d+=)", r"/* ; #1=IFCPOINT( */\1", t, flags=re.M),
        lambda t: re.sub(r"\(\(", "(\n(", t),
    ],
    ids=["crlf", "spaces around =", "spaces after commas", "one line", "comments", "line breaks"],
)
def test_any_way_to_write_the_same_text_reads_the_same(tmp_path, style):
    from tests.ifc.test_reading import bathroom

    path = bathroom("IFC4").write(tmp_path)
    other = tmp_path / "other.ifc"
    other.write_bytes(style(path.read_text()).encode())
    one, two = read(path), read(other)
    assert one.elements == two.elements
    assert one.joints == two.joints
    assert len(one.elements) == 6


def test_a_damaged_element_is_noted_and_the_rest_is_read(tmp_path):
    from tests.ifc.test_reading import bathroom

    path = bathroom("IFC4").write(tmp_path)
    depth = r"(IFCEXTRUDEDAREASOLID\(#\d+,#\d+,#\d+),[\d.]+\);"
    first = re.search(depth, path.read_text()).group(0)
    damaged = path.with_name("damaged.ifc")
    damaged.write_text(path.read_text().replace(first, re.sub(depth, r"\1,$);", first)))
    model = read(damaged)
    arm = next(e for e in model.elements if e.name == "Trap arm")
    assert [n.topic for n in model.notes] == ["damage"]
    assert model.notes[0].guid == arm.guid
    assert arm.role is Role.PIPE
    assert arm.length_m is None
    assert len(model.elements) == 6
    for joint in model.joints:  # no joint may point at an end that is not there
        assert joint.a_end < len(model.elements[joint.a].ends)
        assert joint.b_end < len(model.elements[joint.b].ends)


def test_a_pointer_to_a_large_file_says_what_it_is(tmp_path):
    path = tmp_path / "model.ifc"
    path.write_text("version https://example.org/spec/v1\noid sha256:4d7a2146\nsize 12345\n")
    with pytest.raises(InputError, match="pointer to a large file that was not fetched"):
        read([path])
