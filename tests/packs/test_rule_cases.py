"""Every rule against tiny networks with the answers expected, from the TOML files beside."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from ifclint.findings import Outcome
from ifclint.job import Job
from ifclint.packs import Rule, load_packs
from ifclint.testing import ask

HERE = Path(__file__).parent
RULES: dict[str, Rule] = {rule.name: rule for pack in load_packs().loaded for rule in pack.rules}


def _cases() -> list[dict[str, object]]:
    found = []
    for path in sorted(HERE.glob("*/*.toml")):
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        for case in document["case"]:
            found.append({"rule": document.get("rule"), **_drawn(case, document)})
    return found


def _drawn(case: dict[str, Any], document: dict[str, Any]) -> dict[str, Any]:
    """A case `from` a network of its file, with what to `change` (old, new) and to `add`."""
    if "from" not in case:
        return case
    network = document["networks"][case["from"]]
    for old, new in case.get("change", []):
        assert old in network, f"{case['name']}: no {old!r} to change"
        network = network.replace(old, new)
    return {**case, "network": network + case.get("add", "")}


CASES = _cases()


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['rule']}: {c['code']}: {c['name']}")
def test_case(case: dict[str, object]) -> None:
    job = Job.model_validate(case.get("job", {}))
    said = ask(RULES[case["rule"]], case["network"], case["code"], job)
    by_subject = dict(said.items())
    candidates = case.get("subject_is_any_of", [case["subject"]])
    answers = [by_subject[c] for c in candidates if c in by_subject]
    assert answers, f"no such subject; there are {list(by_subject)}"
    answer = answers[0]
    assert answer.outcome == case["answer"], answer.message
    if "measured" in case:
        assert answer.measured.value == pytest.approx(case["measured"], abs=0.01)
    if "required" in case:
        assert answer.required.value == pytest.approx(case["required"], abs=0.01)
    if "remedy" in case:
        assert case["remedy"] in answer.remedy
    if "clicked" in case:
        assert answer.elements[0] == case["clicked"]
    if answer.outcome in (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED):
        assert answer.message
        assert answer.remedy


@pytest.mark.parametrize("case", [c for c in CASES if "load" in c], ids=lambda c: c["name"])
def test_load(case: dict[str, object]) -> None:
    """The load a drain carries, read off the schedule."""
    from ifclint_drainage.loads import loads

    from ifclint import codes
    from ifclint.packs import Context
    from ifclint.plumbing import see
    from ifclint.testing import read_network

    job = Job.model_validate(case.get("job", {}))
    discharges = [flow.element for flow in job.drainage.continuous_flow]
    plumbing = see(read_network(case["network"]), discharges=discharges)
    carried = loads(Context(codes.load(case["code"]), plumbing, job)).carried
    by_name = {run.first.guid: dfu for run, dfu in carried.items()}
    assert by_name[case["subject"]] == pytest.approx(case["load"])


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda r: r.name)
def test_every_rule_is_documented_and_tried(rule: Rule) -> None:
    assert rule.title
    assert len(rule.documentation) > 60
    assert rule.clauses
    outcomes = {c["answer"] for c in CASES if c["rule"] == rule.name}
    always_wrong = rule.name in ("drain-ring",)  # its subjects are found because they are wrong
    if always_wrong:
        assert "violation" in outcomes
    else:
        assert "pass" in outcomes
        if rule.is_about_model:
            assert outcomes & {"advisory", "unverified"}
        else:
            assert outcomes & {"violation", "advisory"}
            assert outcomes & {"unverified", "not-applicable"}
    if rule.needs:
        assert "unverified" in outcomes
