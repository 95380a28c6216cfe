"""Cases of rules, read from TOML files and tried.

A case may also be drawn just below, at and just above a limit, three further cases: "{d}" stands
for the dimension that is varied (97 %, 100 % and 103 % of `limit`; or three values), alone or in
arithmetic, in what takes the place of words of its network, or in its job file. `code` names
another code than the case's, or several.

    near = [
        { limit = 6, draw = [["0 0 12", "0 0 {2 + d}"]], answers = ["violation", "pass", "pass"] },
        { name = "beside the wall", draw = [["0 0 12", "0 4 12"]], answer = "unverified" },
    ]

The second is one further case, by a name of its own. `remedies` are words of the three remedies.
"""

import tomllib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ifclint import job
from ifclint.findings import Answer, Outcome
from ifclint.packs import Pack, Rule, make_pack
from ifclint.testing.near import near_cases
from ifclint.testing.questions import all_answers, context_of

CLOSE = 0.01  # of measured and required, in their unit
KEYS = frozenset({
    "rule", "name", "code", "subject", "subject_is_any_of", "answer", "measured", "required",
    "remedy", "clicked", "job", "network", "from", "change", "add", "load", "near",
})  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One network, one rule, one subject, and the answer expected."""

    rule: str
    name: str
    code: str
    network: str
    subjects: tuple[str, ...]  # the first of these that there is
    answer: str
    stated: Mapping[str, Any]  # the case as written

    def __str__(self) -> str:
        return f"{self.rule}: {self.code}: {self.name}"


def read_cases(folder: Path) -> list[Case]:
    """All cases in the TOML files of a folder and the folders in it.

    ValueError, naming the file and the case, where one lacks something.
    """
    found = []
    for path in sorted(folder.rglob("*.toml")):
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        for written in document.get("case", []):
            found.append(_case(path, document, written))
            found += [_case(path, document, case) for case in _near(path, found[-1])]
    return found


def _near(path: Path, case: Case) -> list[dict[str, Any]]:
    """The cases of a case just below, at and just above its limits, as they would be written."""
    plain = {"rule": case.rule, **case.stated, "code": case.code, "network": case.network}
    try:
        return near_cases(plain)
    except (KeyError, ValueError, TypeError, SyntaxError) as error:
        raise ValueError(f"{path.name}, {case.name}: near: {error}") from None


def _case(path: Path, document: Mapping[str, Any], written: Mapping[str, Any]) -> Case:
    stated = {"rule": document.get("rule"), "code": "upc-2021", **written}
    if unknown := set(stated) - KEYS:
        name = stated.get("name", "a case without a name")
        raise ValueError(f"{path.name}, {name}: no case has {', '.join(sorted(unknown))}")
    try:
        subjects = stated.get("subject_is_any_of") or [stated["subject"]]
        return Case(
            stated["rule"], stated["name"], stated["code"], _network(document, stated),
            tuple(subjects), stated["answer"], stated,
        )  # fmt: skip
    except KeyError as error:
        name = stated.get("name", "a case without a name")
        raise ValueError(f"{path.name}, {name}: no {error.args[0]}") from None


def _network(document: Mapping[str, Any], stated: Mapping[str, Any]) -> str:
    """The network of a case, or one of its file with what to change (old, new) and to add."""
    if "from" not in stated:
        return str(stated["network"])
    network = str(document["networks"][stated["from"]])
    for old, new in stated.get("change", []):
        if old not in network:
            raise KeyError(f"{old!r} to change")
        network = network.replace(old, new)
    return network + str(stated.get("add", ""))


def wrong_with(case: Case, pack: Pack) -> str:
    """What a rule of a pack answers otherwise than the case expects; "" where nothing."""
    if not any(rule.name == case.rule for rule in pack.rules):
        return f"the pack {pack.name} has no rule {case.rule}"
    return wrong_among(said_of(case, pack), case)


def said_of(case: Case, pack: Pack) -> dict[str, Sequence[Answer]]:
    """All that the rule of a case says of every subject, by the subject's first element."""
    rule = next(rule for rule in pack.rules if rule.name == case.rule)
    context = context_of(case.network, case.code, job_of(case, pack), tables=pack.tables)
    return all_answers(rule, context, pack.subjects)


def wrong_among(said: Mapping[str, Sequence[Answer]], case: Case) -> str:
    """What is answered otherwise than a case expects; "" where nothing."""
    given = next((said[s] for s in case.subjects if s in said), None)
    if given is None:
        return f"no subject {' or '.join(case.subjects)}; there are {', '.join(said) or 'none'}"
    return "; ".join(_differences(case, given[0]))


def job_of(case: Case, pack: Pack) -> job.Job:
    """The job file of a case, with the section of its pack."""
    sections = {} if pack.section is None else {pack.name: pack.section}
    return job.job_of(case.stated.get("job", {}), sections)


def _differences(case: Case, answer: Answer) -> list[str]:
    found = []
    if answer.outcome != case.answer:
        found.append(f"{answer.outcome} instead of {case.answer}: {answer.message}")
    for key, measure in (("measured", answer.measured), ("required", answer.required)):
        wanted = case.stated.get(key)
        if wanted is not None and (measure is None or abs(measure.value - wanted) > CLOSE):
            found.append(f"{key} {measure.value if measure else None} instead of {wanted}")
    if case.stated.get("remedy", "") not in answer.remedy:
        found.append(f"the remedy is {answer.remedy!r}")
    clicked = case.stated.get("clicked")
    if clicked is not None and answer.elements[:1] != (clicked,):
        found.append(f"{answer.elements[:1]} to click instead of {clicked}")
    calls_for_action = answer.outcome not in (Outcome.PASS, Outcome.NOT_APPLICABLE)
    if calls_for_action and not (answer.message and answer.remedy):
        found.append("no message, or no remedy")
    return found


def run_cases(pack: object, folder: Path, name: str = "") -> int:
    """Try all cases of a folder on a pack (its module, or a loaded `Pack`); how many there were.

    `name` is that of its entry point, and so of its section of the job file; the module's where
    left out.
    AssertionError lists what is wrong: cases that are answered otherwise, rules without
    documentation or clause, and rules that lack a case that passes, one that does not, or, where
    facts are needed, one in which they are missing.
    """
    loaded = pack if isinstance(pack, Pack) else make_pack(name or _name(pack), pack)
    cases = read_cases(folder)
    problems = [f"{case}: {p}" for case in cases if (p := wrong_with(case, loaded))]
    expected: dict[str, set[str]] = defaultdict(set)
    for case in cases:
        expected[case.rule].add(case.answer)
    for rule in loaded.rules:
        problems += [f"{rule.name}: {p}" for p in untried(rule, expected[rule.name])]
    assert not problems, "\n".join(problems)
    return len(cases)


def untried(rule: Rule, expected: set[str]) -> list[str]:
    """What a rule lacks: documentation, a clause, cases from both sides of its demand."""
    found = []
    if len(rule.documentation) < 60 or not rule.title or not rule.clauses:
        found.append("no documentation, title or clause")
    if not expected & {"pass", "not-applicable"}:
        found.append("no case that passes")
    wrong = {"advisory", "unverified"} if rule.is_about_model else {"violation", "advisory"}
    if not expected & wrong:
        found.append(f"no case that answers {' or '.join(sorted(wrong))}")
    if rule.needs and "unverified" not in expected:
        found.append("no case in which a fact it needs is missing")
    return found


def _name(pack: object) -> str:
    return str(getattr(pack, "__name__", type(pack).__name__)).rpartition(".")[2]
