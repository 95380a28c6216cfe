"""Whether what a pack brought is what it should be: TypeError, in a sentence, where it is not."""

import math
from collections.abc import Callable, Iterable, Mapping
from functools import wraps
from typing import Any, TypeVar

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.arithmetic import Measure, Step
from ifclint.findings import Answer, Change, Column, Outcome, PartKind, Schedule, Severity
from ifclint.ifc.elements import Location

T = TypeVar("T")
TEXTS = ("message", "remedy", "clause", "about", "provenance", "caution")
TOLD = (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED)
OR_NONE = {"measured": Measure, "required": Measure, "change": Change, "part": PartKind}
OF_SUBJECTS = {"key": str, "label": str, "system": str, "element_ids": tuple, "location": Location}
OURS = "ifclint."  # modules that the type checker sees
Finder = Callable[[Any], Iterable[Any]]
CELL = (str, int, float, bool, type(None))


def whole(kind: type[T], given: Iterable[Iterable[T]]) -> list[T]:
    """All that the implementations of a hook bring."""
    brought = [each for some in given for each in some]
    for each in brought:
        _is(each, kind, "a pack brings")
    return brought


def sound_finder(kind: type, finder: Finder) -> Finder:
    """A finder of a pack's own kind of subject, whose subjects are what rules and reports need; of
    ours, itself."""
    if kind.__module__.startswith(OURS):
        return finder

    @wraps(finder)
    def found(context: Any) -> list[Any]:
        subjects = [*finder(context)]
        for subject in subjects:
            _sound_subject(subject)
        return subjects

    return found


def _sound_subject(subject: Any) -> None:
    what = f"the {{}} of a {type(subject).__name__} is"
    for name, kind in OF_SUBJECTS.items():
        if not hasattr(subject, name):
            raise TypeError(f"a {type(subject).__name__} has no {name}, as every subject needs")
        _is(getattr(subject, name), kind, what, name)
    _all(subject.element_ids, str, what, "element_ids")


def sound_answer(answer: object) -> Answer:
    """What a rule said, where it is an answer all through."""
    if not isinstance(answer, Answer):
        raise TypeError(f"a rule says {answer!r:.60}, which is no Answer")
    _is(answer.outcome, Outcome, "an answer's outcome is")
    for name in TEXTS:
        if not isinstance(value := getattr(answer, name), str):
            _is(value, str, "an answer's {} is", name)
    for name, kind in OR_NONE.items():
        if (value := getattr(answer, name)) is not None:
            _is(value, kind, "an answer's {} is", name)
    if answer.outcome in TOLD and not answer.message.strip():
        raise TypeError(f"an answer, {answer.outcome.value}, has no message")
    _all(answer.elements, str, "an answer's elements are")
    _all(answer.steps, Step, "an answer's steps are")
    for measure in (answer.measured, answer.required):
        if measure is not None:
            _is(measure.value, (int, float), "what an answer measured is")
            if math.isnan(measure.value):
                raise TypeError("what an answer measured is no number")
    if answer.severity is not None and answer.severity not in tuple(Severity):
        raise TypeError(f"an answer's severity is {answer.severity!r:.60}, which there is not")
    if answer.change is not None:
        _sound_change(answer.change)
    return answer


def _sound_change(change: Change) -> None:
    _all(change.element_ids, str, "the elements of a change are")
    _is(change.text, str, "the words of a change are")
    for more in change.also:
        _sound_change(more)
    if change.what not in ("part", "work"):
        _is(change.value, (int, float), f"the {change.what} of a change is")
        if not math.isfinite(float(change.value)):
            raise TypeError(f"the {change.what} of a change is {change.value}")


def sound_schedules(schedules: Iterable[Schedule]) -> list[Schedule]:
    """Schedules whose rows can be written."""
    made = list(schedules)
    for schedule in made:
        _all(schedule.columns, Column, "the columns of a schedule are")
        _all(schedule.rows, Mapping, "the rows of a schedule are")
        for row in schedule.rows:
            for key, value in row.items():
                if not isinstance(value, CELL):
                    _all(value if isinstance(value, list | tuple) else (value,), CELL, "{} is", key)
    return made


def sound_drawings(drawings: Iterable[Riser]) -> list[Riser]:
    """Drawings that can be drawn."""
    made = list(drawings)
    for drawing in made:
        _is(drawing.title, str, "the title of a drawing is")
        _all(drawing.lines, RiserLine, "the lines of a drawing are")
        _all(drawing.marks, RiserMark, "the marks of a drawing are")
    return made


def _is(value: object, kind: type | tuple[type, ...], what: str, of: object = "") -> None:
    if not isinstance(value, kind):
        kinds = kind if isinstance(kind, tuple) else (kind,)
        wanted = " or ".join(k.__name__ for k in kinds)
        raise TypeError(f"{what.format(of)} {value!r:.60}, which is no {wanted}")


def _all(values: object, kind: type | tuple[type, ...], what: str, of: object = "") -> None:
    _is(values, (list, tuple), what, of)
    for value in values:  # type: ignore[attr-defined]
        if not isinstance(value, kind):
            _is(value, kind, what, of)
