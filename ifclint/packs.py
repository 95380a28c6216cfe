"""The plugin boundary: what a rule pack can bring, and how packs are found and loaded.

A pack is a module (or object) behind an entry point of the group "ifclint.packs" that implements
any of the hooks in `PackHooks`. Our own packs come through the same door as everybody else's.
Each pack and each rule is called by itself: one that fails is named, and the rest goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field, replace
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import pluggy

from ifclint.codes import AdoptedCode, CodeTables
from ifclint.drawings import Riser
from ifclint.errors import RAISED, InputError
from ifclint.findings import Failure, Review, Schedule
from ifclint.guard import PACK_SECONDS, Guard
from ifclint.ifc.elements import PropertyFact
from ifclint.job import Section, refuse_unfit
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.subjects import finders
from ifclint.rule import ANY_CODE, Finders, Rule, Subject, rule, rules_in
from ifclint.sound import sound_drawings, sound_finder, sound_schedules, whole

__all__ = [
    "ANY_CODE", "GROUP", "CodeTables", "Context", "Finders", "Pack", "PackHooks", "Packs",
    "PropertyFact", "ReportFormat", "Rule", "Section", "Subject", "adopt", "derived", "explain",
    "finders_of", "hookimpl", "load_packs", "make_pack", "rule", "rules_in",
]  # fmt: skip

GROUP = "ifclint.packs"
OURS = "ifclint"  # the distribution
hookspec = pluggy.HookspecMarker("ifclint")
hookimpl = pluggy.HookimplMarker("ifclint")


@dataclass(frozen=True)
class ReportFormat:
    """A report: the name of its file, and what makes its content of a review."""

    filename: str
    render: Callable[[Review], bytes]


class PackHooks:
    """Everything a pack can bring. All hooks are optional; a pack without one brings none."""

    @hookspec
    def ifclint_rules(self) -> Iterable[Rule]:
        """The rules of the pack (see `ifclint.rule`)."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_subjects(self) -> Finders:
        """What its rules judge that the plumbing does not have: kind of subject -> function of a
        `Context` that finds them all."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_code_tables(self) -> Iterable[CodeTables]:
        """Folders of code tables and limits of its own, amendable like those of the code."""
        raise AssertionError("a specification is never called")

    @hookspec(firstresult=True)
    def ifclint_job_section(self) -> type[Section] | None:
        """Its section of the job file, which is named as the pack: a model that extends
        `ifclint.job.Section`. `context.job.section(Model)` gives it to the rules."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_facts(self) -> Iterable[PropertyFact]:
        """Facts to be read from property sets into `Element.properties`."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_schedules(self, context: Context) -> Iterable[Schedule]:
        """Tables for the permit set."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_drawings(self, context: Context) -> Iterable[Riser]:
        """Drawings of the pack's piping."""
        raise AssertionError("a specification is never called")

    @hookspec
    def ifclint_report_formats(self) -> Iterable[ReportFormat]:
        """Reports of its own, written beside findings.json and report.html."""
        raise AssertionError("a specification is never called")


@dataclass(frozen=True)
class Pack:
    """A loaded pack. `hooks` is a plugin manager that holds this pack alone."""

    name: str
    hooks: pluggy.PluginManager
    rules: tuple[Rule, ...]
    subjects: Finders
    tables: tuple[CodeTables, ...] = ()
    section: type[Section] | None = None
    facts: tuple[PropertyFact, ...] = ()
    formats: tuple[ReportFormat, ...] = ()
    guard: Guard = field(default_factory=Guard, compare=False)
    entry: EntryPoint | None = field(default=None, compare=False, repr=False)

    @property
    def origin(self) -> str:
        """The distribution that brought it, and its version."""
        dist = self.entry.dist if self.entry is not None else None
        return f"{dist.name} {dist.version}" if dist is not None else ""

    @property
    def is_ours(self) -> bool:
        return self.entry is not None and not _is_other(self.entry)

    def schedules(self, context: Context) -> list[Schedule]:
        with self.guard():
            return sound_schedules(
                whole(Schedule, self.hooks.hook.ifclint_schedules(context=context))
            )

    def drawings(self, context: Context) -> list[Riser]:
        with self.guard():
            given = self.hooks.hook.ifclint_drawings(context=context)
            return sound_drawings(whole(Riser, given))


@dataclass
class Packs:
    """The packs that loaded and the ones that did not."""

    loaded: list[Pack] = field(default_factory=list)
    failures: list[Failure] = field(default_factory=list)
    not_asked: int = 0  # rules that were left out, as whoever runs the review wished

    def only(
        self, packs: Collection[str] = (), rules: Collection[str] = (), but: Collection[str] = ()
    ) -> Packs:
        """These packs with the rules of some packs alone, or some rules alone, or all but some.

        Packs keep what else they bring. Raises InputError for a name that is not there, and says
        which packs could not be loaded.
        """
        names = {pack.name for pack in self.loaded}
        known = {rule.name for pack in self.loaded for rule in pack.rules}
        for given, there, what in (
            (packs, names, "pack"),
            (rules, known, "rule"),
            (but, known, "rule"),
        ):
            for name in given:
                if name not in there:
                    unknown = f'There is no {what} "{name}"; ifclint rules lists them.'
                    raise InputError(" ".join([unknown, *self._not_loaded()]))

        def asked(pack: Pack, rule: Rule) -> bool:
            wanted = (not packs or pack.name in packs) and (not rules or rule.name in rules)
            return wanted and rule.name not in but

        kept = [
            replace(pack, rules=tuple(rule for rule in pack.rules if asked(pack, rule)))
            for pack in self.loaded
        ]
        left = sum(len(pack.rules) for pack in self.loaded) - sum(len(p.rules) for p in kept)
        return Packs(kept, self.failures, left)

    def without(self, name: str, reason: str) -> Packs:
        """The same, but for a pack that failed."""
        kept = [pack for pack in self.loaded if pack.name != name]
        return Packs(kept, [*self.failures, Failure(name, "", reason)], self.not_asked)

    def _not_loaded(self) -> list[str]:
        return [
            f"The pack {failure.pack} is installed and could not be loaded: {failure.reason}."
            for failure in self.failures
            if failure.pack in self.broken
        ]

    @property
    def broken(self) -> list[str]:
        """The names of installed packs that did not load."""
        there = {pack.name for pack in self.loaded}
        return sorted({failure.pack for failure in self.failures} - there)

    @property
    def sections(self) -> dict[str, type[Section]]:
        """The sections of the job file that they read."""
        return {pack.name: pack.section for pack in self.loaded if pack.section is not None}

    @property
    def facts(self) -> list[PropertyFact]:
        return [fact for pack in self.loaded for fact in pack.facts]


