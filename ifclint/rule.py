"""A rule: one demand on one kind of subject, with what the reports and the docs say of it."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from inspect import Parameter, signature
from typing import Any, Protocol

from ifclint.codes import AdoptedCode
from ifclint.codes.tables import cited
from ifclint.findings import Answer, Settles, Severity
from ifclint.ifc.elements import Location, System
from ifclint.plumbing.context import Context

ANY_CODE = {"any": "needed for any review"}  # clauses of a rule that rests on no code

Judge = Callable[[Any, Context], Answer | Iterable[Answer]]


class Subject(Protocol):
    """What a rule judges: a fixture, a drain, a stack ... (see `ifclint.plumbing`)."""

    @property
    def key(self) -> str: ...  # the same in every revision that still has the subject
    @property
    def label(self) -> str: ...  # in a sentence: "Lavatory L-1"
    @property
    def system(self) -> str: ...
    @property
    def element_ids(self) -> tuple[str, ...]: ...
    @property
    def location(self) -> Location: ...


Finders = Mapping[type, Callable[[Context], Iterable[Any]]]  # kind of subject -> how it is found


@dataclass(frozen=True)
class Rule:
    """One demand on one kind of subject.

    `clauses` maps an edition ("upc-2021") or all editions of a code ("upc") to the clause; a code
    that has none, or an empty one, does not make this demand. Under "any" stands a demand that
    rests on no adopted code, and is cited as it is written. `needs` names facts of the subject:
    where one is None the engine answers `unverified` and the rule is not asked. `applies` excuses
    subjects first. `settles` is what its answers settle, where a pass rests on them. `caution` goes
    with whatever it finds. Where `asked_once`, a need is one question for all that lack it. Of the
    services that it `follows` the piping may be lost: what it finds wrong is a question then. One
    `of_load` asks for what new work puts on existing parts; any other that is not of high severity
    is advice to them.
    """

    name: str
    title: str
    subject: type
    judge: Judge
    clauses: Mapping[str, str]
    severity: Severity = Severity.MEDIUM
    needs: tuple[str, ...] = ()
    applies: Callable[[Any], bool] | None = None
    settles: Settles | None = None
    caution: str = ""
    asked_once: bool = False
    follows: frozenset[System] = frozenset()
    of_load: bool = False

    def __post_init__(self) -> None:
        """TypeError for what only the report would stumble over."""
        kinds = {"severity": Severity, "title": str, "caution": str, "clauses": Mapping}
        for name, kind in kinds.items():
            if not isinstance(value := getattr(self, name), kind):
                said = f"{value!r:.60}, which is no {kind.__name__}"
                raise TypeError(f"the {name} of rule {self.name} is {said}")

    @property
    def documentation(self) -> str:
        return (self.judge.__doc__ or "").strip()

    def clause(self, code: AdoptedCode) -> str | None:
        """The clause of the adopted code, None where that code makes no such demand.

        A code without a clause of its own here is given that of the code it is based on, then of
        the family that sizes as it does, said to be so.
        """
        for edition in code.lineage:
            name = edition.partition("-")[0]
            for key in (edition, name):
                if key in self.clauses:
                    short = code.short if edition == code.id else name.upper()
                    return _cited(short, self.clauses[key])
        if "any" in self.clauses:
            return self.clauses["any"]
        family = self.clauses.get(code.family)
        return None if family is None else _cited(code.family.upper(), family)

    @property
    def is_about_model(self) -> bool:
        """Whether it asks what the model tells, and not whether the plumbing is right."""
        return self.clauses is ANY_CODE


@cache
def _cited(short: str, clause: str) -> str | None:
    """A clause with its code, a practice without a number as it stands, None where it is empty."""
    numbered = any(character.isdigit() for character in clause)
    return cited(short, clause) if numbered else clause or None


def rule(
    *,
    title: str,
    clauses: Mapping[str, str],
    subject: type | None = None,
    severity: Severity = Severity.MEDIUM,
    needs: Sequence[str] = (),
    applies: Callable[[Any], bool] | None = None,
    settles: Settles | None = None,
    caution: str = "",
    asked_once: bool = False,
    follows: Iterable[System] = (),
    of_load: bool = False,
) -> Callable[[Judge], Rule]:
    """Make a `Rule` of a function (subject, context); its name is the function's, and it judges
    what is of the type of its first parameter, unless `subject` names another.

    The function returns one answer or yields several, made by the functions of `ifclint.checks`;
    one that yields nothing says that the subject is excused.
    """

    def made(judge: Judge) -> Rule:
        name = judge.__name__.replace("_", "-")
        return Rule(
            name, title, subject or _judged_by(judge), judge, clauses, severity, tuple(needs),
            applies, settles, caution, asked_once, frozenset(follows), of_load,
        )  # fmt: skip

    return made


def _judged_by(judge: Judge) -> type:
    """The type of the first parameter of a function."""
    first = next(iter(signature(judge).parameters.values()), None)
    hint = first.annotation if first is not None else None
    named = getattr(judge, "__globals__", {}).get(hint) if isinstance(hint, str) else hint
    if not isinstance(named, type) or named is Parameter.empty:
        raise TypeError(f"{judge.__name__} tells by no type of its first parameter what it judges")
    return named


def rules_in(package: str, *modules: str) -> list[Rule]:
    """The rules that are written in some modules of a package, in their order."""
    read = (import_module(f"{package}.{name}") for name in modules)
    return [
        found
        for module in read
        for found in vars(module).values()
        if isinstance(found, Rule) and found.judge.__module__ == module.__name__
    ]
