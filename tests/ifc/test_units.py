"""Units of a project: what is no unit, and what is named twice, is said and forbids a pass."""

from __future__ import annotations

import re

import pytest

from ifclint.ifc import read
from tests.ifc.small_models import SmallModel

METRE = "#905=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);"
NO_POWERS = "#904=IFCDIMENSIONALEXPONENTS(0,0,0,0,0,0,0);"
PRESSURE = ("IfcPressureMeasure", 400.0)


def si(kind, prefix, name, ref=900):
    return f"#{ref}=IFCSIUNIT(*,.{kind}.,{prefix},.{name}.);"


def conversion(kind, name, factor, base=METRE, ref=900):
    return (
        f"{base}\n{NO_POWERS}\n#{ref}=IFCCONVERSIONBASEDUNIT(#904,.{kind}.,'{name}',#{ref + 50});\n"
        f"#{ref + 50}=IFCMEASUREWITHUNIT({factor},#905);"
    )


def written(tmp_path, refs, lines, more=(), unit="METRE", **facts):
    """A file whose project has these units, and a pipe of 3 units with these properties."""
    m = SmallModel("IFC4", unit)
    m.properties(m.pipe((0, 0, 0), (3, 0, 0), name="P"), "Pset_X", **facts)
    path = m.write(tmp_path)
    text = path.read_text()
    old = re.search(r"(#\d+=IFCUNITASSIGNMENT)\(\(.*?\)\);", text)
    assert old is not None
    path.write_text(text.replace(old[0], "\n".join([f"{old[1]}(({refs}));", lines, *more])))
    return path


def told(tmp_path, refs, lines, **facts):
    model = read(written(tmp_path, refs, lines, **facts))
    return model.elements[0].length_m, [n.what for n in model.notes if n.topic in ("unit", "scale")]


TWO_LENGTHS = "several units of length that differ"
NO_LENGTH = "unit of length that the model names (#900) cannot be understood; metres were taken"
FOOT = conversion("LENGTHUNIT", "FOOT", "IFCRATIOMEASURE(0.3048)")


@pytest.mark.parametrize(
    ("refs", "lines", "metres", "said"),
    [
        ("#900", si("LENGTHUNIT", ".DECI.", "METRE"), 0.3, ""),
        ("#900", FOOT, 0.9144, ""),
        ("#900", conversion("LENGTHUNIT", "FOOT", "0.3048"), 0.9144, ""),
        ("#900", conversion("LENGTHUNIT", "US SURVEY FOOT", "IFCREAL(0.3048006)"), 0.9144018, ""),
        # two of one kind: the same in effect, and not
        ("#900,#901", "\n".join(si("LENGTHUNIT", "$", "METRE", r) for r in (900, 901)), 3.0, ""),
        (
            "#900,#901",
            f"{FOOT}\n#901=IFCCONVERSIONBASEDUNIT(#904,.LENGTHUNIT.,'SURVEY',#951);\n"
            "#951=IFCMEASUREWITHUNIT(IFCREAL(0.3048006),#905);",
            0.9144,
            "",
        ),
        (
            "#900,#901",
            si("LENGTHUNIT", ".MILLI.", "METRE") + si("LENGTHUNIT", "$", "METRE", 901),
            0.003,
            TWO_LENGTHS,
        ),
        (
            "#900,#901",
            si("LENGTHUNIT", ".MYRIA.", "METRE") + si("LENGTHUNIT", ".DECI.", "METRE", 901),
            0.3,
            "one cannot be understood",
        ),
        # what is no unit of length
        ("#900", si("LENGTHUNIT", ".MYRIA.", "METRE"), 3.0, NO_LENGTH),
        ("#900", si("LENGTHUNIT", "$", "SECOND"), 3.0, NO_LENGTH),
        ("#900", si("LENGTHUNIT", "$", "METER"), 3.0, NO_LENGTH),
        *(
            ("#900", conversion("LENGTHUNIT", "ELL", factor), 3.0, NO_LENGTH)
            for factor in ("$", "IFCREAL(0.)", "IFCREAL(-0.6)", "IFCREAL(NaN)", "IFCLABEL('0.6')")
        ),
        ("#900", f"{NO_POWERS}#900=IFCCONVERSIONBASEDUNIT(#904,.LENGTHUNIT.,'ELL',$);", 3.0,
         NO_LENGTH),
        # a factor that is not the name's; but for one the other way round
        ("#900", conversion("LENGTHUNIT", "FOOT", "IFCREAL(304.8)"), 3.0, NO_LENGTH),
        ("#900", conversion("LENGTHUNIT", "FOOT", "IFCREAL(3.28084)"), 0.9144, ""),
        # of another kind than it says
        ("#900", conversion("LENGTHUNIT", "ELL", "IFCREAL(0.6)", si("PLANEANGLEUNIT", "$", "RADIAN",
         905)), 3.0, NO_LENGTH),
    ],
)  # fmt: skip
def test_units_of_length(tmp_path, refs, lines, metres, said):
    length_m, notes = told(tmp_path, refs, lines)
    assert length_m == pytest.approx(metres)
    assert len(notes) == bool(said)
    assert all(said in note for note in notes)


