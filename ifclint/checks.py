"""What a rule says: a value against a limit, a demand that is met or not, a part that is missing.

Each of these makes the `Answer` that the engine reports; whatever only a wrong answer needs (its
remedy, its steps) may be given as a function, which is then called for a wrong answer alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias, TypeVar

from ifclint.codes import Limit
from ifclint.engineering import tolerance
from ifclint.engineering.arithmetic import Measure, Step
from ifclint.findings import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Change,
    Outcome,
    PartKind,
    Severity,
)

__all__ = [
    "NOT_APPLICABLE",
    "PASS",
    "Answer",
    "Change",
    "PartKind",
    "Step",
    "advise",
    "between",
    "check",
    "missing",
    "require",
    "unverified",
    "violation",
]

T = TypeVar("T")
Lazy: TypeAlias = T | Callable[[], T]
Remedy: TypeAlias = Lazy[str | Change]
Steps: TypeAlias = Lazy[Sequence[Step]]


def check(
    measured: float,
    *,
    at_least: float | Limit | None = None,
    at_most: float | Limit | None = None,
    unit: str = "",
    message: Lazy[str],
    remedy: Remedy,
    steps: Steps = (),
    limit_step: str = "",
    elements: Sequence[str] = (),
    about: str = "",
    clause: str = "",
    severity: Severity | None = None,
    wrong: Outcome = Outcome.VIOLATION,
) -> Answer:
    """Pass where `measured` meets the limit within the project's tolerance, else a violation.

    Give one of `at_least` and `at_most`: a number, or a `Limit` of the adopted code, which brings
    its unit, clause and provenance. `limit_step` words the limit as the last step of the
    arithmetic. `about` tells several answers about one subject apart (a GlobalId). `wrong` is what
    a value past the limit is; an advisory where the limit is practice and no code.
    """
    if (at_least is None) == (at_most is None):
        raise ValueError("a check takes either at_least or at_most")
    limit = at_least if at_least is not None else at_most
    assert limit is not None
    value = limit.value if isinstance(limit, Limit) else limit
    unit = unit or (limit.unit if isinstance(limit, Limit) else "")
    met = tolerance.at_least if at_least is not None else tolerance.at_most
    if met(measured, value, unit):
        return PASS
    source = limit.clause if isinstance(limit, Limit) else ""
    said = [*_now(steps)]
    if limit_step:
        said.append(Step(limit_step, value, unit, source))
    return _answer(
        wrong,
        message,
        remedy,
        said,
        elements,
        about,
        clause or source,
        severity,
        measured=Measure(measured, unit),
        required=Measure(value, unit, "at least" if at_least is not None else "at most"),
        provenance=limit.provenance if isinstance(limit, Limit) else "",
    )


def between(
    measured: float,
    low: Limit,
    high: Limit,
    *,
    message: Lazy[str],
    remedy: Remedy,
    steps: Steps = (),
    elements: Sequence[str] = (),
    about: str = "",
    severity: Severity | None = None,
) -> Answer:
    """Pass where `measured` is neither too little nor too much, else what it is first."""
    found = check(
        measured, at_least=low, message=message, remedy=remedy, steps=steps, elements=elements,
        about=about, severity=severity,
    )  # fmt: skip
    return found if found is not PASS else check(
        measured, at_most=high, message=message, remedy=remedy, steps=steps, elements=elements,
        about=about, severity=severity,
    )  # fmt: skip


def require(
    met: bool,
    *,
    message: Lazy[str],
    remedy: Remedy,
    steps: Steps = (),
    elements: Sequence[str] = (),
    about: str = "",
    clause: str = "",
    severity: Severity | None = None,
    measured: Measure | None = None,
    required: Measure | None = None,
    provenance: str = "",
    wrong: Outcome = Outcome.VIOLATION,
) -> Answer:
    """Pass where a demand that is no number is met, else what is `wrong`: a violation."""
    if met:
        return PASS
    return _answer(
        wrong, message, remedy, _now(steps), elements, about, clause, severity,
        measured, required, provenance,
    )  # fmt: skip


def violation(
    *,
    message: Lazy[str],
    remedy: Remedy,
    steps: Steps = (),
    elements: Sequence[str] = (),
    about: str = "",
    clause: str = "",
    severity: Severity | None = None,
    measured: Measure | None = None,
    required: Measure | None = None,
) -> Answer:
    """A demand that is not met, where it takes more than one comparison to say so."""
    return _answer(
        Outcome.VIOLATION, message, remedy, _now(steps), elements, about, clause, severity,
        measured, required,
    )  # fmt: skip


def advise(
    message: Lazy[str],
    remedy: Remedy,
    *,
    steps: Steps = (),
    elements: Sequence[str] = (),
    about: str = "",
    clause: str = "",
    severity: Severity | None = None,
    measured: Measure | None = None,
    required: Measure | None = None,
) -> Answer:
    """Legal, but a good plumber would object."""
    return _answer(
        Outcome.ADVISORY, message, remedy, _now(steps), elements, about, clause, severity,
        measured, required,
    )  # fmt: skip


def unverified(
    message: Lazy[str],
    remedy: Remedy,
    elements: Sequence[str] = (),
    *,
    steps: Steps = (),
    about: str = "",
    measured: Measure | None = None,
    required: Measure | None = None,
) -> Answer:
    """A fact is missing. `remedy` names no element, so that reports can group by it."""
    return _answer(
        Outcome.UNVERIFIED, message, remedy, _now(steps), elements, about, "", None,
        measured, required,
    )  # fmt: skip


def missing(
    part: PartKind,
    *,
    message: Lazy[str],
    remedy: Remedy,
    steps: Steps = (),
    elements: Sequence[str] = (),
    about: str = "",
    clause: str = "",
    severity: Severity | None = None,
    measured: Measure | None = None,
    required: Measure | None = None,
    wrong: Outcome = Outcome.VIOLATION,
) -> Answer:
    """A part that should be here is not drawn here.

    By the one policy of absence this is what is `wrong` where the model draws such parts elsewhere;
    where it draws none at all it is a question to the author, asked once for the kind.
    """
    return _answer(
        wrong, message, remedy, _now(steps), elements, about, clause, severity,
        measured, required, part=part,
    )  # fmt: skip


def _now(given: Lazy[T]) -> T:
    return given() if callable(given) else given


def _answer(
    outcome: Outcome,
    message: Lazy[str],
    remedy: Remedy,
    steps: Sequence[Step],
    elements: Sequence[str],
    about: str,
    clause: str,
    severity: Severity | None,
    measured: Measure | None = None,
    required: Measure | None = None,
    provenance: str = "",
    part: PartKind | None = None,
) -> Answer:
    said = _now(remedy)
    change = said if isinstance(said, Change) else None
    return Answer(
        outcome, _now(message), measured, required, change.text if change else str(said),
        tuple(steps), tuple(elements), clause, severity, about, change, provenance, part,
    )  # fmt: skip
