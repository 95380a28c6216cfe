"""Fixtures that the architect's file draws again stand once."""

from __future__ import annotations

from pathlib import Path

import pytest

from ifclint.ifc import read
from ifclint.ifc.elements import Model
from tests.ifc.small_models import SmallModel

WIDE, DEEP, HIGH = 0.5, 0.4, 0.2


def _fixture(m: SmallModel, x: float, name: str = "Lavatory", kind: str = "WASHHANDBASIN") -> None:
    made = m.block(
        "IfcSanitaryTerminal", name, (x, 0, 0.7), (x + WIDE, DEEP, 0.7 + HIGH), PredefinedType=kind
    )
    m.contain(made, m.storey)


def _plumbing(folder: Path) -> Path:
    """A lavatory with a drain."""
    m = SmallModel()
    _fixture(m, 0.0)
    drain = m.pipe((0.25, 0.2, 0.7), (0.25, 0.2, 0.0))
    (outlet,) = m.ports(m.file.by_type("IfcSanitaryTerminal")[0], (0.25, 0.2, 0.7))
    m.connect(outlet, m.ports(drain, (0.25, 0.2, 0.7), (0.25, 0.2, 0.0))[0])
    return m.write(folder, "plumbing.ifc")


def _with_copy(folder: Path, *copy: object) -> Model:
    m = SmallModel(first=5000)
    _fixture(m, *copy)  # type: ignore[arg-type]
    return read([_plumbing(folder), m.write(folder, "architect.ifc")])


@pytest.mark.parametrize(
    ("beside_m", "stands"), [(0.0, 1), (0.14, 1), (0.24, 1), (0.26, 2), (0.6, 2)]
)
def test_a_copy_lies_over_half_of_the_first_or_in_its_place(
    tmp_path: Path, beside_m: float, stands: int
) -> None:
    model = _with_copy(tmp_path, beside_m)
    assert sum(e.kind == "lavatory" for e in model.elements) == stands
    assert model.set_aside == ({"drawn twice in one place": 1} if stands == 1 else {})
    assert len(model.joints) == 1


@pytest.mark.parametrize(
    ("name", "kind", "stands"),
    [("Sink 01", "NOTDEFINED", 1), ("S-101", "NOTDEFINED", 1), ("WC", "TOILETPAN", 2)],
)
def test_a_copy_is_of_the_same_kind_as_far_as_told(
    tmp_path: Path, name: str, kind: str, stands: int
) -> None:
    model = _with_copy(tmp_path, 0.0, name, kind)
    assert sum(e.role.name == "FIXTURE" for e in model.elements) == stands


def test_in_one_file_two_beside_each_other_are_two(tmp_path: Path) -> None:
    m = SmallModel()
    _fixture(m, 0.0)
    _fixture(m, 0.2)
    assert len(read([m.write(tmp_path)]).elements) == 2
