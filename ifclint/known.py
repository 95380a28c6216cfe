"""What a rule asks of the model, and what it says where the model does not show.

`known(value, fact)` is the value, or ends the rule: the engine then answers `unverified` in the
fact's one wording, with its one remedy, and points at what lacks it. `not_known` is that answer,
for where a rule goes on, or more than one value decides. `Bounds` is a value known in part. Where
there may be nothing to ask, `due(value)` is the value, or excuses the subject; what a rule `needs`
is `given`.
"""

from collections.abc import Callable, Sequence
from math import inf
from typing import Any, TypedDict, TypeVar, Unpack

from ifclint.engineering.arithmetic import Measure, Step
from ifclint.findings import Answer, Outcome
from ifclint.plumbing.facts import Fact, fact

T = TypeVar("T")


class Open(TypedDict, total=False):
    """What more an open question may tell."""

    elements: Sequence[str]  # GlobalIds to click, the best first, instead of those it is about
    about: str  # tells several answers about one subject apart: a GlobalId
    clause: str
    steps: Sequence[Step] | Callable[[], Sequence[Step]]
    measured: Measure | None
    required: Measure | None
    cause: str  # questions of one rule with one cause are told as one


class Ended(Exception):
    """A rule has no more to ask of its subject. The engine takes what is left to say of it."""

    def answers(self, subject: object) -> tuple[Answer, ...]:
        """What is said of the subject last: nothing, where it is excused."""
        return ()


class NotKnown(Ended):
    """A rule cannot go on without a fact."""

    def __init__(self, missing: str | Fact, of: tuple[Any, ...], details: Open) -> None:
        super().__init__(missing, of, details)
        self.missing, self.of, self.details = missing, of, details

    def answers(self, subject: object) -> tuple[Answer, ...]:
        return (not_known(self.missing, *(self.of or (subject,)), **self.details),)


def known(value: T | None, missing: str | Fact, *of: Any, **details: Unpack[Open]) -> T:
    """The value; where it is None, the rule ends with `not_known` of the same.

    `of` are what the fact is of, the subject where left out: each has a `label`, or is text.
    """
    if value is None:
        raise NotKnown(missing, of, details)
    return value


def due(value: T | None) -> T:
    """The value; where it is None, the rule ends and its subject is excused: the code sets no such
    limit, or there is nothing that it could be asked of."""
    if value is None:
        raise Ended
    return value


def given(value: T | None) -> T:
    """The value of what cannot be missing here: a fact that the rule `needs`, which the engine has
    seen to, or what was looked at before."""
    if value is None:
        raise AssertionError("what a rule takes as given is to be named in its needs")
    return value


def not_known(missing: str | Fact, *of: Any, **details: Unpack[Open]) -> Answer:
    """`unverified`, as the fact words it of what it is of; the elements of these are clicked."""
    wanted = fact(missing) if isinstance(missing, str) else missing
    name = missing if isinstance(missing, str) else ""
    steps = details.get("steps", ())
    labels = [each if isinstance(each, str) else each.label for each in of]
    elements = details.get("elements") or [guid for each in of for guid in guids_of(each, name)]
    return Answer(
        Outcome.UNVERIFIED,
        wanted.asked_of(*labels),
        details.get("measured"),
        details.get("required"),
        wanted.told_by(*labels),
        tuple(steps() if callable(steps) else steps),
        tuple(dict.fromkeys(elements)),
        details.get("clause", ""),
        about=details.get("about", ""),
        cause=details.get("cause") or (wanted.words if wanted.asked_once else ""),
    )


def guids_of(of: Any, need: str = "") -> Sequence[str]:
    """The elements that lack a fact, of a subject, an element, or a thing that has one."""
    if need and hasattr(of, "lacking"):
        return tuple(of.lacking(need))
    for name in ("element_ids", "guid"):
        if found := getattr(of, name, ()):
            return (found,) if isinstance(found, str) else found
    return ()


class Bounds:
    """A value known only to lie between two, and what would tell it: a fact of what it is of.

    `check` passes where all of it meets the limit, finds a violation where none of it does, and
    leaves the rest open. Without `low`, or `high`, nothing is known to that side.
    """

    __slots__ = ("details", "high", "low", "missing", "of")

    def __init__(
        self,
        missing: str | Fact,
        *of: Any,
        low: float = -inf,
        high: float = inf,
        **details: Unpack[Open],
    ) -> None:
        self.missing, self.of, self.details = missing, of, details
        self.low, self.high = low, high
