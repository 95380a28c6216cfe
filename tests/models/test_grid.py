"""The big test model: connected, unique, as large as asked for, the same each time."""

from __future__ import annotations

from pathlib import Path

import ifcopenshell
import ifcopenshell.validate
import networkx as nx
import numpy as np
import pytest

from models.grid import STACKS_IN_A_ROW, write_grid


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("grid") / "grid.ifc"
    write_grid(path, 300)
    return path


def test_valid_ifc(small: Path) -> None:
    log = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(str(small), log)
    assert log.statements == []


def test_written_as_the_exchange_format_asks(small: Path) -> None:
    for line in small.read_text().splitlines():
        assert not line.startswith("#") or line.split("=")[1].split("(")[0].isupper()


def test_same_bytes_each_time(small: Path, tmp_path: Path) -> None:
    again = tmp_path / "again.ifc"
    write_grid(again, 300)
    assert again.read_bytes() == small.read_bytes()


def test_as_many_pipes_as_promised(small: Path) -> None:
    count = write_grid(small.with_name("other.ifc"), 300)
    pipes = len(ifcopenshell.open(small).by_type("IfcPipeSegment"))
    assert 300 <= pipes == count < 300 + 100


def test_every_row_is_one_connected_network(tmp_path: Path) -> None:
    path = tmp_path / "rows.ifc"
    write_grid(path, 73 * (STACKS_IN_A_ROW + 2))
    model = ifcopenshell.open(path)
    owner = {
        port.id(): relation.RelatingObject.id()
        for relation in model.by_type("IfcRelNests")
        for port in relation.RelatedObjects
    }
    graph = nx.Graph()
    graph.add_nodes_from(owner.values())
    for relation in model.by_type("IfcRelConnectsPorts"):
        graph.add_edge(owner[relation.RelatingPort.id()], owner[relation.RelatedPort.id()])
    sewers = {e.id() for e in model.by_type("IfcDistributionChamberElement")}
    pieces = list(nx.connected_components(graph))
    assert len(pieces) == len(sewers) == 2
    assert all(len(piece & sewers) == 1 for piece in pieces)
    guids = [root.GlobalId for root in model.by_type("IfcRoot")]
    assert len(guids) == len(set(guids))


def test_joined_ports_coincide_across_copies(small: Path) -> None:
    model = ifcopenshell.open(small)

    def place(port: ifcopenshell.entity_instance) -> np.ndarray:
        matrix = ifcopenshell.util.placement.get_local_placement(port.ObjectPlacement)
        return np.asarray(matrix[:3, 3])

    apart = [
        relation
        for relation in model.by_type("IfcRelConnectsPorts")
        if np.abs(place(relation.RelatingPort) - place(relation.RelatedPort)).max() > 1e-4
    ]
    assert apart == []


def test_without_ports(tmp_path: Path) -> None:
    path = tmp_path / "bare.ifc"
    count = write_grid(path, 150, ports=False)
    model = ifcopenshell.open(path)
    assert len(model.by_type("IfcPipeSegment")) == count
    assert not model.by_type("IfcDistributionPort")
