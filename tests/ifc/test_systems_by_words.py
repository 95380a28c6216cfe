"""What a name says of a service: the pattern of a fitting and the series of a pipe say least."""

from __future__ import annotations

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Model, Role, System
from ifclint.ifc.facts.vocabulary import vocabulary
from tests.ifc.small_models import SmallModel
from tests.ifc.test_joining import block
from tests.ifc.test_systems_and_joints import names


def systems(model: Model) -> dict[str, System | None]:
    return {e.name: e.system for e in model.elements}


def leader(m: SmallModel, fitting: str, pipe: str, below: str, **of_pipe) -> SmallModel:
    """Three pieces joined by ports: a pipe, a fitting, a pipe."""
    made = [
        (m.pipe((0, 0, 3), (0, 0, 2.1), name=pipe, diameter=0.1143, **of_pipe),
         (0, 0, 2.1), (0, 0, 3)),
        (m.element("IfcPipeFitting", fitting, predefined="JUNCTION", at=m.placement((0, 0, 2))),
         (0, 0, 2.1), (0, 0, 1.9)),
        (m.pipe((0, 0, 1.9), (0, 0, 0), name=below, diameter=0.1143), (0, 0, 1.9), (0, 0, 0)),
    ]  # fmt: skip
    ports = [m.ports(element, *places) for element, *places in made]
    m.connect(ports[0][0], ports[1][0])
    m.connect(ports[1][1], ports[2][0])
    return m


@pytest.mark.parametrize(
    ("fitting", "pipe", "system"),
    [
        ("Sanitary Tee 4 in", "Storm Drain Pipe", System.STORM),
        ("Sanitary Tee 4 in", "Building drain", System.SANITARY),
        ("Sanitary Tee - PVC - DWV", "Regenwasserleitung", System.STORM),
        ("Elbow - PVC - Sch 40 - DWV", "Storm Drain Pipe", System.STORM),
        ("Sanitary Tee 4 in", "Pipe", System.SANITARY),  # nothing else tells
        ("Sanitary drain tee", "Storm Drain Pipe", System.SANITARY),  # said beside its pattern
        ("Vent tee", "Vent pipe", System.VENT),
    ],
)
def test_the_pattern_of_a_fitting_is_no_service(tmp_path, fitting, pipe, system):
    told = systems(read(leader(SmallModel(), fitting, pipe, f"{pipe} 2").write(tmp_path)))
    assert told[fitting] is system


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ('FLUE 5" Type B gas vent pipe', System.FLUE), ("Gas vent pipe", System.FLUE),
        ("B-vent vent pipe", System.FLUE), ("Chimney vent pipe", System.FLUE),
        ("Vent pipe", System.VENT), ("Vent pipe, exhaust", System.VENT),
        ("Plumbing vent", System.VENT),
    ],
)  # fmt: skip
def test_a_vent_that_is_called_a_flue_besides_is_one(tmp_path, name, system):
    m = SmallModel()
    m.pipe((0, 0, 0), (0, 0, 3), name=name, diameter=0.1143)
    assert systems(read(m.write(tmp_path)))[name] is system


@pytest.mark.parametrize(
    ("below", "system"),
    [("Storm Drain Pipe", System.STORM), ("Building drain", System.SANITARY),
     ("Irrigation line", System.COLD_WATER), ("Pipe 2", System.SANITARY)],
)  # fmt: skip
def test_pipe_that_only_its_series_calls_a_drain_is_what_it_is_joined_to(tmp_path, below, system):
    m = leader(SmallModel(), "Elbow", "Pipe", below, type_name="PVC Schedule 40 DWV - 4 in")
    assert systems(read(m.write(tmp_path)))["Pipe"] is system


