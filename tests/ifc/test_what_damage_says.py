"""What the user is told of each kind of damage: a note, or why the file is refused."""

from __future__ import annotations

import re

import pytest

from ifclint.errors import InputError
from ifclint.ifc import read
from tests.ifc.worker import ROOT

WHOLE = (ROOT / "models" / "smallest.ifc").read_text(encoding="utf-8")
DRAIN = "1KPD3HzMLMGgvPGmaxtk8C"
TRAP = "32IEB$nA1Nnu$bgAZQBmfB"
POINT = r"(?<=#32=IFCCARTESIANPOINT\(\()0\.15,0\.,0\.5"
SIZE = r"(?<=IFCPOSITIVELENGTHMEASURE\()0\.0381"
NAME = "Drain of L-1"


def changed(pattern: str, new: str) -> str:
    assert re.search(pattern, WHOLE, re.M)
    return re.sub(pattern, lambda _: new, WHOLE, count=1, flags=re.M)


LOST = ("damage", "")  # of an instance that others refer to


def model_of(tmp_path, text: str):
    path = tmp_path / "damaged.ifc"
    path.write_bytes(text.encode("utf-8"))
    return read(path)


def told(tmp_path, text: str) -> list[tuple[str, str]]:
    """Topic and element of each note."""
    return [(n.topic, n.guid) for n in model_of(tmp_path, text).notes]


@pytest.mark.parametrize("count", [1, 3, 4])
def test_of_numbers_given_twice_the_first_three_are_named(tmp_path, count):
    lines = "".join(f"#{n}=IFCCARTESIANPOINT((0.,0.));\n#{n}=IFCCARTESIANPOINT((1.,0.));\n"
                    for n in range(9001, 9001 + count))  # fmt: skip
    (what,) = (
        note.what
        for note in model_of(tmp_path, WHOLE.replace("DATA;\n", "DATA;\n" + lines)).notes
        if "More than one instance has" in note.what
    )
    named = ", ".join(f"#{n}" for n in range(9001, 9001 + min(count, 3)))
    assert f"has one of {count} instance number{'' if count == 1 else 's'} of" in what
    assert what.endswith(f"the first {named}.")


@pytest.mark.parametrize("count", [1, 3, 4])
def test_of_broken_instances_the_first_three_are_named(tmp_path, count):
    lines = "".join(f"#{n}=IFCCARTESIANPOINT(((0.,0.));\n" for n in range(9001, 9001 + count))
    (what,) = (
        note.what
        for note in model_of(tmp_path, WHOLE.replace("DATA;\n", "DATA;\n" + lines)).notes
        if "Quotes, parentheses" in note.what
    )
    named = ", ".join(f"#{n}" for n in range(9001, 9001 + min(count, 3)))
    assert f"of {count} instance{'' if count == 1 else 's'} of" in what
    assert what.endswith(f"the first in {named}.")


@pytest.mark.parametrize("between", ["\n", "", "\r\n", " ", "\n/* next */\n"])
def test_an_instance_that_no_semicolon_ends_is_named(tmp_path, between):
    number = re.search(r"^#(\d+)=IFCREL.*\);(?=\n#)", WHOLE, re.M)
    assert number
    text = WHOLE.replace(f"{number[0]}\n", f"{number[0][:-1]}{between}")
    (note,) = (n for n in model_of(tmp_path, text).notes if "semicolons" in n.what)
    assert note.topic == "damage"
    assert note.what.endswith(f"the first in #{number[1]}.")


@pytest.mark.parametrize("name", ["a = b", "#7=IFCWALL(", "a;#7=b", "'' = ''"])
def test_equals_signs_in_names_are_no_damage(tmp_path, name):
    assert NAME in WHOLE
    assert told(tmp_path, WHOLE.replace(NAME, name)) == []


def refusal(tmp_path, text: str) -> str:
    with pytest.raises(InputError) as error:
        model_of(tmp_path, text)
    said = str(error.value)
    assert said.isprintable()
    return said


