"""Rules about fuel gas: every answer that is not a pass carries the caution that goes with gas."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import wraps
from typing import Any

from ifclint.findings import NOT_APPLICABLE, Answer, Outcome, Severity, Step
from ifclint.packs import Context, Rule, rule

CAUTION = Step(
    "Caution: fuel gas burns and explodes. Have the piping altered only by licensed persons, and "
    "tested under pressure before gas is let in."
)


def gas_rule(
    *,
    title: str,
    subject: type,
    clauses: Mapping[str, str],
    severity: Severity = Severity.HIGH,
    applies: Callable[[Any], bool] | None = None,
) -> Callable[[Callable[[Any, Context], Answer]], Rule]:
    """As `rule`, with the caution as the last step of every finding."""

    def made(judge: Callable[[Any, Context], Answer]) -> Rule:
        @wraps(judge)
        def cautious(subject: Any, context: Context) -> Answer:
            answer = judge(subject, context)
            if answer.outcome is Outcome.PASS or answer is NOT_APPLICABLE:
                return answer
            return replace(answer, steps=(*answer.steps, CAUTION))

        return rule(
            title=title, subject=subject, clauses=clauses, severity=severity, applies=applies
        )(cautious)  # fmt: skip

    return made


def unverified(message: str, remedy: str, elements: Sequence[str] = ()) -> Answer:
    """A fact is missing."""
    return Answer(Outcome.UNVERIFIED, message, remedy=remedy, elements=tuple(elements))
