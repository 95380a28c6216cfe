"""Our rules against tiny networks with the answers expected, from the TOML files beside.

Only the packs of this distribution: whatever else is installed has tests of its own.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

import pytest

from ifclint.findings import Answer
from ifclint.job import Job
from ifclint.packs import Pack, make_pack
from ifclint.plumbing.drainage.loads import loads
from ifclint.testing import Case, context_of, read_cases
from ifclint.testing.cases import job_of, untried, wrong_among
from ifclint.testing.questions import all_answers
from tests.packs.kept import is_kept, kept, told

HERE = Path(__file__).parent
OURS = sorted(path.name for path in HERE.iterdir() if path.is_dir() and path.name[0] != "_")
PACKS: dict[str, Pack] = {
    name: make_pack(name, import_module(f"ifclint.rules.{name}")) for name in OURS
}
CASES = [(name, case) for name in OURS for case in read_cases(HERE / name)]
RULES = [(name, rule) for name, pack in PACKS.items() for rule in pack.rules]
_ASKED: dict[int, dict[str, Sequence[Answer]]] = {}  # by the identity of a case of CASES
_JOBS: dict[tuple[str, str], Job] = {}


def asked(pack: str, case: Case) -> dict[str, Sequence[Answer]]:
    """All that the rule of a case of CASES says in it, for whoever looks at it after."""
    said = _ASKED[id(case)] = asked_of(pack, case, case.network)
    return said


def answered(pack: str, case: Case) -> dict[str, Sequence[Answer]]:
    """The same, asked only where it has not been."""
    return _ASKED.get(id(case)) or asked(pack, case)


def asked_of(pack: str, case: Case, network: str) -> dict[str, Sequence[Answer]]:
    """What the rule of a case says where it is drawn as another network."""
    mine = PACKS[pack]
    rule = next(rule for rule in mine.rules if rule.name == case.rule)
    context = context_of(network, case.code, job_in(pack, case), tables=mine.tables)
    return all_answers(rule, context, mine.subjects)


def job_in(pack: str, case: Case) -> Job:
    """The job file of a case: one for all of a pack that are alike, for it takes as long to make as
    a small network."""
    key = pack, repr(case.stated.get("job"))
    if key not in _JOBS:
        _JOBS[key] = job_of(case, PACKS[pack])
    return _JOBS[key]


def _by_themselves() -> list[tuple[str, list[Case]]]:
    """Each case that is written, and those drawn near its limits."""
    found: list[tuple[str, list[Case]]] = []
    for pack, case in CASES:
        if is_kept(case):
            found.append((pack, []))
        found[-1][1].append(case)
    return found


WRITTEN = _by_themselves()


@pytest.mark.parametrize(("pack", "cases"), WRITTEN, ids=[str(own[0]) for _, own in WRITTEN])
def test_case(pack: str, cases: list[Case]) -> None:
    wrong = {str(case): wrong_among(answered(pack, case), case) for case in cases}
    assert {case: said for case, said in wrong.items() if said} == {}
    said, case = answered(pack, cases[0]), str(cases[0])
    assert told(said) == kept(pack).get(case), "IFCLINT_WRITE_GOLDEN: see test_golden"


@pytest.mark.parametrize("pack", OURS)
def test_no_rule_is_left_out(pack: str) -> None:
    folder = Path(str(import_module(f"ifclint.rules.{pack}").__file__)).parent
    texts = (path.read_text(encoding="utf-8") for path in folder.glob("*.py"))
    written = sum(len(re.findall(r"^@\w*rule\(", text, re.M)) for text in texts)
    assert len(PACKS[pack].rules) == written


LOADED = [case for _, case in CASES if "load" in case.stated]


@pytest.mark.parametrize("case", LOADED, ids=str)
def test_load(case: Case) -> None:
    """The load a drain carries."""
    context = context_of(case.network, case.code, job_in("drainage", case))
    carried = {run.first.guid: dfu for run, dfu in loads(context).carried.items()}
    assert carried[case.subjects[0]] == pytest.approx(case.stated["load"])


@pytest.mark.parametrize(("pack", "rule"), RULES, ids=[rule.name for _, rule in RULES])
def test_every_rule_is_documented_and_tried(pack: str, rule) -> None:
    expected = {case.answer for _, case in CASES if case.rule == rule.name}
    if rule.name == "drain-ring":  # its subjects are found because they are wrong
        assert "violation" in expected
        return
    assert untried(rule, expected) == []
    assert rule.is_about_model or expected & {"unverified", "not-applicable"}