def make_pack(name: str, plugin: object) -> Pack:
    """A pack from a plugin object. Raises what the plugin raises, ValueError for unknown hooks."""
    manager = pluggy.PluginManager("ifclint")
    manager.add_hookspecs(PackHooks)
    manager.register(plugin, name)
    manager.check_pending()
    unknown = [n for n in dir(plugin) if n.startswith("ifclint_") and not hasattr(PackHooks, n)]
    if unknown:
        raise ValueError(f"no such hook: {', '.join(unknown)}")
    hook = manager.hook
    rules = tuple(whole(Rule, hook.ifclint_rules()))
    names = [r.name for r in rules]
    if doubled := next((name for name in names if names.count(name) > 1), ""):
        raise ValueError(f"two rules of the pack have the same name, {doubled}")
    return Pack(
        name,
        manager,
        rules,
        {
            kind: sound_finder(kind, finder)
            for given in hook.ifclint_subjects()
            for kind, finder in given.items()
        },
        tuple(whole(CodeTables, hook.ifclint_code_tables())),
        hook.ifclint_job_section(),
        tuple(whole(PropertyFact, hook.ifclint_facts())),
        tuple(whole(ReportFormat, hook.ifclint_report_formats())),
    )


def load_packs(seconds: float = PACK_SECONDS) -> Packs:
    """Every installed pack, ours first, by name: of what two bring, the first stands. One that
    cannot be loaded becomes a `Failure`. One call of a pack may take so many seconds, 0: any time.
    """
    packs = Packs()
    for entry in sorted(entry_points(group=GROUP), key=lambda e: (_is_other(e), e.name, e.value)):
        guard = Guard(seconds)
        try:
            with guard():
                made = make_pack(entry.name, entry.load())
            packs.loaded.append(replace(made, guard=guard, entry=entry))
        except RAISED as error:
            packs.failures.append(Failure(entry.name, "", explain(error)))
        if printed := guard.printed():
            packs.failures.append(Failure(entry.name, "", printed))
    return packs


def _is_other(entry: EntryPoint) -> bool:
    return entry.dist is None or entry.dist.name != OURS


def adopt(packs: Packs, code: AdoptedCode) -> tuple[Packs, AdoptedCode]:
    """The packs that go together, and the code with their tables. One that brings what is there
    already (a name, a rule, a section, a table, a limit, a fact) is set aside, as a `Failure`.
    """
    kept = Packs(failures=list(packs.failures), not_asked=packs.not_asked)
    for pack in packs.loaded:
        try:
            if any(other.name == pack.name for other in kept.loaded):
                raise ValueError(f"another pack is named {pack.name}")
            _refuse_known_rules(pack, kept)
            refuse_unfit(Packs([pack]).sections, kept.sections)
            if pack.facts:
                check_facts([*kept.facts, *pack.facts])
            grown = code
            for brought in pack.tables:
                grown = grown.with_tables(brought)
        except RAISED as error:
            kept.failures.append(Failure(pack.name, "", explain(error)))
        else:
            kept.loaded.append(pack)
            code = grown
    return kept, code


def _refuse_known_rules(pack: Pack, kept: Packs) -> None:
    """ValueError for a rule with the name of another pack's: findings are known by it."""
    known = {rule.name: other.name for other in kept.loaded for rule in other.rules}
    if same := next((rule.name for rule in pack.rules if rule.name in known), ""):
        raise ValueError(f"the pack {known[same]} has a rule {same} already")


def check_facts(facts: list[PropertyFact]) -> None:
    """ValueError for a fact that is there already, or that is read in no known way."""
    from ifclint.ifc.facts.property_names import PropertyNames  # of use to few packs

    PropertyNames(brought=facts)


def finders_of(packs: Iterable[Pack], pack: Pack | None = None) -> Finders:
    """How all subjects are found, for the rules of one pack: as it brings, else as the plumbing has
    them, else as the first pack does that brings the kind."""
    found: dict[type, Callable[[Context], Iterable[Any]]] = finders()
    found.update(pack.subjects if pack else {})
    for each in packs:
        for kind, finder in each.subjects.items():
            found.setdefault(kind, finder)
    return found


def explain(error: BaseException) -> str:
    """An exception in one line, with the place in the pack where it arose."""
    try:
        text = f"{type(error).__name__}: {error}".splitlines()[0][:300]
    except RAISED:  # it cannot tell itself
        text = type(error).__name__
    trace = error.__traceback__
    while trace and trace.tb_next:
        trace = trace.tb_next
    if trace is None:
        return text
    code = trace.tb_frame.f_code
    return f"{text} (in {code.co_name}, line {trace.tb_lineno})"