def test_pipe_of_a_drain_series_at_a_trap_drains_whatever_it_meets(tmp_path):
    m = leader(SmallModel(), "Elbow", "Pipe", "Storm Drain Pipe", type_name="PVC DWV")
    trap = m.element("IfcWasteTerminal", "P-trap", predefined="WASTETRAP",
                     at=m.placement((0, 0, 3.1)))  # fmt: skip
    (port,) = m.ports(trap, (0, 0, 3))
    pipe = next(e for e in m.file.by_type("IfcPipeSegment") if e.Name == "Pipe")
    own = [p for rel in pipe.IsNestedBy for p in rel.RelatedObjects]
    m.connect(own[1], port)
    assert systems(read(m.write(tmp_path)))["Pipe"] is System.SANITARY


def test_a_sanitary_tee_without_ports_is_joined_to_the_leader_it_stands_in(tmp_path):
    m = SmallModel()
    m.element("IfcPipeFitting", "Sanitary Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)),
              shape=block(m, (-0.1, -0.1, -0.1), (0.1, 0.1, 0.1)))  # fmt: skip
    run = [m.pipe((0, 0, 3), (0, 0, 0.1), name="Above", diameter=0.1143),
           m.pipe((0, 0, -0.1), (0, 0, -3), name="Below", diameter=0.1143)]  # fmt: skip
    m.system("Storm", run, "STORMWATER")
    model = read(m.write(tmp_path))
    assert names(model) == [("Above", "Sanitary Tee"), ("Below", "Sanitary Tee")]
    assert systems(model)["Sanitary Tee"] is System.STORM


@pytest.mark.parametrize(
    ("run", "branch", "system"),
    [
        ("Cold water", "Hot water return", System.COLD_WATER),
        ("Hot water", "Hot water return", System.HOT_WATER),
        ("Cold water", "Hot water", None),  # a crossing tells nothing
    ],
)
def test_a_tee_at_a_return_is_of_the_water_that_passes_it(tmp_path, run, branch, system):
    m = SmallModel()
    tee = m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)))
    own = m.ports(tee, (-0.05, 0, 0), (0.05, 0, 0), (0, 0.05, 0))
    for port, name, near, far in zip(own, (run, f"{run} 2", branch),
                                     ((-0.05, 0, 0), (0.05, 0, 0), (0, 0.05, 0)),
                                     ((-1, 0, 0), (1, 0, 0), (0, 1, 0)), strict=True):  # fmt: skip
        ends = m.ports(m.pipe(near, far, name=name, diameter=0.0286), near, far)
        m.connect(port, ends[0])
    assert systems(read(m.write(tmp_path)))["Tee"] is system


@pytest.mark.parametrize(
    ("services", "system"),
    [("CCH", System.COLD_WATER), ("HCH", System.HOT_WATER), ("CH", None), ("CCG", None)],
)
def test_a_fitting_is_of_the_water_that_most_of_its_ports_are_of(tmp_path, services, system):
    m = SmallModel()
    tee = m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)))
    places = ((-0.05, 0, 0), (0.05, 0, 0), (0, 0.05, 0))[: len(services)]
    types = {"C": "DOMESTICCOLDWATER", "H": "DOMESTICHOTWATER", "G": "GAS"}
    for port, service in zip(m.ports(tee, *places), services, strict=True):
        port.SystemType = types[service]
    assert systems(read(m.write(tmp_path)))["Tee"] is system


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("Schmutzwassersammelleitung", System.SANITARY),
        ("Küchenabwasser", System.SANITARY),
        ("Abwasserlüftungsleitung", System.VENT),  # what a compound ends with outranks its begin
        ("Notentwässerung Leitung", System.STORM),
        ("Abblaseleitung", System.RELIEF),
        ("Warmwassersteigleitung", System.HOT_WATER),
        ("Kaltwasserverteilleitung", System.COLD_WATER),
        ("Löschwasserleitung", System.FIRE),
        ("Afvalwaterleiding", System.SANITARY),
        ("Ab", None),  # no part of a short word
        ("Rohrleitung", None),
    ],
)
def test_compound_words_are_looked_into(tmp_path, name, system):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name=name)
    assert systems(read(m.write(tmp_path)))[name] is system


# Ventilation: of ducts, or of drains


