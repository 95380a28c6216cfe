"""What a correction clears and raises is the same whether all rules are asked again or some."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from ifclint import again, codes, ifc, job, network
from ifclint.findings import Finding
from ifclint.ifc.elements import Element, End, Role, System
from ifclint.judge import judge
from ifclint.packs import Context, load_packs
from ifclint.plumbing import GasSegment, Piece, TrapArm, build
from ifclint.review import review
from tests.reviewing import reviewed_demo

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
    some = reviewed_demo(*(Path(name).stem for name in models))[0].corrections
    asked: list[frozenset[System] | None] = []

    def none(*changed: object) -> None:
        asked.append(real(*changed))  # type: ignore[arg-type]

    real = again._sized
    monkeypatch.setattr(again, "_sized", none)
    assert review(paths, MODELS / job).corrections == some
    assert any(sized and System.GAS in sized for sized in asked)
    assert any(sized and System.GAS not in sized for sized in asked)


@pytest.mark.parametrize("service", sorted(again.EVERY))
@pytest.mark.parametrize(
    "models", [["dwelling_early.ifc"], ["restaurant_early.ifc", "restaurant_architecture.ifc"]]
)
def test_other_sizes_of_a_service_find_the_same(
    models: list[str], service: System, monkeypatch: pytest.MonkeyPatch
) -> None:
    packs = load_packs()
    model = ifc.read([MODELS / name for name in models])
    if not any(element.system is service for element in model.elements):
        pytest.skip(f"{models[0]} has no {service.value}")
    plumbing = build(network.connect(model))
    sections = job.job_with(job.fitting(packs.sections))()
    context = Context(codes.load("upc-2021"), plumbing, sections)
    first = judge(packs.loaded, context).findings
    asked = again.Again(
        model, packs.loaded, context, first, lambda net, around: build(net, surroundings=around)
    )
    for share in (0.5, 2.0):
        sized = [_sized(e, share) if e.system is service else e for e in model.elements]
        changed = replace(model, elements=sized)
        some = _told(asked(changed))
        with monkeypatch.context() as patch:
            patch.setattr(again, "_sized", lambda before, after: None)
            assert _told(asked(changed)) == some


def _sized(element: Element, share: float) -> Element:
    if element.size_in is None:
        return element
    ends = [replace(e, size_in=e.size_in and e.size_in * share) for e in element.ends]
    return replace(element, size_in=element.size_in * share, ends=ends)


def _told(findings: list[Finding]) -> list[tuple[str, str]]:
    return sorted((finding.id, finding.message) for finding in findings)


def _finds_the_same(subject: type, sized: frozenset[System] | None) -> bool:
    rule = replace(load_packs().loaded[0].rules[0], subject=subject, clauses={})
    return again._finds_the_same(rule, sized)


def test_a_size_leaves_the_other_piping_as_it_was() -> None:
    sized = again._sized([DRAIN], [replace(DRAIN, size_in=4.0)])
    assert sized == {System.SANITARY}
    assert _finds_the_same(GasSegment, sized)
    assert not any(_finds_the_same(kind, sized) for kind in (TrapArm, Piece))
    gas = replace(DRAIN, system=System.GAS)
    assert _finds_the_same(TrapArm, again._sized([gas], [replace(gas, size_in=1.0)]))


@pytest.mark.parametrize(
    "after",
    [
        replace(DRAIN, slope=0.02),
        replace(DRAIN, ends=[ALONG[0], End((1.0, 0.0, 2.9))]),
    ],
)
def test_what_moves_leaves_nothing_as_it_was(after: Element) -> None:
    assert again._sized([DRAIN], [after]) is None
    assert not _finds_the_same(GasSegment, None)


def test_a_size_of_unknown_service_leaves_nothing_as_it_was() -> None:
    unknown = replace(DRAIN, system=None)
    assert again._sized([unknown], [replace(unknown, size_in=4.0)]) is None
