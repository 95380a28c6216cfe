"""Why a model could not be reviewed, in a sentence that tells what was read instead."""

from __future__ import annotations

from pathlib import Path

from ifclint.findings import Verdict
from ifclint.ifc.elements import Element, Joint, Model, Role, Storey, System
from ifclint.judged import all_is_set_aside, is_site
from ifclint.network import connect
from ifclint.report import summary
from ifclint.review import review
from tests.ifc.small_models import SmallModel


def test_what_was_read_is_named_where_no_rule_judges_it(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "MILLIMETRE")
    m.system("Rain", [m.pipe((0, 0, 0), (4, 0, -0.1), diameter=0.11)], "STORMWATER")
    done = review([m.write(tmp_path)], None, "ipc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert done.reason == (
        "The model holds no plumbing that any rule judges; read and set aside: storm drainage (1)."
    )


def test_nothing_answered_is_not_said_to_be_only_zero(tmp_path: Path) -> None:
    m = SmallModel("IFC4", "MILLIMETRE")
    m.element("IfcSanitaryTerminal", "WC", predefined="TOILETPAN", at=m.placement((1, 1, 0)))
    done = review([m.write(tmp_path)], None, "ipc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert done.reason.endswith("could not be answered and none could.")
    unjoined = [f for f in done.findings if f.rule == "fixture-reaches-outlet"]
    assert [f.message for f in unjoined] == ["No drain is joined to WC."]


def test_storm_piping_that_no_rule_faults_is_set_aside_and_named(tmp_path: Path) -> None:
    """Joined and sized as it should be: there is nothing to say of it, and that is no pass."""
    m = SmallModel("IFC4", "MILLIMETRE")
    pipes = [
        m.pipe((0, 0, 0), (4, 0, -0.1), diameter=0.11),
        m.pipe((4, 0, -0.1), (8, 0, -0.2), diameter=0.11),
    ]
    m.system("Rain", pipes, "STORMWATER")
    done = review([m.write(tmp_path)], None, "ipc-2021")
    assert done.verdict is Verdict.NOT_REVIEWABLE
    assert [(s.service, s.elements) for s in done.set_aside] == [("storm drainage", 2)]
    assert "storm drainage (2)" in summary(done)


def test_a_boiler_on_heating_pipe_alone_is_heating(tmp_path: Path) -> None:
    elements = [
        Element("P", role=Role.PIPE, system=System.HEATING),
        Element("B", role=Role.HEATER, kind="boiler"),
        Element("H", role=Role.HEATER, kind="water-heater"),
    ]
    model = Model(elements=elements, joints=[Joint(0, 0, 1, 0)], storeys=[Storey("1", 0.0)])
    assert not all_is_set_aside(connect(model))
    model.elements = elements[:2]
    assert all_is_set_aside(connect(model))


def test_sewer_runs_without_a_building_are_a_site(tmp_path: Path) -> None:
    run = [
        Element("P", role=Role.PIPE, system=System.SANITARY),
        Element("M", role=Role.CHAMBER, kind="manhole", system=System.SANITARY),
    ]
    assert is_site(connect(Model(elements=run)))
    assert not is_site(connect(Model(elements=run, storeys=[Storey("Ground", 0.0)])))
    washer = Element("W", role=Role.FIXTURE, kind="lavatory")
    assert not is_site(connect(Model(elements=[*run, washer])))


def boilers(m: SmallModel) -> None:
    """Two boilers of a heating system that nothing is joined to, beside piping that is judged."""
    made = [m.element("IfcBoiler", f"Boiler-{n}", predefined="WATER") for n in (1, 2)]
    m.system("Heating", [*made, m.pipe((5, 0, 0), (6, 0, 0), name="H")], "HEATING")
    m.system("Soil", [m.pipe((0, 0, 0), (1, 0, 0), name="D")], "SEWAGE")


def test_a_boiler_of_the_heating_alone_is_no_water_heater_nor_set_aside(tmp_path: Path) -> None:
    m = SmallModel()
    boilers(m)
    done = review([m.write(tmp_path)], code="upc-2021")
    assert [(s.service, s.elements) for s in done.set_aside] == [("heating or cooling", 1)]
    rules = {f.rule for f in done.findings if "Boiler" in f.message}
    assert "boiler-relief-valve" in rules
    assert not rules & {"heater-cold-shutoff", "heater-thermal-expansion", "heater-not-reversed"}
