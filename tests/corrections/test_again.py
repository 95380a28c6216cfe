"""What a correction clears and raises is the same whether all rules are asked again or some."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from ifclint import again
from ifclint.ifc.elements import Element, End, Role, System
from ifclint.plumbing import GasSegment, Piece, TrapArm
from ifclint.review import review

MODELS = Path(__file__).parents[2] / "models"
ALONG = [End((0.0, 0.0, 3.0)), End((1.0, 0.0, 3.0))]
DRAIN = Element("a", "IfcPipeSegment", "", role=Role.PIPE, system=System.SANITARY, ends=ALONG)


@pytest.mark.parametrize(
    ("models", "job"),
    [
        (["dwelling_early.ifc"], "dwelling_early.toml"),
        (["restaurant_early.ifc", "restaurant_architecture.ifc"], "restaurant_early.toml"),
    ],
)
def test_all_rules_asked_again_find_the_same(
    models: list[str], job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = [MODELS / name for name in models]
    some = review(paths, MODELS / job).corrections
    asked: list[frozenset[type]] = []

    def none(*changed: object) -> frozenset[type]:
        asked.append(real(*changed))  # type: ignore[arg-type]
        return frozenset()

    real = again._kinds_alike
    monkeypatch.setattr(again, "_kinds_alike", none)
    assert review(paths, MODELS / job).corrections == some
    assert any(TrapArm in kinds for kinds in asked)
    assert any(GasSegment in kinds for kinds in asked)


def test_a_size_leaves_the_other_piping_as_it_was() -> None:
    alike = again._kinds_alike([DRAIN], [replace(DRAIN, size_in=4.0)])
    assert GasSegment in alike
    assert not alike & {TrapArm, Piece}
    gas = replace(DRAIN, system=System.GAS)
    assert TrapArm in again._kinds_alike([gas], [replace(gas, size_in=1.0)])


@pytest.mark.parametrize(
    "after",
    [
        replace(DRAIN, slope=0.02),
        replace(DRAIN, ends=[ALONG[0], End((1.0, 0.0, 2.9))]),
    ],
)
def test_what_moves_leaves_nothing_as_it_was(after: Element) -> None:
    assert again._kinds_alike([DRAIN], [after]) == frozenset()


def test_a_size_of_unknown_service_leaves_nothing_as_it_was() -> None:
    unknown = replace(DRAIN, system=None)
    assert again._kinds_alike([unknown], [replace(unknown, size_in=4.0)]) == frozenset()