@pytest.mark.parametrize("refs", ["#900", "#905"])
def test_a_length_that_rests_on_a_unit_not_known_is_told_apart(tmp_path, refs):
    """A file with no unit of length, and one with a metre."""
    model = read(written(tmp_path, refs, f"{METRE}\n{si('TIMEUNIT', '$', 'SECOND')}"))
    said = [(n.topic, n.what) for n in model.notes if n.topic in ("unit", "scale")]
    none = ("scale", "The model names no unit of length; metres were taken.")
    assert said == ([none] if refs == "#900" else [])


def test_angles_in_degrees_whichever_way_round_they_are_written(tmp_path):
    radian = si("PLANEANGLEUNIT", "$", "RADIAN", 905)
    metre = si("LENGTHUNIT", "$", "METRE", 910)
    for factor, said in (("0.0174532925", 0), ("57.2957795", 0), ("90.", 1)):
        degree = conversion("PLANEANGLEUNIT", "DEGREE", f"IFCREAL({factor})", radian)
        assert len(told(tmp_path, "#910,#900", f"{metre}\n{degree}")[1]) == said


BAR = conversion("PRESSUREUNIT", "BAR", "IFCREAL(1.E5)", si("PRESSUREUNIT", "$", "PASCAL", 905))
NO_BAR = conversion("PRESSUREUNIT", "BAR", "IFCREAL(0.)", si("PRESSUREUNIT", "$", "PASCAL", 905))
TWO_PRESSURES = BAR + si("PRESSUREUNIT", ".KILO.", "PASCAL", 901)


@pytest.mark.parametrize(
    ("refs", "lines", "said"),
    [
        ("#910,#900", BAR, ""),
        ("#910,#900", NO_BAR, "unit of pressure"),
        ("#910,#900,#901", TWO_PRESSURES, "several units of pressure that differ"),
        # a force on a length is no pressure, one on an area is
        ("#910,#900", si("FORCEUNIT", "$", "NEWTON", 902) + "#900=IFCDERIVEDUNIT((#903,#904),"
         ".PRESSUREUNIT.,$);#903=IFCDERIVEDUNITELEMENT(#902,1);"
         "#904=IFCDERIVEDUNITELEMENT(#910,-1);", "unit of pressure"),
        ("#910,#900", si("FORCEUNIT", "$", "NEWTON", 902) + "#900=IFCDERIVEDUNIT((#903,#904),"
         ".PRESSUREUNIT.,$);#903=IFCDERIVEDUNITELEMENT(#902,1);"
         "#904=IFCDERIVEDUNITELEMENT(#910,-2);", ""),
    ],
)  # fmt: skip
def test_only_a_unit_that_a_value_needs_is_in_doubt(tmp_path, refs, lines, said):
    metre = si("LENGTHUNIT", "$", "METRE", 910)
    lines = f"{metre}\n{lines}"
    assert told(tmp_path, refs, lines)[1] == []  # no pressure is told
    notes = told(tmp_path, refs, lines, NominalPressure=PRESSURE, WorkingPressure=PRESSURE)[1]
    assert len(notes) == bool(said)
    assert all(said in note for note in notes)
