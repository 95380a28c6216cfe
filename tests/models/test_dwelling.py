"""The demo dwelling: the same bytes each time, joined up, falling, draining."""

from __future__ import annotations

import tomllib
from pathlib import Path

import ifcopenshell.validate
import networkx as nx
import numpy as np
import pytest

from models.build import write
from models.dwelling.mistakes import REVISIONS
from tests.models.conftest import MODELS
from tests.models.drawn import FOOT_M, Drawn

SCHEMAS = ("IFC2X3", "IFC4", "IFC4X3_ADD2")
DRAINED = (
    "wc1", "wc2", "wc3", "l1", "l2", "l3", "l4", "b1", "sh1", "k1", "k1/disposer", "dw1", "sp1",
    "ls1", "fd1",
)  # fmt: skip
TENTH_MM_FT = 1e-4 / FOOT_M


@pytest.mark.parametrize("revision", REVISIONS)
def test_the_committed_file_is_what_the_generator_writes(revision: str, tmp_path: Path) -> None:
    first, second = tmp_path / "first.ifc", tmp_path / "second.ifc"
    write(first, revision)
    write(second, revision)
    assert first.read_bytes() == second.read_bytes()
    assert first.read_bytes() == (MODELS / f"dwelling_{revision}.ifc").read_bytes()
    assert len(first.read_bytes()) < 2_000_000


@pytest.mark.parametrize("revision", REVISIONS)
@pytest.mark.parametrize("schema", SCHEMAS)
def test_valid_ifc(schema: str, revision: str, tmp_path: Path) -> None:
    path = tmp_path / "model.ifc"
    write(path, revision, schema)
    log = ifcopenshell.validate.json_logger()
    with_rules = (schema, revision) == ("IFC4", "corrected")  # slow
    ifcopenshell.validate.validate(str(path), log, express_rules=with_rules)
    assert log.statements == []


@pytest.mark.parametrize("revision", REVISIONS)
def test_joined_ports_coincide(revision: str, request: pytest.FixtureRequest) -> None:
    drawn: Drawn = request.getfixturevalue(revision)
    assert len(drawn.joints) > 500
    apart = [(a.part, b.part) for a, b in drawn.joints if np.abs(a.at - b.at).max() > TENTH_MM_FT]
    assert apart == []


@pytest.mark.parametrize("revision", REVISIONS)
def test_no_port_is_joined_twice(revision: str, request: pytest.FixtureRequest) -> None:
    drawn: Drawn = request.getfixturevalue(revision)
    ends = [(p.part, p.name) for pair in drawn.joints for p in pair]
    assert len(ends) == len(set(ends))


def test_flow_goes_from_source_to_sink(corrected: Drawn) -> None:
    wrong = [
        (a.part, b.part)
        for a, b in corrected.joints
        if {a.flow, b.flow} != {"SOURCE", "SINK"} and "SOURCEANDSINK" not in (a.flow, b.flow)
    ]
    assert wrong == []


def test_horizontal_drains_fall_a_quarter_inch_per_foot(corrected: Drawn) -> None:
    horizontal = 0
    for tag in corrected.pipes("Sanitary drainage"):
        run, fall = corrected.fall(tag)
        assert fall > 0, tag
        if run > fall:
            horizontal += 1
            assert fall / run == pytest.approx(1 / 48, rel=2e-4), tag
    assert horizontal > 30


def test_vents_grade_back_to_the_drain(corrected: Drawn) -> None:
    """Every horizontal vent has one end higher, by at least 1/4 in per ft."""
    for tag in corrected.pipes("Sanitary vent"):
        run, fall = corrected.fall(tag)
        if run > abs(fall):
            assert abs(fall) / run == pytest.approx(1 / 48, rel=2e-3), tag


def test_every_fixture_drains_to_the_sewer(corrected: Drawn) -> None:
    graph = corrected.downstream
    for tag in DRAINED:
        reached = nx.descendants(graph, tag)
        assert "sewer/main" in reached, tag
        assert tag.startswith("wc") or any(drawn_trap(corrected, part) for part in reached), tag


def test_drainage_is_a_tree(corrected: Drawn) -> None:
    graph = corrected.downstream
    assert max(degree for _, degree in graph.out_degree()) == 1
    assert nx.is_directed_acyclic_graph(graph)


def test_every_trap_is_vented_and_every_vent_reaches_the_roof(corrected: Drawn) -> None:
    vents = corrected.graph("VENT")
    terminals = {"s1/vtr", "s2/vtr"}
    for piece in nx.connected_components(vents):
        assert piece & terminals
    for tag in corrected.elements:
        if drawn_trap(corrected, tag):
            arm = corrected.joined(tag, "outlet")
            assert arm is not None
            fitting = corrected.joined(arm.part, "outlet")
            assert fitting is not None
            assert fitting.part in vents, tag


def drawn_trap(drawn: Drawn, tag: str) -> bool:
    return drawn.type_name(tag).startswith("P-trap")


def test_no_drain_gets_smaller_downstream(corrected: Drawn) -> None:
    for pipe in corrected.pipes("Sanitary drainage"):
        below = corrected.joined(pipe, "outlet")
        assert below is not None, pipe
        for nxt in corrected.downstream.successors(below.part):
            assert corrected.size_in(pipe) <= corrected.size_in(nxt), (pipe, nxt)  # type: ignore[operator]


def test_only_what_is_meant_to_be_open_is_open(corrected: Drawn) -> None:
    joined = {(p.part, p.name) for pair in corrected.joints for p in pair}
    free = {
        tag for tag, ends in corrected.ports.items() for name in ends if (tag, name) not in joined
    }
    assert free == {"cold/meter", "gas/shutoff"}  # the utilities' side


@pytest.mark.parametrize("length_unit", ["METRE", "MILLIMETRE", "FOOT"])
@pytest.mark.parametrize("schema", SCHEMAS)
def test_the_same_parts_in_every_schema_and_unit(
    schema: str, length_unit: str, tmp_path: Path, corrected: Drawn
) -> None:
    path = tmp_path / "model.ifc"
    write(path, "corrected", schema, length_unit)
    other = Drawn(path)
    assert other.elements.keys() == corrected.elements.keys()
    for tag, element in other.elements.items():
        assert element.GlobalId == corrected.elements[tag].GlobalId
        assert element.Name == corrected.elements[tag].Name
    tag = "pipe/main/s1>main/s3"
    for end in ("inlet", "outlet"):
        assert other.ports[tag][end].at == pytest.approx(corrected.ports[tag][end].at, abs=1e-5)
    assert other.size_in(tag) == 4.0
    assert len(other.joints) == len(corrected.joints)


def test_without_ports_the_parts_are_the_same(tmp_path: Path, corrected: Drawn) -> None:
    path = tmp_path / "model.ifc"
    write(path, ports=False)
    bare = Drawn(path)
    assert bare.elements.keys() == corrected.elements.keys()
    assert not bare.ifc.by_type("IfcDistributionPort")
    assert not bare.ifc.by_type("IfcRelConnectsPorts")


@pytest.mark.parametrize("revision", REVISIONS)
def test_the_job_file(revision: str) -> None:
    job = tomllib.loads((MODELS / f"dwelling_{revision}.toml").read_text())
    assert set(job) == {
        "name", "address", "adopted_code", "building", "drainage", "water", "gas",
    }  # fmt: skip
    assert job["adopted_code"] == "upc-2021"
    assert job["water"]["static_pressure"] == "92 psi"
