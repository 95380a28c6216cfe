"""The plugin boundary: what a rule pack is, how packs are found, and how a rule is put to work.

A pack is a module (or object) behind an entry point of the group "ifclint.packs" that implements
any of the hooks in `PackHooks`. Our own packs come through the same door as everybody else's.
Each pack and each rule is called by itself: one that fails is named, and the rest goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.metadata import entry_points
from typing import Any, Protocol

import pluggy

from ifclint.codes import AdoptedCode
from ifclint.codes.tables import cited
from ifclint.findings import Answer, Failure, Riser, Schedule, Severity
from ifclint.ifc.elements import Location
from ifclint.job import Job
from ifclint.plumbing import Plumbing

GROUP = "ifclint.packs"
ANY_CODE = {"any": "needed for any review"}  # clauses of a rule that rests on no code
hookspec = pluggy.HookspecMarker("ifclint")
hookimpl = pluggy.HookimplMarker("ifclint")


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


@dataclass(frozen=True, eq=False)
class Context:
    """All that a rule may look at besides its subject. Rules change nothing in it."""

    code: AdoptedCode
    plumbing: Plumbing
    job: Job


@dataclass(frozen=True)
class Rule:
    """One demand on one kind of subject, with what the reports and the docs say of it.

    `clauses` maps an edition ("upc-2021") or all editions of a code ("upc") to the clause; a code
    that has none does not make this demand. `needs` names facts of the subject: where one is None
    the engine answers `unverified` and the rule is not asked. `applies` excuses subjects first.
    """

    name: str
    title: str
    subject: type
    judge: Callable[[Any, Context], Answer]
    clauses: Mapping[str, str]
    severity: Severity = Severity.MEDIUM
    needs: tuple[str, ...] = ()
    applies: Callable[[Any], bool] | None = None

    @property
    def documentation(self) -> str:
        return (self.judge.__doc__ or "").strip()

    def clause(self, code: AdoptedCode) -> str | None:
        """The clause of the adopted code, None where that code makes no such demand.

        A code that sizes as another family does, and has no clause of its own here, is given that
        family's, said to be so.
        """
        name = code.id.partition("-")[0]
        own = next((self.clauses[n] for n in (code.id, name, "any") if n in self.clauses), None)
        if own is not None:
            numbered = any(character.isdigit() for character in own)
            return cited(code.short, own) if numbered else own
        family = self.clauses.get(code.family)
        return None if family is None else f"{code.family.upper()} {family}"

    @property
    def is_about_model(self) -> bool:
        """Whether it asks what the model tells, and not whether the plumbing is right."""
        return self.clauses is ANY_CODE


def rule(
    *,
    title: str,
    subject: type,
    clauses: Mapping[str, str],
    severity: Severity = Severity.MEDIUM,
    needs: Sequence[str] = (),
    applies: Callable[[Any], bool] | None = None,
) -> Callable[[Callable[[Any, Context], Answer]], Rule]:
    """Make a `Rule` of a function (subject, context) -> Answer; its name is the function's."""

    def made(judge: Callable[[Any, Context], Answer]) -> Rule:
        name = judge.__name__.replace("_", "-")
        return Rule(name, title, subject, judge, clauses, severity, tuple(needs), applies)

    return made


class PackHooks:
    """Everything a pack can give. All hooks are optional."""

    @hookspec
    def ifclint_rules(self) -> Iterable[Rule]:
        """The rules of the pack."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_schedules(self, context: Context) -> Iterable[Schedule]:
        """Tables for the permit set."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_risers(self, context: Context) -> Iterable[Riser]:
        """Drawings of the pack's piping."""
        raise AssertionError("a specification is never called")


@dataclass(frozen=True)
class Pack:
    """A loaded pack. `hooks` is a plugin manager that holds this pack alone."""

    name: str
    hooks: pluggy.PluginManager
    rules: tuple[Rule, ...]

    def schedules(self, context: Context) -> list[Schedule]:
        return [s for given in self.hooks.hook.ifclint_schedules(context=context) for s in given]

    def risers(self, context: Context) -> list[Riser]:
        return [r for given in self.hooks.hook.ifclint_risers(context=context) for r in given]


@dataclass
class Packs:
    """The packs that loaded and the ones that did not."""

    loaded: list[Pack] = field(default_factory=list)
    failures: list[Failure] = field(default_factory=list)


def make_pack(name: str, plugin: object) -> Pack:
    """A pack from a plugin object. Raises what the plugin raises, ValueError for unknown hooks."""
    manager = pluggy.PluginManager("ifclint")
    manager.add_hookspecs(PackHooks)
    manager.register(plugin, name)
    manager.check_pending()
    unknown = [n for n in dir(plugin) if n.startswith("ifclint_") and not hasattr(PackHooks, n)]
    if unknown:
        raise ValueError(f"no such hook: {', '.join(unknown)}")
    rules = tuple(r for given in manager.hook.ifclint_rules() for r in given)
    names = [r.name for r in rules]
    if len(set(names)) != len(names):
        raise ValueError("two rules of the pack have the same name")
    return Pack(name, manager, rules)


def load_packs() -> Packs:
    """Every installed pack, by name. One that cannot be loaded becomes a `Failure`."""
    packs = Packs()
    for entry in sorted(entry_points(group=GROUP), key=lambda e: (e.name, e.value)):
        try:
            packs.loaded.append(make_pack(entry.name, entry.load()))
        except Exception as error:
            packs.failures.append(Failure(entry.name, "", explain(error)))
    return packs


def explain(error: BaseException) -> str:
    """An exception in one line, with the place in the pack where it arose."""
    text = f"{type(error).__name__}: {error}".splitlines()[0][:300]
    trace = error.__traceback__
    while trace and trace.tb_next:
        trace = trace.tb_next
    if trace is None:
        return text
    code = trace.tb_frame.f_code
    return f"{text} (in {code.co_name}, line {trace.tb_lineno})"
