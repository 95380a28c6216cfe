"""Answers of rules made findings: named, placed, and told once for a cause."""

import hashlib
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import TypeVar

from ifclint.codes.provenance import SECTION_RECALLED, SourceKind
from ifclint.codes.tables import cited
from ifclint.engineering.arithmetic import Source, kind_of
from ifclint.engineering.extents import middle
from ifclint.engineering.wording import so_with_more
from ifclint.findings import Answer, Correction, Finding, Outcome, PartKind
from ifclint.ifc.elements import Element, Location, Point, Role
from ifclint.packs import Context, Pack, Rule, Subject, derived
from ifclint.plumbing.flow.subject import place_of

Told = TypeVar("Told", Finding, Correction)
Cause = tuple[Outcome, PartKind | str]


def once_for_a_cause(
    rule: Rule, said: Iterable[tuple[Subject, Answer]]
) -> tuple[list[tuple[Subject, Answer]], dict[str, str]]:
    """Questions of one cause (a kind of part that the model draws nowhere, one missing fact) as one
    that lists the elements, and advisories of one; and the id of the finding that each of the
    others went into."""
    kept: list[tuple[Subject, Answer]] = []
    at: dict[Cause, int] = {}  # where the first of a cause is kept
    elements: dict[Cause, dict[str, None]] = {}
    subjects: Counter[Cause] = Counter()
    into: dict[str, str] = {}
    for subject, answer in said:
        cause = _cause(answer)
        if cause is None:
            kept.append((subject, answer))
            continue
        if cause not in at:
            at[cause], elements[cause] = len(kept), {}
            kept.append((subject, answer))
        first, told = kept[at[cause]]
        into[finding_id(rule, subject, answer.about)] = finding_id(rule, first, told.about)
        subjects[cause] += 1
        elements[cause].update(dict.fromkeys(answer.elements or subject.element_ids))
    for cause, place in at.items():
        subject, answer = kept[place]
        more = so_with_more(subjects[cause])
        (_, of) = cause
        lack = f"The model {of.lack} {of.name}: " if isinstance(of, PartKind) else ""
        message = f"{lack}{answer.message}{more}"
        kept[place] = subject, replace(answer, message=message, elements=tuple(elements[cause]))
    return kept, into


def _cause(answer: Answer) -> Cause | None:
    """What answers are told together for; None where one is told by itself."""
    of: PartKind | str = answer.cause
    if answer.outcome is Outcome.UNVERIFIED:
        of = answer.part or of
    elif answer.outcome is not Outcome.ADVISORY:
        return None
    return (answer.outcome, of) if of else None


def apart(told: Iterable[Told]) -> list[Told]:
    """Findings or corrections of which no two have one id, where a rule tells its answers apart by
    nothing."""
    seen: Counter[str] = Counter()
    made = []
    for each in told:
        seen[each.id] += 1
        number = seen[each.id]
        made.append(replace(each, id=f"{each.id}-{number}") if number > 1 else each)
    return made


def finding_from(
    pack: Pack, rule: Rule, clause: str, context: Context, subject: Subject, answer: Answer
) -> Finding:
    limit = answer.clause
    return Finding(
        id=finding_id(rule, subject, answer.about),
        pack=pack.name,
        rule=rule.name,
        outcome=answer.outcome,
        severity=answer.severity or rule.severity,
        title=rule.title,
        message=answer.message,
        clause=cited(context.code.short, limit) if limit else clause,
        subject=subject.label,
        system=subject.system,
        element_ids=answer.elements or subject.element_ids,
        location=_location(subject, answer, context),
        measured=answer.measured,
        required=answer.required,
        remedy=answer.remedy,
        steps=answer.steps,
        caution=answer.caution,
        change=answer.change,
        provenance=answer.provenance or (limit.read_in if isinstance(limit, Source) else ""),
        source_kind=kind_of(limit),
        check=_to_check([limit, *(step.source for step in answer.steps)]),
    )


def _location(subject: Subject, answer: Answer, context: Context) -> Location:
    """Where the subject is; where the answer is about none of its elements, where the first of
    those that it is about stands: a pipe of a whole water supply, not its meter."""
    if not answer.elements or not set(subject.element_ids).isdisjoint(answer.elements):
        return subject.location
    first = elements_of(context).get(answer.elements[0])
    if first is None or (point := _middle(first)) is None:
        return subject.location
    return place_of(first, point)


def _middle(element: Element) -> Point | None:
    ends = element.places
    if element.role is not Role.PIPE or len(ends) != 2:
        return element.position or next(iter(ends), None)
    return middle(*ends)


@derived
def elements_of(context: Context) -> dict[str, Element]:
    """By key, and by GlobalId."""
    elements = context.plumbing.network.elements
    return {e.guid: e for e in reversed(elements)} | {e.key: e for e in elements}


def _to_check(sources: list[str]) -> str:
    """What a reader should look up: the tables and clauses whose values were recalled."""
    values = dict.fromkeys(s for s in sources if kind_of(s) == SourceKind.FROM_MEMORY)
    sections = dict.fromkeys(s for s in sources if s not in values and _section_recalled(s))
    told = (
        _check(values, "its value is", "their values are"),
        _check(sections, "its number is", "their numbers are"),
    )
    return " ".join(filter(None, told))


def _check(recalled: Collection[str], one: str, many: str) -> str:
    if not recalled:
        return ""
    what = one if len(recalled) == 1 else many
    return f"Check {', '.join(recalled)} in the code book: {what} from memory."


def _section_recalled(source: str) -> bool:
    return isinstance(source, Source) and SECTION_RECALLED in source.read_in


def finding_id(rule: Rule, subject: Subject, about: str = "") -> str:
    """The same for the same rule and subject in every revision of a model."""
    named = "|".join((rule.name, subject.key, *([about] if about else [])))
    return f"{rule.name}-{hashlib.sha256(named.encode()).hexdigest()[:10]}"
