"""What is to be demolished or stands for a while only is set aside; what exists is told."""

from __future__ import annotations

import pytest

from ifclint.findings import Verdict
from ifclint.ifc import read
from ifclint.report import summary
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.ifc.test_layers import on_layer
from tests.reviewing import without_corrections


def two_pipes(m: SmallModel, **of_second):
    """A pipe that stays, joined to a second one."""
    first = m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe")
    second = m.pipe((1, 0, 0), (2, 0, 0), **{"name": "2 in pipe", **of_second})
    m.connect(m.ports(first, (0, 0, 0), (1, 0, 0))[1], m.ports(second, (1, 0, 0), (2, 0, 0))[0])
    return first, second


def stated(m: SmallModel, element, set_name: str, **texts: str):
    values = {k.replace("_", " "): ("IfcLabel", v) for k, v in texts.items()}
    m.properties(element, set_name, **values)


def status(m: SmallModel, element, value: str):
    label = m.file.create_entity("IfcLabel", value)
    made = m.file.create_entity("IfcPropertyEnumeratedValue", "Status", None, [label], None)
    m.property_set(element, "Pset_PipeSegmentTypeCommon", [made])


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("DEMOLISH", {"to be demolished": 1}), ("TEMPORARY", {"temporary": 1}), ("NEW", {}),
        ("EXISTING", {}), ("OTHER", {}), ("UNSET", {}),
    ],
)  # fmt: skip
def test_the_status_of_the_standard(tmp_path, schema, value, told):
    m = SmallModel(schema)
    first, second = two_pipes(m)
    status(m, first, "NEW")
    status(m, second, value)
    model = read(m.write(tmp_path))
    assert model.set_aside == told
    assert len(model.elements) == (1 if told else 2)
    assert len(model.joints) == (0 if told else 1)
    existing = [e.guid for e in model.elements if e.properties.get("status") == "existing"]
    assert existing == ([second.GlobalId] if value == "EXISTING" else [])


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("phases", "told"),
    [
        ({"Phase_Created": "Existing", "Phase_Demolished": "New Construction"},
         {"to be demolished": 1}),
        ({"Phase_Created": "New Construction", "Phase_Demolished": "New Construction"},
         {"temporary": 1}),
        ({"Phase_Created": "Existing", "Phase_Demolished": "None"}, {}),
        ({"Phase_Created": "New Construction"}, {}),
        ({"Phase_erstellt": "Bestand", "Phase_abgebrochen": "Umbau"}, {"to be demolished": 1}),
        ({"Phase_erstellt": "Bestand", "Phase_abgebrochen": "Keine"}, {}),
        ({"Renovation_Status": "To Be Demolished"}, {"to be demolished": 1}),
        ({"Renovation_Status": "Existing"}, {}),
        ({"Umbaustatus": "Abbruch"}, {"to be demolished": 1}),
    ],
)  # fmt: skip
def test_phases_as_programs_write_them(tmp_path, schema, phases, told):
    m = SmallModel(schema)
    _, second = two_pipes(m)
    stated(m, second, "Phasing", **phases)
    model = read(m.write(tmp_path))
    assert model.set_aside == told
    existing = any(e.properties.get("status") == "existing" for e in model.elements)
    is_old = {"Existing", "Bestand"} & set(phases.values())
    assert existing == bool(is_old and not told)


@pytest.mark.parametrize("of", ["representation", "item"])
@pytest.mark.parametrize(
    ("layer", "told"),
    [("P-DEMO-PIPE", {"to be demolished": 1}), ("P-SANR-PIPE", {}), ("P-TEMP-PIPE", {}),
     ("Abbruch", {"to be demolished": 1}), ("Temporary works", {"temporary": 1})],
)  # fmt: skip
def test_layers(tmp_path, of, layer, told):
    m = SmallModel()
    _, second = two_pipes(m)
    on_layer(m, layer, of, second)
    assert read(m.write(tmp_path)).set_aside == told


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("Existing pipe - to be removed", {"to be demolished": 1}),
        ("2 in pipe (demolished)", {"to be demolished": 1}),
        ("Demolish 2 in pipe", {"to be demolished": 1}),
        ("DEMO: 2 in pipe", {"to be demolished": 1}),
        ("Rohr (abzubrechen)", {"to be demolished": 1}),
        ("Temporary 2 in pipe", {"temporary": 1}),
        ("2 in pipe to cap at demolished branch", {}),
        ("2 in pipe, not to be removed", {}),
        ("2 in pipe, no 5 to be removed", {"to be demolished": 1}),
        ("Existing 2 in pipe", {}),
        ("2 in pipe at the temporary meter", {}),
    ],
)
def test_names(tmp_path, name, told):
    m = SmallModel()
    two_pipes(m, name=name)
    assert read(m.write(tmp_path)).set_aside == told


def test_what_a_property_states_goes_before_a_name(tmp_path):
    m = SmallModel()
    _, second = two_pipes(m, name="2 in pipe (demolished)")
    status(m, second, "NEW")
    assert not read(m.write(tmp_path)).set_aside


def test_a_review_counts_and_names_what_it_sets_aside(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe, old = two_pipes(m)
    m.system("Sanitary", [pipe, old], "SEWAGE")
    status(m, old, "DEMOLISH")
    done = without_corrections([m.write(tmp_path)], None, "ipc-2021")
    assert [(s.service, s.elements) for s in done.set_aside] == [("to be demolished", 1)]
    assert "to be demolished (1)" in summary(done)
    assert any('1 element, "2 in pipe"' in note for note in done.network.notes)
    assert not [f for f in done.findings if old.GlobalId in f.element_ids]
    status(m, pipe, "DEMOLISH")
    nothing = without_corrections([m.write(tmp_path)], None, "ipc-2021")
    assert nothing.verdict is Verdict.NOT_REVIEWABLE
    assert "to be demolished (2)" in nothing.reason


def test_what_exists_is_judged_and_told(tmp_path):
    m = SmallModel("IFC4", "MILLIMETRE")
    pipe, old = two_pipes(m)
    m.system("Sanitary", [pipe, old], "SEWAGE")
    status(m, old, "EXISTING")
    done = without_corrections([m.write(tmp_path)], None, "ipc-2021")
    assert not done.set_aside
    assert any(said.startswith("1 element is stated to be existing") for said in done.assumptions)


@pytest.mark.parametrize(
    ("name", "is_existing"),
    [
        ('Existing 2" PVC to remain', True), ('4" existing sewer', True), ("Vent stack (E)", True),
        ("Sewer - existing", True), ("Bestehende Leitung", True), ("(EX) 2 in waste", True),
        ("2 in waste", False), ("Tie-in to existing stack", False), ("Vent E", False),
        ("Existing sink, relocated", False), ("New connection (existing)", False),
        ("not existing", False), ("EX-1 fan drain", False), ("Waste (e)", False),
    ],
)  # fmt: skip
def test_names_that_say_that_something_is_there(tmp_path, name, is_existing):
    m = SmallModel()
    _, second = two_pipes(m, name=name)
    model = read(m.write(tmp_path))
    assert [e.guid for e in model.elements if e.is_existing] == [second.GlobalId] * is_existing


def test_what_is_to_be_removed_is_not_kept_for_being_existing(tmp_path):
    m = SmallModel()
    two_pipes(m, name="Existing pipe - to be removed")
    assert read(m.write(tmp_path)).set_aside == {"to be demolished": 1}
