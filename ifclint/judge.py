"""Rules put to their subjects: each in isolation, every subject counted, answers made findings."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from ifclint.findings import NOT_APPLICABLE, Answer, Coverage, Failure, Finding, Outcome
from ifclint.packs import Context, Pack, Rule, Subject, explain
from ifclint.plumbing.facts import fact

REPORTED = (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED)


@dataclass
class Judgement:
    """What the rules of all packs said."""

    findings: list[Finding] = field(default_factory=list)
    coverage: list[Coverage] = field(default_factory=list)
    failures: list[Failure] = field(default_factory=list)


def judge(packs: list[Pack], context: Context) -> Judgement:
    """Put every rule to every subject of its kind."""
    judgement = Judgement()
    for pack in packs:
        for rule in pack.rules:
            try:
                findings, coverage = _apply(pack, rule, context)
            except Exception as error:
                judgement.failures.append(Failure(pack.name, rule.name, explain(error)))
                continue
            judgement.findings += findings
            judgement.coverage.append(coverage)
    judgement.findings.sort(key=_order)
    return judgement


def _order(finding: Finding) -> tuple[object, ...]:
    return (
        REPORTED.index(finding.outcome),
        ("high", "medium", "low").index(finding.severity),
        finding.pack,
        finding.rule,
        finding.location.storey,
        finding.subject,
        finding.id,
    )


def _apply(pack: Pack, rule: Rule, context: Context) -> tuple[list[Finding], Coverage]:
    clause = rule.clause(context.code)
    if clause is None:
        note = f"{context.code.short} makes no such demand"
        return [], Coverage(pack.name, rule.name, rule.title, "", note=note)
    count: Counter[Outcome] = Counter()
    findings = []
    for subject, answer in answers(rule, context):
        count[answer.outcome] += 1
        if answer.outcome in REPORTED:
            findings.append(_finding(pack, rule, clause, subject, answer))
    subjects = count.total()
    return findings, Coverage(
        pack.name, rule.name, rule.title, clause, subjects,
        count[Outcome.PASS], count[Outcome.VIOLATION], count[Outcome.ADVISORY],
        count[Outcome.UNVERIFIED], count[Outcome.NOT_APPLICABLE],
        _note(subjects, count[Outcome.NOT_APPLICABLE]),
    )  # fmt: skip


def answers(rule: Rule, context: Context) -> Iterator[tuple[Subject, Answer]]:
    """Every subject of the rule's kind with the rule's answer; nothing where the code is silent."""
    if rule.clause(context.code) is not None:
        for subject in context.plumbing.subjects(rule.subject):
            yield subject, _ask(rule, subject, context)


def _note(subjects: int, not_applicable: int) -> str:
    if not subjects:
        return "saw no subject in this model"
    return "applied to no subject in this model" if subjects == not_applicable else ""


def _ask(rule: Rule, subject: Subject, context: Context) -> Answer:
    """The rule's answer, or what is missing for one."""
    if rule.applies is not None and not rule.applies(subject):
        return NOT_APPLICABLE
    for need in rule.needs:
        if getattr(subject, need) is None:
            return _missing(subject, need)
    return rule.judge(subject, context)


def _missing(subject: Subject, need: str) -> Answer:
    known = fact(need)
    lacking = getattr(subject, "lacking", lambda _: subject.element_ids)
    return Answer(
        Outcome.UNVERIFIED,
        f"The {known.words} of {subject.label} is not known.",
        remedy=known.remedy,
        elements=lacking(need),
    )


def _finding(pack: Pack, rule: Rule, clause: str, subject: Subject, answer: Answer) -> Finding:
    return Finding(
        id=finding_id(rule, subject),
        pack=pack.name,
        rule=rule.name,
        outcome=answer.outcome,
        severity=answer.severity or rule.severity,
        title=rule.title,
        message=answer.message,
        clause=answer.clause or clause,
        subject=subject.label,
        system=subject.system,
        element_ids=answer.elements or subject.element_ids,
        location=subject.location,
        measured=answer.measured,
        required=answer.required,
        remedy=answer.remedy,
        steps=answer.steps,
    )


def finding_id(rule: Rule, subject: Subject) -> str:
    """The same for the same rule and subject in every revision of a model."""
    digest = hashlib.sha256(f"{rule.name}|{rule.subject.__name__}|{subject.key}".encode())
    return f"{rule.name}-{digest.hexdigest()[:10]}"
