"""Rules put to their subjects: each in isolation, every subject counted, answers made findings."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field, replace
from types import GeneratorType

from ifclint.as_findings import apart, elements_of, finding_from, finding_id, once_for_a_cause
from ifclint.codes import LeftOut
from ifclint.engineering.wording import as_counted
from ifclint.errors import RAISED
from ifclint.findings import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Coverage,
    Failure,
    Finding,
    Outcome,
    Severity,
)
from ifclint.ifc.elements import Role
from ifclint.judged import Settled, things_of
from ifclint.known import Ended, not_known
from ifclint.lost_track import where_lost
from ifclint.packs import Context, Finders, Pack, Rule, Subject, derived, explain, finders_of
from ifclint.plumbing.facts import Fact
from ifclint.read_only import read_only
from ifclint.sound import sound_answer

REPORTED = (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED)
SILENT = frozenset(Outcome) - {*REPORTED}  # what is said of most subjects: nothing is reported
GRAVEST_FIRST = (
    Outcome.VIOLATION, Outcome.UNVERIFIED, Outcome.ADVISORY, Outcome.PASS, Outcome.NOT_APPLICABLE,
)  # fmt: skip
Asked = tuple[Subject, Sequence[Answer]]
MAY_STAY = "It is existing: what was lawfully built may stay."
LEFT_OUT = Fact(
    "What is asked by {} is not known: it leaves out {}, by which this rule goes.",
    "Give the amendment a value.",
    asked_once=True,
)
PASSED, EXCUSED = (PASS,), (NOT_APPLICABLE,)
NONE_YET = dict.fromkeys(Outcome, 0)


@dataclass
class Judgement:
    """What the rules of all packs said."""

    findings: list[Finding] = field(default_factory=list)
    coverage: list[Coverage] = field(default_factory=list)
    failures: list[Failure] = field(default_factory=list)
    said: list[Settled] = field(default_factory=list)  # by the rules on which a pass rests


def judge(packs: list[Pack], context: Context) -> Judgement:
    """Put every rule to every subject of its kind."""
    judgement = Judgement()
    for pack in packs:
        finders = finders_of(packs, pack)
        elements, job = context.plumbing.network.elements, vars(context.job)
        kept: AbstractContextManager[list[str]] = (
            nullcontext([]) if pack.is_ours else read_only(elements, job)
        )
        with pack.guard.standing(), kept as changed:
            for rule in pack.rules:
                _judge(pack, rule, context, finders, judgement)
        if changed:
            what = f"changes what it is to look at: {changed[0]}"
            judgement.failures.append(Failure(pack.name, "", what))
    judgement.findings.sort(key=_order)
    return judgement


def _judge(
    pack: Pack, rule: Rule, context: Context, finders: Finders, judgement: Judgement
) -> None:
    """Put one rule to every subject of its kind."""
    said = Settled(pack.name, rule)
    if rule.settles and rule.clause(context.code) is not None:
        judgement.said.append(said)  # one that fails leaves its question open
    try:
        with pack.guard():
            findings, coverage = _apply(pack, rule, context, finders, said)
    except RAISED as error:
        said.answers.clear()
        judgement.failures.append(Failure(pack.name, rule.name, explain(error)))
        return
    if printed := pack.guard.printed():
        judgement.failures.append(Failure(pack.name, rule.name, printed))
    judgement.findings += findings
    judgement.coverage.append(coverage)


def _order(finding: Finding) -> tuple[object, ...]:
    return (
        REPORTED.index(finding.outcome),
        ("high", "medium", "low").index(finding.severity),
        finding.pack,
        finding.rule,
        as_counted(finding.location.storey),
        as_counted(finding.subject),
        as_counted(finding.location.space),
        finding.id,
    )


def _apply(
    pack: Pack, rule: Rule, context: Context, finders: Finders, settled: Settled
) -> tuple[list[Finding], Coverage]:
    clause = rule.clause(context.code)
    if clause is None:
        note = f"{context.code.short} makes no such demand"
        return [], Coverage(pack.name, rule.name, rule.title, "", note=note)
    subjects = list(_subjects(rule, context, finders))
    if not subjects:
        return [], Coverage(pack.name, rule.name, rule.title, clause, note=_note(0, 0))
    applies = rule.applies
    asked = subjects if applies is None else [each for each in subjects if applies(each)]
    count, said = dict(NONE_YET), list[tuple[Subject, Answer]]()
    count[Outcome.NOT_APPLICABLE] = len(subjects) - len(asked)
    if rule.settles and len(asked) < len(subjects):
        of_these = set(map(id, asked))
        excused = (each for each in subjects if id(each) not in of_these)
        settled.answers += [_settled(rule, each, NOT_APPLICABLE) for each in excused]
    for subject in asked:
        given = _said(rule, subject, context)
        outcome = given[0].outcome
        if rule.settles:
            settled.answers.append(_settled(rule, subject, given[0]))
        if outcome in SILENT:
            count[outcome] += 1
            continue
        for answer in given:
            if answer.outcome not in SILENT:
                count[answer.outcome] += 1
                said.append((subject, answer))
    kept, into = once_for_a_cause(rule, said) if said else ([], {})
    findings = apart([finding_from(pack, rule, clause, context, *one) for one in kept])
    if into:
        settled.answers = [(t, outcome, into.get(id_, id_)) for t, outcome, id_ in settled.answers]
    return findings, Coverage(
        pack.name, rule.name, rule.title, clause, len(subjects),
        count[Outcome.PASS], count[Outcome.VIOLATION], count[Outcome.ADVISORY],
        count[Outcome.UNVERIFIED], count[Outcome.NOT_APPLICABLE],
        _note(len(subjects), count[Outcome.NOT_APPLICABLE]),
    )  # fmt: skip


def _settled(rule: Rule, subject: Subject, gravest: Answer) -> tuple[tuple[str, ...], Outcome, str]:
    is_silent = gravest.outcome in SILENT
    finding = "" if is_silent else finding_id(rule, subject, gravest.about)
    return things_of(subject), gravest.outcome, finding


def answers(rule: Rule, context: Context, finders: Finders) -> Iterator[Asked]:
    """Every subject of the rule's kind with all that the rule says of it, the gravest first;
    nothing where the code is silent. LookupError where no pack finds such subjects."""
    if rule.clause(context.code) is None:
        return
    for subject in _subjects(rule, context, finders):
        is_excused = rule.applies is not None and not rule.applies(subject)
        yield subject, EXCUSED if is_excused else _said(rule, subject, context)


def _subjects(rule: Rule, context: Context, finders: Finders) -> Iterable[Subject]:
    if rule.subject not in finders:
        raise LookupError(f"no pack finds subjects of the kind {rule.subject.__name__}")
    return finders[rule.subject](context)


def _said(rule: Rule, subject: Subject, context: Context) -> Sequence[Answer]:
    """The rule's answers, the gravest first, or what is missing for one."""
    for need in rule.needs:
        if getattr(subject, need) is None:
            missing = not_known(need, subject, cause=need if rule.asked_once else "")
            return [_cautioned(rule, missing)]
    try:
        said = rule.judge(subject, context)
        if said is PASS or said is NOT_APPLICABLE:  # of most: no more to say
            return PASSED if said is PASS else EXCUSED
        told = _told(said, subject)
    except Ended as end:
        told = end.answers(subject)
    except LeftOut as out:
        told = (not_known(LEFT_OUT, *out.args),)
    if told.count(PASS) == len(told):
        return told or EXCUSED
    ruled = [_ruled(rule, sound_answer(answer), subject, context) for answer in told]
    return sorted(ruled, key=lambda answer: GRAVEST_FIRST.index(answer.outcome))