@pytest.mark.parametrize(
    ("below", "system"),
    [("Eaux usées", System.VENT), ("Condensats", System.CONDENSATE), (None, System.OTHER)],
)
def test_a_pipe_of_a_system_called_ventilation_is_a_vent_where_it_meets_drainage(
    tmp_path, below, system
):
    m = SmallModel()
    vent = m.pipe((0, 0, 1), (0, 0, 4), name="Tuyau")
    m.system("Ventilation", [vent])
    if below is not None:
        m.system(below, [m.pipe((0, 0, 0), (0, 0, 1), name="Drain")])
    model = read(m.write(tmp_path))
    assert systems(model)["Tuyau"] is system
    assert bool(model.joints) is (below is not None)


@pytest.mark.parametrize(
    ("system", "role"), [("DOMESTICCOLDWATER", Role.VALVE), ("VENT", Role.VENT_TERMINAL)]
)
def test_one_word_for_vacuum_breaker_and_air_admittance_valve(tmp_path, system, role):
    m = SmallModel()
    valve = m.element("IfcValve", "Rohrbelüfter", predefined="NOTDEFINED",
                      at=m.placement((0, 0, 1)))  # fmt: skip
    m.system("Line", [valve, m.pipe((0, 0, 0), (0, 0, 0.9), name="Pipe")], system)
    (found,) = (e for e in read(m.write(tmp_path)).elements if e.name == "Rohrbelüfter")
    assert found.role is role
    assert (found.kind == "vacuum-breaker") is (role is Role.VALVE)


# A floor drain on a roof


def roofed(tmp_path, rim_m: float, system: str, roof: str = "ROOF", attic: bool = False) -> str:
    """The kind of a drain over a room that is 3 m high under a deck of 0.2 m."""
    m = SmallModel()
    m.block("IfcSlab", "Deck", (0, 0, 3), (8, 5, 3.2), PredefinedType=roof)
    m.space("Shop", (0, 0, 0), (8, 5, 3))
    if attic:
        m.block("IfcSlab", "Upper", (0, 0, 6), (8, 5, 6.2), PredefinedType="ROOF")
        m.space("Plant room", (0, 0, 3.2), (8, 5, 6))
    m.element("IfcBuildingElementProxy", "Sumidero de rebose", at=m.placement((2, 2, rim_m)),
              shape=block(m, (-0.15, -0.15, -0.1), (0.15, 0.15, 0.0)))  # fmt: skip
    pipe = m.pipe((2, 2, rim_m - 0.1), (2, 2, rim_m - 2.5), name="Down", diameter=0.1143)
    m.system("Drains", [pipe], system)
    (drain,) = (e for e in read(m.write(tmp_path)).elements if e.name != "Down")
    return drain.kind


@pytest.mark.parametrize(
    ("rim_m", "system", "roof", "attic", "kind"),
    [
        (3.2, "STORMWATER", "ROOF", False, "roof-drain"),
        (3.3, "STORMWATER", "FLOOR", False, "roof-drain"),  # a slab over which there is no room
        (3.2, "SEWAGE", "ROOF", False, "floor-drain"),
        (3.2, "STORMWATER", "FLOOR", True, "floor-drain"),  # of a plant room: wrong, and told so
        (0.0, "STORMWATER", "ROOF", False, "floor-drain"),
    ],
)
def test_what_stands_on_a_roof_and_drains_rain_is_a_roof_drain(
    tmp_path, rim_m, system, roof, attic, kind
):
    assert roofed(tmp_path, rim_m, system, roof, attic) == kind