def test_the_whole_model_says_nothing(tmp_path):
    assert told(tmp_path, WHOLE) == []


@pytest.mark.parametrize(
    "text",
    [
        changed(r"^#32=.*\n", ""),
        changed(r"^#33=.*\n", ""),
        changed(r"^#34=.*\n", ""),
        changed(r"(?<=#34=IFCLOCALPLACEMENT\()\$,#33", "$,#999999"),
        changed(r"(?<=#34=IFCLOCALPLACEMENT\()\$,#33", "#999999,#33"),
        changed(r"(?<=#34=IFCLOCALPLACEMENT\()\$,#33", "$,#6"),
        changed(r"(?<=#34=IFCLOCALPLACEMENT\()\$,#33", "#34,#33"),
        changed(r"(?<=#34=IFCLOCALPLACEMENT\()\$", "#38").replace(
            "#38=IFCLOCALPLACEMENT($", "#38=IFCLOCALPLACEMENT(#34"
        ),
        changed(POINT, "0.15,NAN,0.5"),
        changed(POINT, "0.15,1.E300,0.5"),
        changed(POINT, "0.15,-1.E300,0.5"),
        changed(POINT, "0.15,1E999,0.5"),
    ],
    ids=["no point", "no axes", "no placement", "dangling", "dangling parent", "of no such class",
         "in itself", "in a circle", "NaN", "too far", "too far below", "infinite"],
)  # fmt: skip
def test_a_place_that_cannot_be_read(tmp_path, text):
    assert [said for said in told(tmp_path, text) if said != LOST] == [("placement", DRAIN)]


@pytest.mark.parametrize("number", ["0.15,,0.5", "0.15,$,0.5", "0.15,#7,0.5", "0.15,1.E,0.5"])
def test_a_coordinate_that_is_no_number(tmp_path, number):
    said = sorted(told(tmp_path, changed(POINT, number)))
    assert [one for one in said if one != LOST] == [("damage", DRAIN)]
    assert LOST in said  # the point's own number


@pytest.mark.parametrize(
    ("text", "is_damage"),
    [
        ("CARTESIANPOINT((0.,0.,1.#INF))", True),
        ("DIRECTION((0.,0.,1..2))", True),
        ("DIRECTION((0.,NAN))", True),
        ("DIRECTION((0.,.T.))", True),
        ("CARTESIANPOINT()", True),
        ("CARTESIANPOINT(())", True),
        ("CARTESIANPOINT((0.,0.,0.,0.))", True),
        ("CARTESIANPOINT((0.,-1.5E-03,+2))", False),
        ("CARTESIANPOINT( ( .5 , 1.e5 ) )", False),
        ("CARTESIANPOINTLIST2D(((0.,0.),(1.,0.)))", False),
    ],
)
def test_a_point_that_no_element_is_placed_by_is_told_as_well(tmp_path, text, is_damage):
    """What hangs on it may be a shape that the review could do without, and then says nothing."""
    lines = f"DATA;\n#9001=IFC{text};\n"
    notes = model_of(tmp_path, WHOLE.replace("DATA;\n", lines)).notes
    said = [note.what for note in notes if "No place can be told" in note.what]
    assert [what.endswith("the first #9001.") for what in said] == [True] * is_damage


@pytest.mark.parametrize("gone", [r"^#4=.*\n", r"^#5=.*\n"], ids=["unit", "assignment"])
def test_no_unit(tmp_path, gone):
    assert told(tmp_path, changed(gone, "")) == [LOST, ("scale", "")]


@pytest.mark.parametrize("value", ["-0.0381", "12.7"])
def test_a_size_that_is_none(tmp_path, value):
    assert told(tmp_path, changed(SIZE, value)) == [("size", DRAIN)]


@pytest.mark.parametrize("elevation", ["1E999", "NAN", "-1.E300", "'high'"])
def test_a_storey_at_no_height(tmp_path, elevation):
    text = changed(r"(?<=ELEMENT\.,)0\.(?=\);)", elevation)
    assert told(tmp_path, text) == [("storey", "")]