def _ruled(rule: Rule, answer: Answer, subject: Subject, context: Context) -> Answer:
    """An answer as it is reported: less than the rule said where the model draws no such parts,
    the piping is lost, or the work is existing."""
    kept = _by_policy(answer, context)
    if kept.outcome is Outcome.VIOLATION:
        kept = where_lost(kept, subject.element_ids, rule.follows, context)
        kept = _as_existing(rule, kept, subject, context)
    return _cautioned(rule, kept)


def _told(said: Answer | Iterable[Answer], subject: Subject) -> Sequence[Answer]:
    """What a rule says; where it lacks a fact, what it said before, and the question for that."""
    if isinstance(said, (Answer, str)) or not isinstance(said, (GeneratorType, Iterable)):
        return (said,)
    told: list[Answer] = []
    try:
        for answer in said:
            told.append(answer)
    except Ended as end:
        told += end.answers(subject)
    return told


def _cautioned(rule: Rule, answer: Answer) -> Answer:
    """An answer with the caution of its rule, where it is reported and has none of its own."""
    if not rule.caution or answer.caution or answer.outcome in SILENT:
        return answer
    return replace(answer, caution=rule.caution)


def _as_existing(rule: Rule, answer: Answer, subject: Subject, context: Context) -> Answer:
    """A fault of existing work alone as advice: what was lawfully built may stay (IRC R102.7, IPC
    102.2, UPC 102.2, from memory), but for the load that new work puts on it and for what is a
    danger: faults of high severity stay faults."""
    if answer.outcome is not Outcome.VIOLATION or rule.of_load or not _is_alteration(context):
        return answer
    if (answer.severity or rule.severity) is Severity.HIGH:
        return answer
    changed = answer.change.element_ids if answer.change is not None else ()
    ids = changed or answer.elements or subject.element_ids
    elements = elements_of(context)
    if not ids or not all(e in elements and elements[e].is_existing for e in ids):
        return answer
    return replace(
        answer, outcome=Outcome.ADVISORY, message=f"{answer.message} {MAY_STAY}", change=None
    )


@derived
def _is_alteration(context: Context) -> bool:
    """Whether some piping is existing and some is not; a model of one phase is judged whole."""
    pipes = (e.is_existing for e in context.plumbing.network.of_role[Role.PIPE])
    return set(pipes) == {True, False}


def _by_policy(answer: Answer, context: Context) -> Answer:
    """The one policy of absence: what the model draws nowhere is a question to its author."""
    if answer.part is None or answer.part.is_drawn(context):
        return answer
    return replace(
        answer, outcome=Outcome.UNVERIFIED, remedy=answer.part.remedy, change=None, severity=None
    )


def _note(subjects: int, not_applicable: int) -> str:
    if not subjects:
        return "saw no subject in this model"
    return "applied to no subject in this model" if subjects == not_applicable else ""