@pytest.mark.parametrize(
    ("name", "at", "kind"),
    [
        ("Area Drain AD-1", (20, 2, 0), "floor-drain"),
        ("Catch basin CB-1", (20, 2, 0), "floor-drain"),
        ("Roof Drain RD-1", (20, 2, 0), "roof-drain"),
        ("Area Drain AD-1", (4, 2, 3.2), "roof-drain"),  # over a room
    ],
)
def test_an_area_drain_classed_as_a_roof_drain_is_none_but_on_a_roof(tmp_path, name, at, kind):
    m = SmallModel()
    m.block("IfcSlab", "Deck", (0, 0, 3), (8, 5, 3.2), PredefinedType="ROOF")
    m.space("Shop", (0, 0, 0), (8, 5, 3))
    m.element("IfcWasteTerminal", name, predefined="ROOFDRAIN", at=m.placement(at),
              shape=block(m, (-0.15, -0.15, -0.1), (0.15, 0.15, 0.0)))  # fmt: skip
    model = read(m.write(tmp_path))
    (drain,) = model.elements
    assert drain.kind == kind
    doubted = any("but its name says" in n.what for n in model.notes)
    assert doubted is (kind == "roof-drain" and not name.startswith("Roof"))


@pytest.mark.parametrize(
    ("group", "between", "doubted"),
    [
        ("Hot Water Return", None, False),
        ("Hot Water", None, True),
        ("Hot Water", ("IfcPump", None), False),
        ("Hot Water", ("IfcValve", "CHECK"), False),
        ("Hot Water", ("IfcValve", "ISOLATING"), True),
    ],
)
def test_the_tee_of_a_return_in_a_cold_feed_is_of_two_waters_rightly(
    tmp_path, group, between, doubted
):
    m = SmallModel()
    tee = m.element("IfcPipeFitting", "Tee", predefined="JUNCTION", at=m.placement((0, 0, 0)))
    own = m.ports(tee, (-0.05, 0, 0), (0.05, 0, 0), (0, 0.05, 0))
    for port, kind in zip(own, ("COLD", "COLD", "HOT"), strict=True):
        port.SystemType = f"DOMESTIC{kind}WATER"
    near, far = (0, 0.05, 0), (0, 1, 0)
    pipe = m.pipe(near, far, name="Pipe", diameter=0.0286)
    hot = [pipe]
    ends = m.ports(pipe, near, far)
    m.connect(own[2], ends[0])
    if between is not None:
        hot.append(m.element(between[0], "Part", predefined=between[1], at=m.placement(far)))
        m.connect(ends[1], m.ports(hot[1], far, (0, 1.1, 0))[0])
    m.system(group, hot, "DOMESTICHOTWATER")
    notes = read(m.write(tmp_path)).notes
    assert any("are of different services" in n.what for n in notes) is doubted


def below_a_roof_drain(tmp_path, system: str, kind: str | None, joined: str) -> System | None:
    """What a pipe of a system is that a roof drain enters, and what else is joined to it."""
    m = SmallModel()
    drain = m.element(
        "IfcWasteTerminal", "Drain", predefined="ROOFDRAIN", at=m.placement((0, 0, 3))
    )
    pipe = m.pipe((0, 0, 3), (0, 0, 0), name="Pipe", diameter=0.1143)
    on = m.pipe((0, 0, 0), (5, 0, -0.1), name="On", diameter=0.1143)
    (outlet,), (top, foot) = m.ports(drain, (0, 0, 3)), m.ports(pipe, (0, 0, 3), (0, 0, 0))
    start, _ = m.ports(on, (0, 0, 0), (5, 0, -0.1))
    m.connect(outlet, top)
    m.connect(foot, start)
    m.system(system, [drain, pipe, *([on] if not joined else [])], kind)
    if joined:
        m.system(joined, [on])
    return systems(read(m.write(tmp_path)))["Pipe"]


@pytest.mark.parametrize(
    ("system", "kind", "joined", "told"),
    [
        ("Overflow Drainage 1", None, "", System.STORM),
        ("Drenaje", None, "", System.STORM),
        ("Roof", "DRAINAGE", "", System.STORM),
        ("Drainage 2", "DRAINAGE", "Drainage 1", System.STORM),
        ("Drainage 2", "DRAINAGE", "Storm", System.STORM),
        ("Sanitary Drainage", None, "", System.SANITARY),
        ("Building Drain", None, "", System.SANITARY),
        ("Drainage", "SEWAGE", "", System.SANITARY),
        ("Overflow Drainage 1", None, "Sewer", System.SANITARY),
    ],
)
def test_drainage_of_roof_drains_alone_is_of_rain(tmp_path, system, kind, joined, told):
    assert below_a_roof_drain(tmp_path, system, kind, joined) is told