def test_a_line_gone_that_joins_leaves_an_open_end(tmp_path):
    model = model_of(tmp_path, changed(r"^#63=.*\n", ""))
    assert [j.inferred for j in model.joints] == [False, False, True]  # found by its place, marked


def test_a_line_that_stands_twice_counts_once(tmp_path):
    line = re.search(r"^#35=.*\n", WHOLE, re.M).group()
    twice = model_of(tmp_path, WHOLE.replace(line, line + line))
    assert twice.elements == model_of(tmp_path, WHOLE).elements
    assert twice.notes == []


def test_the_order_of_lines_does_not_matter(tmp_path):
    start, end = WHOLE.index("#1="), WHOLE.index("ENDSEC;\nEND-ISO")
    lines = WHOLE[start:end].splitlines(keepends=True)
    turned = WHOLE[:start] + "".join(reversed(lines)) + WHOLE[end:]
    assert model_of(tmp_path, turned).elements == model_of(tmp_path, WHOLE).elements
    assert model_of(tmp_path, turned).joints == model_of(tmp_path, WHOLE).joints


@pytest.mark.parametrize("count", [1, 3, 4])
def test_of_instances_that_are_lost_the_first_three_are_named(tmp_path, count):
    lines = "".join(f"#{9101 + n}=IFCPOLYLINE((#{9001 + n},#9101));\n" for n in range(count))
    text = WHOLE.replace("DATA;\n", "DATA;\n" + lines).replace(NAME, "Drain (#77,#88")
    (what,) = (note.what for note in model_of(tmp_path, text).notes)
    named = ", ".join(f"#{n}" for n in range(9001, 9001 + min(count, 3)))
    assert f"refer to {count} instance number{'' if count == 1 else 's'} that no line" in what
    assert what.endswith(f"the first {named}.")


def test_one_global_id_twice(tmp_path):
    assert told(tmp_path, WHOLE.replace(TRAP, DRAIN)) == [("identity", DRAIN)]


def test_no_global_id(tmp_path):
    assert told(tmp_path, WHOLE.replace(f"'{DRAIN}'", "$")) == [("identity", "")]


def test_an_instance_that_cannot_be_told_apart(tmp_path):
    """An apostrophe in a name, written once: the line is no instance, and the pipe is missing."""
    model = model_of(tmp_path, WHOLE.replace(NAME, "Drain of L'1"))
    assert len(model.elements) == 3
    (note,) = model.notes
    assert note.topic == "damage"
    assert note.what == (
        "What stands in 1 place of the text of damaged.ifc is no instance and was not read, "
        'the first "#35=IFCPIPESEGMENT(\'1KPD3HzMLMGgvPGmaxtk".'
    )


