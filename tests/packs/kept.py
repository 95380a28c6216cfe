"""What our rules answer in the cases, word for word, as kept in tests/golden/answers.

An outcome alone does not tell whether the steps add up, the remedy names the right pipe and the
first element to click is the one at fault. A case just below, at or just above a limit says the
same as the one it is drawn from, but for its outcome, and is not kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path

from ifclint.findings import Answer, Measure, Outcome
from ifclint.testing import Case

FOLDER = Path(__file__).parents[1] / "golden" / "answers"
MARK = "## "  # before the name of a case


def is_kept(case: Case) -> bool:
    return case.stated.get("near") != []


def told(said: Mapping[str, Sequence[Answer]]) -> str:
    """All answers as lines: outcome and measures, and what is said with them."""
    return "\n".join(
        line
        for subject, given in said.items()
        for answer in given
        if answer.outcome is not Outcome.NOT_APPLICABLE
        for line in _lines(subject, answer)
    )


def _lines(subject: str, answer: Answer) -> Iterator[str]:
    measures = [_measure(m) for m in (answer.measured, answer.required) if m is not None]
    yield f"{subject}: {', '.join([answer.outcome.value, *measures])}"
    if answer.message:
        yield f"  {answer.message}"
    if answer.remedy:
        yield f"  > {answer.remedy}"
    if answer.change is not None:
        ids = " ".join(answer.change.element_ids)
        yield f"  > {answer.change.what} of {ids}: {_number(answer.change.value)}"
    for step in answer.steps:
        value = "" if step.value is None else f": {_number(step.value)} {step.unit}".rstrip()
        yield f"  = {step.text}{value}" + (f" ({step.source})" if step.source else "")
    shown = [answer.about and f"about {answer.about}", " ".join(answer.elements), answer.clause]
    if any(shown):
        yield "  @ " + "; ".join(filter(None, shown))


def _measure(measure: Measure) -> str:
    return " ".join(filter(None, (measure.bound, _number(measure.value), measure.unit)))


def _number(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.6g}"


def write(pack: str, texts: Iterable[tuple[Case, str]]) -> None:
    """Keep what the rules of a pack answer."""
    FOLDER.mkdir(exist_ok=True)
    parts = (f"{MARK}{case}\n{text}\n" if text else f"{MARK}{case}\n" for case, text in texts)
    (FOLDER / f"{pack}.txt").write_text("\n".join(parts), encoding="utf-8")


@cache
def kept(pack: str) -> dict[str, str]:
    """By case, what was answered when it was last looked at."""
    text = (FOLDER / f"{pack}.txt").read_text(encoding="utf-8")
    parts = (part.partition("\n") for part in ("\n" + text).split("\n" + MARK)[1:])
    return {name: answered.strip("\n") for name, _, answered in parts}
