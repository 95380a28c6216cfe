"""Classifications that are named for a service, where neither systems nor ports tell it."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Role, System
from tests.ifc.small_models import SCHEMAS, SmallModel
from tests.ifc.test_pipework import PROXY, loose


def classify(m: SmallModel, name: str | None, *elements, code="Ss_50", above: str | None = None):
    """Relate elements to a classification, below another where that has a name."""
    said = {"ItemReference" if m.old else "Identification": code, "Name": name}
    reference = m.file.create_entity("IfcClassificationReference", **said)
    if above:
        held = m.file.create_entity("IfcClassificationReference", Name=above)
        if not m.old:
            reference.ReferencedSource = held
    m.root(
        "IfcRelAssociatesClassification",
        RelatedObjects=list(elements),
        RelatingClassification=reference,
    )


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("Sanitary waste", System.SANITARY), ("Vent", System.VENT), ("Flue", System.FLUE),
        ("Domestic cold water", System.COLD_WATER), ("Domestic hot water", System.HOT_WATER),
        ("Natural gas", System.GAS), ("Pipes", None), ("Level 1", None), (None, None),
    ],
)  # fmt: skip
def test_a_classification_tells_the_service(tmp_path, schema, name, system):
    m = SmallModel(schema)
    classify(m, name, m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe"))
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.system is system
    assert (str(pipe.basis.get("system", "")) == f'classification "{name}"') == (system is not None)


def test_what_it_stands_below_tells_it_too(tmp_path):
    m = SmallModel()
    classify(m, "Copper", m.pipe((0, 0, 0), (1, 0, 0), name="2 in pipe"), above="Natural gas")
    (pipe,) = read(m.write(tmp_path)).elements
    assert pipe.system is System.GAS


def test_what_systems_and_ports_say_goes_before(tmp_path):
    m = SmallModel()
    in_system, with_ports, alone = (
        m.pipe((0, y, 0), (1, y, 0), name="2 in pipe") for y in range(3)
    )
    m.system("Domestic cold water", [in_system])
    for port in m.ports(with_ports, (0, 1, 0), (1, 1, 0)):
        port.SystemType = "DOMESTICHOTWATER"
    classify(m, "Sanitary waste", in_system, with_ports, alone)
    classify(m, "Vent", alone)  # the first that tells
    found = read(m.write(tmp_path)).elements
    assert [e.system for e in found] == [System.COLD_WATER, System.HOT_WATER, System.SANITARY]


def by_classification(m: SmallModel, name: str, element) -> None:
    classify(m, name, element)


def by_layer(m: SmallModel, name: str, element) -> None:
    held = list(element.Representation.Representations)
    m.file.create_entity("IfcPresentationLayerAssignment", Name=name, AssignedItems=held)


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize("tell", [by_classification, by_layer])
@pytest.mark.parametrize(
    ("of", "system"), [("Natural gas", System.GAS), ("Heating", System.HEATING)]
)
def test_proxies_of_a_service_are_what_they_are_called(tmp_path, schema, tell, of, system):
    m = SmallModel(schema)
    for y, name in enumerate(["Ball valve:Standard:600028", "Gas valve:Standard:600041"]):
        tell(m, of, loose(m, PROXY, name, y))
    found = read(m.write(tmp_path)).elements
    assert [(e.role, e.system) for e in found] == [(Role.VALVE, system)] * 2


@pytest.mark.parametrize(
    ("name", "kind"),
    [("Gas Shutoff Valve", "gas-shutoff"), ("Ball Valve", "isolating"),
     ("T&P Relief Valve", "relief"), ("Check valve", "check"),
     ("Double check backflow preventer", "backflow-preventer")],
)  # fmt: skip
def test_valves_are_known_by_the_name_of_a_proxy_alone(tmp_path, name, kind):
    m = SmallModel()
    loose(m, PROXY, name)
    loose(m, PROXY, "Valve cover")
    found = read(m.write(tmp_path)).elements
    assert [(e.role, e.kind) for e in found] == [(Role.VALVE, kind)]


@pytest.mark.parametrize("tell", [by_classification, by_layer])
def test_proxies_of_a_service_that_are_not_understood_are_counted(tmp_path, tell):
    m = SmallModel()
    tell(m, "Natural gas", loose(m, PROXY, "Xylophone"))
    loose(m, PROXY, "Desk")
    said = [n.what for n in read(m.write(tmp_path)).notes if n.topic == "role"]
    assert [w.startswith(f"1 of class {PROXY} in systems of pipe") for w in said] == [True]


@pytest.mark.parametrize("schema", SCHEMAS)
@pytest.mark.parametrize(
    ("name", "title", "kind"),
    [
        ("Element CW", "Water Closets", "water-closet"),
        ("Element CW", "Lavatories", "lavatory"),
        ("Bathtub", "Lavatories", "bathtub"),  # its name goes before
        ("Element CW", "Plumbing fixtures", None),
    ],
)
def test_a_fixture_is_known_by_its_classification_alone(tmp_path, schema, name, title, kind):
    m = SmallModel(schema)
    classify(m, title, loose(m, PROXY, name))
    found = [(e.role, e.kind) for e in read(m.write(tmp_path)).elements]
    assert found == ([(Role.FIXTURE, kind)] if kind else [])


def test_a_terminal_of_no_kind_is_known_by_its_classification(tmp_path):
    m = SmallModel()
    basin = m.element("IfcSanitaryTerminal", "Element LV")
    classify(m, "Lavatories", basin)
    (element,) = read(m.write(tmp_path)).elements
    assert element.kind == "lavatory"
    assert element.basis["kind"].words == "words of the description or classification"
