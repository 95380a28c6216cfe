"""What a rule says: a value against a limit, a demand that is met or not, a part that is missing.

Each of these makes the `Answer` that the engine reports; whatever only a wrong answer needs (its
remedy, its steps) may be given as a function, which is then called for a wrong answer alone.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from math import isfinite
from typing import Any, TypeAlias, TypedDict, TypeVar, Unpack, cast

from ifclint.codes import Limit
from ifclint.engineering import tolerance
from ifclint.engineering.arithmetic import Measure, Source, Step, kind_of
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Change, Outcome, PartKind, Severity
from ifclint.known import Bounds, Ended, Open, due, given, guids_of, known, not_known
from ifclint.plumbing.context import Context
from ifclint.plumbing.facts import Fact

__all__ = [
    "NOT_APPLICABLE", "PASS", "Answer", "Bounds", "Change", "Fact", "PartKind", "Step", "advise",
    "against", "between", "check", "demanded", "drawn", "due", "each", "given", "known",
    "missing", "not_known", "require", "unverified", "violation",
]  # fmt: skip

PRACTICE = "common practice, no clause"
T = TypeVar("T")
Lazy: TypeAlias = T | Callable[[], T]
Remedy: TypeAlias = Lazy[str | Change]


class _Bearings(TypedDict, total=False):
    """Where an answer points, and how it was come by."""

    steps: Lazy[Sequence[Step]]  # the arithmetic
    elements: Sequence[str]  # GlobalIds to click instead of the subject's own, the best first
    about: str  # tells several answers about one subject apart: a GlobalId
    severity: Severity | None  # instead of the rule's


class Details(_Bearings, total=False):
    """What may be said with any answer."""

    clause: str  # where one rule rests on several clauses, the one that decided
    measured: Measure | None
    required: Measure | None
    provenance: str  # where the limit was read


def check(
    measured: float | Bounds,
    *,
    at_least: float | Limit | None = None,
    at_most: float | Limit | None = None,
    unit: str = "",
    message: Lazy[str],
    remedy: Remedy,
    limit_step: str = "",
    clause: str = "",
    wrong: Outcome = Outcome.VIOLATION,
    **bearings: Unpack[_Bearings],
) -> Answer:
    """Pass where `measured` meets the limit within the project's tolerance, else a violation.

    Give one of `at_least` and `at_most`: a number, or a `Limit` of the adopted code, which brings
    its unit, clause and provenance. `limit_step` words the limit as the last step of the
    arithmetic. `wrong` is what a value past the limit is; an advisory where the limit is practice
    and no code. Of a value known within `Bounds` only, the nearer end is past the limit in a
    violation; where only the other is, the question is open.
    """
    if (at_least is None) == (at_most is None):
        raise ValueError("a check takes either at_least or at_most")
    limit = at_least if at_least is not None else at_most
    assert limit is not None
    value, unit_of = (limit.value, limit.unit) if isinstance(limit, Limit) else (limit, "")
    unit = unit or unit_of
    is_least = at_least is not None
    met = tolerance.at_least if is_least else tolerance.at_most
    nearer, farther = _ends(measured, is_least) if isinstance(measured, Bounds) else (measured,) * 2
    if met(farther, value, unit):
        return PASS
    clause_of, provenance = (
        (limit.clause, limit.provenance) if isinstance(limit, Limit) else ("", "")
    )
    if clause:  # the rule cites it otherwise; it was read where it was read
        clause_of = Source(clause, provenance, kind_of(clause_of))
    steps = [*_now(bearings.get("steps", ()))]
    if limit_step:
        steps.append(Step(limit_step, value, unit, clause_of))
    only = ("at most" if is_least else "at least") if nearer != farther else ""
    details: Details = {
        **bearings,
        "steps": steps,
        "clause": clause_of,
        "measured": Measure(nearer, unit, only) if isfinite(nearer) else None,
        "required": Measure(value, unit, "at least" if is_least else "at most"),
        "provenance": provenance,
    }
    if isinstance(measured, Bounds) and met(nearer, value, unit):
        return _open(measured, details)
    return _answer(wrong, message, remedy, details)


def _ends(measured: Bounds, is_least: bool) -> tuple[float, float]:
    """Of what is known within bounds, the end nearer to meeting a limit, and the farther."""
    return (measured.high, measured.low) if is_least else (measured.low, measured.high)


def _open(measured: Bounds, details: Details) -> Answer:
    """What is not known of a value that one of its bounds lets meet the limit."""
    asked = cast(Open, {**details, **measured.details})
    answer = not_known(measured.missing, *measured.of, **asked)
    return replace(answer, provenance=details["provenance"])


def between(
    measured: float | Bounds,
    low: Limit,
    high: Limit,
    *,
    message: Lazy[str],
    remedy: Remedy,
    limit_steps: tuple[str, str] = ("", ""),
    wrong: Outcome = Outcome.VIOLATION,
    **bearings: Unpack[_Bearings],
) -> Answer:
    """Pass where `measured` is neither too little nor too much, else what it is first.

    `limit_steps` word both limits as the last steps of the arithmetic.
    """
    if all(limit_steps):
        limits = (low.step(limit_steps[0]), high.step(limit_steps[1]))
        bearings["steps"] = (*_now(bearings.get("steps", ())), *limits)
    least = check(measured, at_least=low, message=message, remedy=remedy, wrong=wrong, **bearings)
    if least is not PASS:
        return least
    return check(measured, at_most=high, message=message, remedy=remedy, wrong=wrong, **bearings)


def require(
    met: bool,
    *,
    message: Lazy[str],
    remedy: Remedy,
    wrong: Outcome = Outcome.VIOLATION,
    **details: Unpack[Details],
) -> Answer:
    """Pass where a demand that is no number is met, else what is `wrong`: a violation."""
    return PASS if met else _answer(wrong, message, remedy, details)


def violation(*, message: Lazy[str], remedy: Remedy, **details: Unpack[Details]) -> Answer:
    """A demand that is not met, where it takes more than one comparison to say so."""
    return _answer(Outcome.VIOLATION, message, remedy, details)


class Weight(TypedDict):
    """What a fault is, and by what."""

    wrong: Outcome
    clause: str


def demanded(by_code: bool, clause: str = "") -> Weight:
    """What a fault weighs: a violation where the code demands it, by the clause of the rule or one
    of its own, else advice of the trade."""
    if by_code:
        return {"wrong": Outcome.VIOLATION, "clause": clause}
    return {"wrong": Outcome.ADVISORY, "clause": PRACTICE}


class Against(TypedDict, total=False):
    """What a limit tells in an answer."""

    measured: Measure
    required: Measure
    clause: str
    provenance: str
    steps: Sequence[Step]


def against(measured: float, limit: Limit, bound: str, step: str = "") -> Against:
    """What a limit tells in an answer that takes more than one comparison: both measures, the
    clause and where it was read, and with `step` its line of the arithmetic."""
    told: Against = {
        "measured": Measure(measured, limit.unit),
        "required": Measure(limit.value, limit.unit, bound),
        "clause": limit.clause,
        "provenance": limit.provenance,
    }
    if step:
        told["steps"] = (limit.step(step),)
    return told


def advise(
    message: Lazy[str], remedy: Remedy, cause: str = "", **details: Unpack[Details]
) -> Answer:
    """Legal, but a good plumber would object. Those of one rule with one `cause` are told as one,
    as questions are."""
    return replace(_answer(Outcome.ADVISORY, message, remedy, details), cause=cause)


def unverified(
    message: Lazy[str],
    remedy: Remedy,
    elements: Sequence[str] = (),
    /,
    cause: str = "",
    **details: Unpack[Details],
) -> Answer:
    """A fact is missing. `remedy` names no element, so that reports can group by it. Questions of
    one rule with one `cause` are told as one, with all their elements."""
    if elements:
        details["elements"] = elements
    return replace(_answer(Outcome.UNVERIFIED, message, remedy, details), cause=cause)


def missing(
    part: PartKind,
    *,
    message: Lazy[str],
    remedy: Remedy = "",
    wrong: Outcome = Outcome.VIOLATION,
    **details: Unpack[Details],
) -> Answer:
    """A part that should be here is not drawn here.

    By the one policy of absence this is what is `wrong` where the model draws such parts elsewhere;
    where it draws none at all it is a question to the author, asked once for the kind. Without a
    `remedy` it is that of the part: how such parts are modelled.
    """
    return _answer(wrong, message, remedy or part.remedy, details, part)


class NotDrawn(Ended):
    """A rule cannot go on without parts that the model does not draw."""

    def __init__(self, part: PartKind, message: str, details: Details) -> None:
        super().__init__(part, message, details)
        self.part, self.message, self.details = part, message, details

    def answers(self, subject: object) -> tuple[Answer, ...]:
        return (missing(self.part, message=self.message, **self.details),)


def drawn(
    part: PartKind, context: Context, question: str, *of: Any, **details: Unpack[Details]
) -> None:
    """Goes on where the model draws any such parts; else the rule ends with the question that they
    would answer, asked once for the kind: "how far {} lies from them", of what has a `label`. Up to
    its full stop it is all that is said."""
    if not part.is_drawn(context):
        labels = [what if isinstance(what, str) else what.label for what in of]
        asked = question.format(*labels)
        raise NotDrawn(part, asked if asked.endswith(".") else f"{asked} is not known.", details)


def each(things: Iterable[T], judge: Callable[..., Answer], *further: Any) -> Iterator[Answer]:
    """What `judge` says of each thing that a subject has (a meter, a valve, a space), about that
    thing; one of which a fact is missing, or that is excused, does not end the rule for the others.
    """
    for thing in things:
        try:
            answers: Iterable[Answer] = (judge(thing, *further),)
        except Ended as end:
            answers = end.answers(thing)
        for answer in answers:
            yield _about(thing, answer) if answer.message else answer


def _about(thing: Any, answer: Answer) -> Answer:
    """An answer about a thing: its elements are clicked, unless the answer names others."""
    about = answer.about or getattr(thing, "key", "") or getattr(thing, "guid", "")
    return replace(answer, about=about, elements=answer.elements or tuple(guids_of(thing)))


def _now(given: Lazy[T]) -> T:
    return given() if callable(given) else given


def _answer(
    outcome: Outcome,
    message: Lazy[str],
    remedy: Remedy,
    details: Details,
    part: PartKind | None = None,
) -> Answer:
    remedied = _now(remedy)
    change = remedied if isinstance(remedied, Change) else None
    return Answer(
        outcome,
        _now(message),
        details.get("measured"),
        details.get("required"),
        change.text if change else str(remedied),
        tuple(_now(details.get("steps", ()))),
        tuple(details.get("elements", ())),
        details.get("clause", ""),
        details.get("severity"),
        details.get("about", ""),
        change,
        details.get("provenance", ""),
        part,
    )