BROKEN = {
    "a backslash that begins nothing": (NAME, "a\\b"),
    "a parenthesis too few": ("(#39,#43));", "(#39,#43);"),
    "a parenthesis too many": ("#61=IFCRELNESTS(", "#61=IFCRELNESTS(("),
    "quotes in a number": ("#40=IFCCARTESIANPOINT((1.11", "#40=IFCCARTESIANPOINT((1.1'1'"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_an_instance_written_wrongly_is_named(tmp_path, what):
    old, new = BROKEN[what]
    assert WHOLE.count(old) == 1
    notes = model_of(tmp_path, WHOLE.replace(old, new)).notes
    assert [n.topic for n in notes if "semicolons of 1 instance of" in n.what] == ["damage"]


STRAYS = {
    "words": "words #1;", "no number": "#=IFCWALL($);",
    "a number of 19 digits": f"#{'4' * 19}=IFCWALL($);",
    "a class of one's own": "#9000=!OWN('x');", "several classes": "#9000=(IFCA()IFCB());",
    "no equals sign": "#9000 IFCWALL($);",
}  # fmt: skip


@pytest.mark.parametrize("stray", STRAYS.values(), ids=STRAYS)
@pytest.mark.parametrize("before", ["ENDSEC;\nEND-ISO", "END-ISO", "#35="])
@pytest.mark.parametrize("comment", ["/* none */", ""])
def test_text_that_is_no_instance_is_noted(tmp_path, stray, before, comment):
    plain = re.sub(r"/\*.*\*/\n", "", WHOLE)
    text = plain.replace(before, f"{comment}{stray}\n{before}", 1)
    (note,) = model_of(tmp_path, text).notes
    assert note.topic == "damage"
    assert f'the first "{stray[:10]}' in note.what


def test_classes_that_the_schema_of_the_file_lacks(tmp_path):
    """A file whose header names a schema it is not written in: the plumbing is missing."""
    model = model_of(tmp_path, WHOLE.replace("('IFC4')", "('IFC2X3')"))
    assert len(model.elements) == 1
    (note,) = model.notes
    assert note.topic == "damage"
    assert note.what.startswith(
        "1 IfcPipeSegment, 1 IfcSanitaryTerminal, 1 IfcWasteTerminal, 1 IFCDISTRIBUTIONSYSTEM of "
    )
    assert "IFC2X3, the schema the file names, has no such class" in note.what


def test_a_class_that_no_schema_has(tmp_path):
    """A pipe whose class is misspelt is missing, and a pass would be one without it."""
    pipe = "#900=IFCPIPESEGMNT('1KPD3HzMLMGgvPGmaxtk8D',$,'Second',$,$,#34,$,$,.RIGIDSEGMENT.);\n"
    (note,) = model_of(tmp_path, WHOLE.replace("ENDSEC;\nEND-ISO", f"{pipe}ENDSEC;\nEND-ISO")).notes
    assert note.topic == "damage"
    assert note.what.startswith("1 IFCPIPESEGMNT of ")
    assert "IFC4, the schema the file names, has no such class" in note.what


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("x" * 1_000_000, "x" * 199 + "…"),
        ("a\x07\x1b[31m\tb", "a [31m b"),
        ("<script>alert(1)</script>", "<script>alert(1)</script>"),
        ("L\\X2\\00E9\\X0\\ on", "Lé on"),
        ("a\nb", "a b"),
        ("O''Hara", "O'Hara"),
    ],
    ids=["a megabyte", "control characters", "markup", "escape", "two lines", "quote"],
)
def test_names_are_shown_as_far_as_they_can_be(tmp_path, name, shown):
    names = [e.name for e in model_of(tmp_path, WHOLE.replace(NAME, name)).elements]
    assert shown in names


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (WHOLE[: len(WHOLE) // 2], "is cut short (its end is missing)"),
        (WHOLE.replace("FILE_SCHEMA(('IFC4'));\n", ""), "names no schema in its header"),
        (WHOLE.replace("('IFC4')", "()"), "names no schema in its header"),
        (WHOLE.replace("'IFC4'", "'IFC4','IFC2X3'"), "names 2 schemas in its header"),
        (WHOLE.replace("'IFC4'", "'IFC\x1b9'"), 'in the schema "IFC 9", which cannot be read'),
        (WHOLE.replace("#68=", f"#{2**31}="), "numbers an instance 2147483648"),
        ("\ufeff" + WHOLE, "begins with a byte order mark"),
        ("\0" * 5000 + WHOLE, "is not an IFC file"),
        (WHOLE[WHOLE.index("DATA;") :], "is not an IFC file"),
    ],
    ids=["cut", "no schema", "empty schema", "two schemas", "odd schema", "number", "mark",
         "zeros", "no head"],
)  # fmt: skip
def test_why_a_file_is_refused(tmp_path, text, words):
    assert words in refusal(tmp_path, text)


def test_nothing_in_the_data_section_is_no_model(tmp_path):
    from ifclint.findings import Verdict
    from ifclint.review import review

    empty = WHOLE[: WHOLE.index("DATA;") + 6] + "ENDSEC;\nEND-ISO-10303-21;\n"
    path = tmp_path / "damaged.ifc"
    path.write_text(empty)
    done = review([path], code="upc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert "no plumbing that could be read" in done.reason
