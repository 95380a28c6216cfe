"""For every rule: what one of its cases draws right, beside a corrected demo (one or the other, by
its name), then what another draws with a mistake. The mistake is found on the right element by
what it breaks, and nothing new is found anywhere else.

`beside.toml` names the two cases of each rule, or the wrong one and how it is mended, and what is
found. They are drawn 500 ft off; all packs judge the whole, each building by its own job file but
for the sections that a case states. What is drawn right is put beside the demo to the rules alone
that find something where it is wrong: no other can make a difference. That none breaks of it is
asked of all of them, of what is drawn alone.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from zlib import crc32

import pytest

from ifclint import codes, job, network
from ifclint.amendments import amended
from ifclint.codes import AdoptedCode
from ifclint.ifc.elements import Model
from ifclint.judge import Judgement, judge
from ifclint.packs import Context, Pack, load_packs
from ifclint.plumbing import build
from ifclint.testing.cases import Case, read_cases
from ifclint.testing.networks import read_network
from tests.packs.test_moved import moved
from tests.seeded.demos import DWELLING, MODELS, RESTAURANT, fresh

LISTED = Path(__file__).parent / "beside.toml"
MISTAKES: list[dict[str, Any]] = tomllib.loads(LISTED.read_text(encoding="utf-8"))["mistake"]
CASES = Path(__file__).parents[1] / "packs"
LOADED = load_packs()
BUILDING = "the building"  # what a demand on the building as a whole clicks: an element of the demo
OFF_FT = 500.0
JOBS = {
    name: tomllib.loads((MODELS / f"{name}.toml").read_text(encoding="utf-8"))
    for name in (DWELLING, RESTAURANT)
}
ELSEWHERE = {  # rules whose mistakes are made in the demos themselves, by other tests beside this
    "gas-building-shutoff", "gas-regulator-openings", "closets-enough", "lavatories-enough",
    "baths-enough", "service-sink-provided", "dwelling-equipped", "staff-rooms-apart",
    "gas-pipe-size", "gas-through-foundation", "sewer-fall", "static-pressure-limit",
    "supply-by-table",
}  # fmt: skip
Said = set[tuple[str, str, str]]


@cache
def _cases() -> dict[tuple[str, str, str], Case]:
    found: dict[tuple[str, str, str], Case] = {}
    for pack in LOADED.loaded:
        for case in read_cases(CASES / pack.name):
            found.setdefault((case.rule, case.code, case.name), case)
    return found


def case_of(rule: str, code: str, name: str) -> Case:
    found = _cases().get((rule, code, name))
    assert found is not None, f"{rule} has no case {name!r} of {code} any more: beside.toml"
    return found


def _beside(name: str, text: str) -> tuple[Model, set[str]]:
    """A building with what a text draws beside it, and the GlobalIds of that."""
    model = fresh(name)
    drawn = read_network(moved(text, lambda p: (p[0] + OFF_FT, p[1], p[2]))).model
    first, storeys = len(model.elements), {s.name for s in model.storeys}
    model.elements += drawn.elements
    model.joints += [j._replace(a=j.a + first, b=j.b + first) for j in drawn.joints]
    model.spaces += drawn.spaces
    model.surfaces += drawn.surfaces
    model.notes += drawn.notes
    model.storeys += [s for s in drawn.storeys if s.name not in storeys]
    model.storeys.sort(key=lambda s: s.elevation_m)
    return model, {e.guid for e in drawn.elements}


@cache
def _code(name: str) -> AdoptedCode:
    adopted = codes.load(name)
    for pack in LOADED.loaded:
        for brought in pack.tables:
            adopted = adopted.with_tables(brought)
    return adopted


def _said(
    name: str, text: str, told: Mapping[str, Any], code: str, rules: set[str] | None = None
) -> Said:
    """Of which element each rule finds what; of the rules named alone, or of all."""
    model, drawn = _beside(name, text)
    own = {key: value for key, value in JOBS[name].items() if key != "adopted_code"}
    made = _judged(_packs(rules), model, {**own, "gas": {}, "water": {}, **told}, code)
    firsts = ((f, f.element_ids[0] if f.element_ids else "") for f in made.findings)
    return {(f.rule, at if at in drawn else BUILDING, f.outcome.value) for f, at in firsts}


def _packs(rules: set[str] | None) -> list[Pack]:
    if rules is None:
        return LOADED.loaded
    return [
        replace(pack, rules=tuple(rule for rule in pack.rules if rule.name in rules))
        for pack in LOADED.loaded
    ]


def _judged(packs: list[Pack], model: Model, told: Mapping[str, Any], code: str) -> Judgement:
    """What the rules say; none of them breaks."""
    the_job = job.job_of(told, LOADED.sections)
    plumbing = build(
        network.connect(model),
        the_job.drainage.outlets,
        [flow.element for flow in the_job.drainage.continuous_flow],
        the_job.gas.source,
        the_job.water.source,
    )
    made = judge(packs, Context(amended(_code(code), the_job), plumbing, the_job))
    assert not made.failures
    return made


def _right(mistake: dict[str, Any], wrong: Case) -> tuple[str, Mapping[str, Any]]:
    """What is drawn right, and its job file: another case, the wrong one mended, or nothing."""
    if "right" in mistake:
        right = case_of(mistake["rule"], mistake["code"], mistake["right"])
        return right.network, right.stated.get("job", {})
    network_of = wrong.network if "mend" in mistake or "job" in mistake else ""
    for old, new in mistake.get("mend", ()):
        assert network_of.count(old) == 1, f"{mistake['rule']}: not one place to mend {old!r}"
        network_of = network_of.replace(old, new)
    return network_of, mistake.get("job", wrong.stated.get("job", {}))


@pytest.mark.parametrize(
    ("mistake", "name"),
    [(m, (DWELLING, RESTAURANT)[crc32(m["rule"].encode()) % 2]) for m in MISTAKES],
    ids=[m["rule"] for m in MISTAKES],
)
def test_a_mistake_beside_a_demo_is_found_and_nothing_else(
    mistake: dict[str, Any], name: str
) -> None:
    rule, code = mistake["rule"], mistake["code"]
    wrong = case_of(rule, code, mistake["wrong"])
    after = {
        said
        for said in _said(name, wrong.network, wrong.stated.get("job", {}), code)
        if said[2] in ("violation", "advisory") or said[0] == rule
    }
    drawn, told = _right(mistake, wrong)
    before = _said(name, drawn, told, code, {said[0] for said in after})
    _judged(LOADED.loaded, read_network(drawn).model, told, code)
    expected = {(rule, at, outcome) for rule, at, outcome in mistake["found"]}
    assert rule in {said[0] for said in expected}
    assert after - before == expected


def test_every_rule_has_its_mistake() -> None:
    counted = Counter(mistake["rule"] for mistake in MISTAKES)
    assert not [rule for rule, count in counted.items() if count > 1]
    ours = {rule.name for pack in LOADED.loaded for rule in pack.rules}
    assert not ours - set(counted) - ELSEWHERE, "without a mistake in beside.toml"
    assert not (set(counted) | ELSEWHERE) - ours
    assert not set(counted) & ELSEWHERE
