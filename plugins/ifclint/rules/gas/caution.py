"""Rules about fuel gas: every answer that is not a pass carries the caution that goes with gas."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import wraps
from typing import Any

from ifclint.checks import unverified
from ifclint.findings import Answer, Outcome, Severity
from ifclint.packs import Context, Rule, rule
from ifclint.plumbing.facts import fact
from ifclint.rule import Judge

CAUTION = (
    "Fuel gas burns and explodes. Have the piping altered only by licensed persons, and tested "
    "under pressure before gas is let in."
)


def gas_rule(
    *, severity: Severity = Severity.HIGH, needs: Sequence[str] = (), **stated: Any
) -> Callable[[Judge], Rule]:
    """As `rule`, with the caution in every finding.

    What the rule needs is asked here and not by the engine, so that the answer for a missing fact
    carries the caution too.
    """

    def made(judge: Judge) -> Rule:
        @wraps(judge)
        def cautious(subject: Any, context: Context) -> Iterator[Answer]:
            lacks = next((need for need in needs if getattr(subject, need) is None), None)
            said = lacking(subject, lacks) if lacks else judge(subject, context)
            for answer in [said] if isinstance(said, Answer) else said:
                finding = answer.outcome not in (Outcome.PASS, Outcome.NOT_APPLICABLE)
                yield replace(answer, caution=CAUTION) if finding else answer

        return rule(severity=severity, **stated)(cautious)

    return made


def lacking(subject: Any, need: str) -> Answer:
    """The answer where a fact of the subject is missing."""
    elements = subject.lacking(need) if hasattr(subject, "lacking") else ()
    message = f"The {fact(need).words} of {subject.label} is not known."
    return unverified(message, fact(need).remedy, elements, cause=need)
