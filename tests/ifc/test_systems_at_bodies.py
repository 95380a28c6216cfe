"""The service of piping that only the connections tell which it is joined to."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import System
from ifclint.review import review
from tests.ifc.small_models import SmallModel

COLD, HOT, WATER = System.COLD_WATER, System.HOT_WATER, System.WATER


def linked(m: SmallModel, ifc_class: str, name: str, *ends: tuple, **more):
    """An element with a port at each end: its place, flow and service."""
    if ifc_class == "IfcPipeSegment":
        made = m.pipe(ends[0][0], ends[1][0], name=name, shaped=False)
    else:
        made = m.element(ifc_class, name, at=m.placement(ends[0][0]), **more)
    ports = m.ports(made, *(e[0] for e in ends), flows=tuple(e[1] for e in ends))
    for port, end in zip(ports, ends, strict=True):
        if len(end) > 2:
            port.SystemType = end[2]
    return made


def heated(m: SmallModel, last: str, system: str | None = "WATERSUPPLY"):
    """A heater, its cold and hot pipes and a faucet, in one system or none; the hot pipe ends at a
    faucet's connection of `last`."""
    both = "SOURCEANDSINK"
    linked(m, "IfcBoiler", "Heater", ((1, 0, 0), "SINK", "DOMESTICCOLDWATER"),
           ((1.4, 0, 0), "SOURCE", "DOMESTICHOTWATER"), predefined="WATER")  # fmt: skip
    linked(m, "IfcValve", "Mixer", ((5, 0, 0), "SINK", last), ((5, 0.3, -0.5), "SINK"),
           predefined="FAUCET")  # fmt: skip
    pipes = [
        linked(m, "IfcPipeSegment", "C", ((0, 0, 0), both), ((1, 0, 0), both)),
        linked(m, "IfcPipeSegment", "H1", ((1.4, 0, 0), both), ((3, 0, 0), both)),
        linked(m, "IfcPipeSegment", "H2", ((3, 0, 0), both), ((5, 0, 0), both)),
    ]
    if system:
        m.system("Water", pipes, system)
    return m


def systems(path):
    return {e.name: e.system for e in read(path).elements}


@pytest.mark.parametrize("system", ["WATERSUPPLY", None])
def test_water_is_hot_between_hot_connections_and_cold_at_a_cold_one(tmp_path, system):
    found = systems(heated(SmallModel(), "DOMESTICHOTWATER", system).write(tmp_path))
    assert (found["C"], found["H1"], found["H2"]) == (COLD, HOT, HOT)


def test_where_connections_differ_nothing_is_told(tmp_path):
    found = systems(heated(SmallModel(), "DOMESTICCOLDWATER", None).write(tmp_path))
    assert (found["C"], found["H1"], found["H2"]) == (COLD, None, None)


def test_what_is_fed_from_the_open_end_is_not_fed_from_its_mixer(tmp_path):
    m = heated(SmallModel(), "DOMESTICHOTWATER")
    (mixer,) = m.file.by_type("IfcValve")
    mixer.IsNestedBy[0].RelatedObjects[1].SystemType = "DOMESTICCOLDWATER"
    path = m.write(tmp_path)
    found = review([path], code="upc-2021").findings
    assert any('"C" was assumed' in f.message for f in found)
    assert not any("Mixer" in f.message and "assumed" in f.message for f in found)
    assert not any("cold water enters is not known" in f.message for f in found)


@pytest.mark.parametrize(
    ("predefined", "flow", "system"),
    [
        ("WASHHANDBASIN", "SOURCE", System.SANITARY),
        ("WASHHANDBASIN", "SINK", None),
        ("SANITARYFOUNTAIN", "SOURCE", None),
    ],
)
def test_what_leads_on_from_the_outlet_of_a_fixture_drains(tmp_path, predefined, flow, system):
    m = SmallModel()
    linked(m, "IfcSanitaryTerminal", "Basin", ((0, 0, 0.5), flow), predefined=predefined)
    both = "SOURCEANDSINK"
    linked(m, "IfcPipeSegment", "A", ((0, 0, 0.5), both), ((0, 0, 0), both))
    linked(m, "IfcPipeSegment", "B", ((0, 0, 0), both), ((3, 0, 0), both))
    found = systems(m.write(tmp_path))
    assert found["A"] is found["B"] is system


def test_a_drain_of_which_no_height_is_known_is_asked_about(tmp_path):
    """Words and links alone: where it leaves is not told, and not found wrong."""
    m = SmallModel()
    basin = m.element("IfcSanitaryTerminal", "Basin", predefined="WASHHANDBASIN")
    drains = [m.element("IfcPipeSegment", name) for name in "AB"]
    (outlet,) = m.ports(basin, (0, 0, 0), flows=("SOURCE",))
    ends = [m.ports(d, (0, 0, 0), (0, 0, 0), flows=("SINK", "SOURCE")) for d in drains]
    for port in (outlet, *ends[0], *ends[1]):
        port.ObjectPlacement = None
    m.connect(outlet, ends[0][0])
    m.connect(ends[0][1], ends[1][0])
    path = m.write(tmp_path)
    assert {e.system for e in read(path).elements if e.name in "AB"} == {System.SANITARY}
    (found,) = [
        f for f in review([path], code="upc-2021").findings if f.rule == "fixture-reaches-outlet"
    ]
    assert found.outcome.value == "unverified"
    assert "followed to B, of which no height is known" in found.message


@pytest.mark.parametrize(
    ("ifc_class", "predefined", "system"),
    [("IfcBoiler", "WATER", System.FLUE), ("IfcSanitaryTerminal", "WASHHANDBASIN", System.VENT)],
)
def test_what_leads_from_a_heater_to_the_terminal_of_a_vent_is_its_flue(
    tmp_path, ifc_class, predefined, system
):
    m = SmallModel()
    both = "SOURCEANDSINK"
    linked(m, ifc_class, "Below", ((0, 0, 0), both), predefined=predefined)
    linked(m, "IfcPipeSegment", "A", ((0, 0, 0), both), ((0, 0, 3), both))
    linked(m, "IfcStackTerminal", "Cap", ((0, 0, 3), both), predefined="COWL")
    found = systems(m.write(tmp_path))
    assert found["A"] is system
    assert found["Cap"] is system


def test_what_leads_from_a_heater_to_the_open_air_alone_is_of_no_known_service(tmp_path):
    m = SmallModel()
    both = "SOURCEANDSINK"
    linked(m, "IfcBoiler", "Below", ((0, 0, 0), both), predefined="WATER")
    linked(m, "IfcPipeSegment", "A", ((0, 0, 0), both), ((0, 0, 3), both))
    assert systems(m.write(tmp_path))["A"] is None