@pytest.mark.parametrize(
    "name",
    ["Foundation drain 4 in perforated", "Footing drain", "Subsoil drain", "Perimeter drain 4 in",
     "Dränage DN100", "Drain de fondation", "French drain"],
)  # fmt: skip
def test_drains_of_the_ground_are_of_the_storm_drainage(tmp_path, name):
    m = SmallModel()
    m.pipe((0, 0, 0), (1, 0, 0), name=name)
    m.pipe((0, 5, 0), (1, 5, 0), name="Building drain")
    assert systems(read(m.write(tmp_path))) == {
        name: System.STORM, "Building drain": System.SANITARY
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "stated", "system"),
    [
        ("Regenfallleitung RD-1", None, System.STORM),
        ("Regenwassergrundleitung", None, System.STORM),
        ("Schmutzwasserfallleitung", None, System.SANITARY),
        ("Fallleitung 3", "Regenwasser", System.STORM),
        ("Sanitary 2 in", "Storm", System.STORM),
        ("2 in vent", "Sanitary", System.VENT),  # a kind of what is stated
        ("Gas 1 in", "Other", System.GAS),
        ("Bath wet vent", None, System.SANITARY),
        ("2 in vent", None, System.VENT),
        ("Combination waste and vent", None, System.SANITARY),
    ],
)
def test_the_words_of_a_property_go_before_those_of_a_name(tmp_path, name, stated, system):
    m = SmallModel()
    pipe = m.pipe((0, 0, 0), (1, 0, 0), name=name)
    if stated is not None:
        m.properties(pipe, "Mechanical", **{"System Name": ("IfcLabel", stated)})
    (found,) = read(m.write(tmp_path)).elements
    assert found.system is system


@pytest.mark.parametrize(
    ("name", "system"),
    [
        ("Fumi", System.FLUE),
        ("Rökgas", System.FLUE),
        ("Exaustão de gases", System.FLUE),
        ("Дымоход", System.FLUE),
        ("Naturgass", System.GAS),
        ("Г1 Газопровод", System.GAS),
        ("Дымоудаление", None),  # of a fire, by ducts
    ],
)
def test_flues_and_gas_in_further_languages(name, system):
    assert vocabulary({}).systems.find(name) is system


@pytest.mark.parametrize(
    ("name", "material"),
    [
        ("Polybutylene", "polybutylene"),
        ("Poly-B 3/4 in", "polybutylene"),
        ("PB pipe", "polybutylene"),
        ("Acrylonitrile Butadiene Styrene", "abs"),
        ("Iron, Black - Threaded", "steel"),
        ("Iron, Cast - No-Hub", "cast iron"),
        ("ASTM A53 Grade B", "steel"),
        ("Acciaio nero", "steel"),
        ("Acciaio inox", "stainless steel"),
        ("Rame", "copper"),
    ],
)
def test_materials_in_further_words(name, material):
    assert vocabulary({}).materials.find(name) == material


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("Polyethylene coated steel Schedule 40", "steel"),
        ("Copper tube, PVC coated", "copper"),
        ("Stahl PE-ummantelt", "steel"),
        ("acier revêtu de polyéthylène", "steel"),
        ("Black steel coated with polyethylene", "steel"),
        ("Ductile iron, cement lined", "ductile iron"),
        ("Coated steel", "steel"),
        ("Carbon steel coated", "steel"),
        ("Steel coated", "steel"),
        ("Polyethylene, wrapped", "polyethylene"),
        ("PE coated", "polyethylene"),  # of what, it does not tell
    ],
)
def test_coated_pipe_is_of_what_is_under_the_coat(text: str, material: str) -> None:
    assert vocabulary({}).material(text) == material
