"""Rules about fuel gas: every answer that is not a pass carries the caution that goes with gas."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import wraps
from typing import Any

from ifclint.findings import Answer, Outcome, Severity, Step
from ifclint.packs import Context, Rule, rule
from ifclint.rule import Judge

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
) -> Callable[[Judge], Rule]:
    """As `rule`, with the caution as the last step of every finding."""

    def made(judge: Judge) -> Rule:
        @wraps(judge)
        def cautious(subject: Any, context: Context) -> Iterator[Answer]:
            said = judge(subject, context)
            for answer in [said] if isinstance(said, Answer) else said:
                finding = answer.outcome not in (Outcome.PASS, Outcome.NOT_APPLICABLE)
                yield replace(answer, steps=(*answer.steps, CAUTION)) if finding else answer

        return rule(
            title=title, subject=subject, clauses=clauses, severity=severity, applies=applies
        )(cautious)  # fmt: skip

    return made
