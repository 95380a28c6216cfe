"""Answers, findings, coverage and the review: plain data, no behaviour.

An `Answer` is what a rule says of one subject; a `Finding` is an answer with its rule, element
and place, as every report shows it; a `Review` is the whole run. Nothing here knows a format.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

from ifclint.drawings import Plan, Riser
from ifclint.engineering.arithmetic import Measure as Measure
from ifclint.engineering.arithmetic import Step as Step
from ifclint.ifc.elements import Location, ModelFile

if TYPE_CHECKING:
    from ifclint.plumbing.context import Context


class Outcome(StrEnum):
    PASS = "pass"
    VIOLATION = "violation"  # the adopted code is not met
    ADVISORY = "advisory"  # legal, but a good plumber would object
    UNVERIFIED = "unverified"  # a fact is missing
    NOT_APPLICABLE = "not-applicable"


class Severity(StrEnum):
    HIGH = "high"  # people or the building can be harmed: sewage, gas, scalding, flooding
    MEDIUM = "medium"  # it will not pass inspection, or not work as it should
    LOW = "low"  # workmanship, or a matter for the next revision


class Settles(StrEnum):
    """What the answers of a rule settle, of every fixture, appliance or pipe that it judges.

    A pass is earned only where each of these is settled for all that it is asked of.
    """

    DRAIN = "drain"
    TRAP = "trap"
    VENT = "vent"
    WATER = "water pipe"
    PRESSURE = "pressure"
    LINE = "gas line"
    PIPE = "size and run"  # of pipes
    SERVICE = "service"  # of pipes


class Verdict(StrEnum):
    PASS = "pass"
    CORRECTIONS_REQUIRED = "corrections-required"
    NOT_REVIEWABLE = "not-reviewable"


@dataclass(frozen=True, slots=True)
class Change:
    """A remedy that can be said as data: one change to the building.

    `value` is the new size (trade inches), the new slope (rise over run), the part to add, how far
    something is moved (m), or what other work is done at the first element. `also` are changes that
    it does not do without: other sizes of other pipes.
    """

    what: Literal["size", "slope", "part", "move", "work"]
    element_ids: tuple[str, ...]
    value: float | str
    text: str  # the same in words, in the imperative
    also: tuple[Change, ...] = ()

    @property
    def parts(self) -> tuple[Change, ...]:
        """It and what goes with it."""
        return (self, *self.also)


@dataclass(frozen=True, slots=True)
class PartKind:
    """A kind of part that a model may not draw at all: gas shutoffs, cleanouts, hangers.

    `drawn` tells whether the model draws any; `remedy` how such parts are modelled. What a model
    does not tell at all is told once in the same way: `lack` is what the model does not do.
    """

    name: str  # in the plural: "gas shutoff valves"
    drawn: Callable[[Context], bool]
    remedy: str
    lack: str = "draws no"

    def is_drawn(self, context: Context) -> bool:
        """Whether the model draws any, found out once."""
        return context.once(self.drawn)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a rule says of one subject; made by the functions of `ifclint.checks`."""

    outcome: Outcome
    message: str = ""
    measured: Measure | None = None
    required: Measure | None = None
    remedy: str = ""
    steps: tuple[Step, ...] = ()
    elements: tuple[str, ...] = ()  # GlobalIds to click instead of the subject's own, first is best
    clause: str = ""  # where one rule rests on several clauses, the one that decided
    severity: Severity | None = None  # instead of the rule's default
    about: str = ""  # tells several answers about one subject apart: a GlobalId
    change: Change | None = None  # the remedy as data
    provenance: str = ""  # where the limit was read; "" where it rests on no table
    part: PartKind | None = None  # what is missing, for the policy of absence
    caution: str = ""  # what endangers those who make the change
    cause: str = ""  # questions, or advisories, of one rule with one cause are one finding that
    # lists all elements


PASS = Answer(Outcome.PASS)
NOT_APPLICABLE = Answer(Outcome.NOT_APPLICABLE)


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Why a finding does not count: what the job file says of it."""

    reason: str
    accepted_by: str
    until: str  # a date, "" without end


@dataclass(frozen=True, slots=True)
class Finding:
    id: str
    pack: str
    rule: str
    outcome: Outcome
    severity: Severity
    title: str
    message: str
    clause: str
    subject: str  # in words: "Lavatory L-1", "3 in drain from Bath 2 to Stack 1"
    system: str
    element_ids: tuple[str, ...]
    location: Location
    measured: Measure | None = None
    required: Measure | None = None
    remedy: str = ""
    steps: tuple[Step, ...] = ()
    variance: Acceptance | None = None  # accepted: visible, but out of the count
    change: Change | None = None  # the remedy as data, where it can be said so
    provenance: str = ""  # where the limit was read; "" where it rests on no table
    source_kind: str = ""  # the same in a word: "from memory", "read in a published source" ...
    caution: str = ""  # what endangers those who make the change
    check: str = ""  # what to check in the code book, where values it rests on were not read


@dataclass(frozen=True, slots=True)
class ReviewedElement:
    """An element of the plumbing, as other revisions of the model are searched for it."""

    guid: str
    ifc_class: str
    name: str
    type_name: str
    tag: str
    location: Location


@dataclass(frozen=True, slots=True)
class ReviewedAgain:
    """What a review of the model with a correction made says."""

    clears: tuple[str, ...]  # ids of findings; of the correction's own, where reviewed together
    raises: tuple[str, ...]  # violations that are new, in words
    together: bool = False  # reviewed with all other changes of size and slope, and not by itself
    note: str = ""  # how far parts are moved for it; why it does not do, or was not reviewed


@dataclass(frozen=True, slots=True)
class Correction:
    """One change to the building, with the findings that it clears."""

    id: str
    title: str  # in the imperative
    severity: Severity  # of its gravest finding, as are subject, system and location
    subject: str
    system: str
    location: Location
    near: str  # the nearest fixture or appliance, where no room is known
    element_ids: tuple[str, ...]  # what is changed, or what the findings are about
    changes: tuple[Change, ...]  # of size and slope as they were solved, each element once
    finding_ids: tuple[str, ...]
    reviewed_again: ReviewedAgain | None = None  # None where the change is no size or slope


@dataclass(frozen=True, slots=True)
class VarianceUse:
    """What became of a variance of the job file."""

    number: int  # as listed in the job file, from 1
    about: str  # the finding, or the rule and element, it names
    status: str  # "applied", "expired" or "matches nothing"
    findings: tuple[str, ...]
    acceptance: Acceptance


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many subjects a rule saw and what it answered. No subject is said, never hidden."""

    pack: str
    rule: str
    title: str
    clause: str
    subjects: int = 0
    passed: int = 0
    violations: int = 0
    advisories: int = 0
    unverified: int = 0
    not_applicable: int = 0
    note: str = ""  # "no subject in this model", "not required by the adopted code"


@dataclass(frozen=True, slots=True)
class Judged:
    """Of how many fixtures, appliances or pipes a pack settled one question."""

    pack: str
    question: Settles
    of: str  # "fixtures", "gas appliances" or "pipes"
    asked: int  # of all but those that it cannot be asked of
    judged: int
    open_ids: tuple[str, ...] = ()  # GlobalIds of the others


@dataclass(frozen=True, slots=True)
class SetAside:
    """What a building's plumbing code does not judge: heating, fire, process, site drainage,
    what is to be demolished or temporary."""

    service: str
    elements: int


@dataclass(frozen=True, slots=True)
class Failure:
    """A rule or pack that failed internally; everything else is kept."""

    pack: str
    rule: str
    reason: str


@dataclass(frozen=True, slots=True)
class Column:
    key: str
    title: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Schedule:
    """A table for the permit set. Every row has "element_id" beside its columns' keys."""

    key: str  # "fixtures", "drains"
    title: str
    columns: tuple[Column, ...]
    rows: tuple[dict[str, object], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Count:
    """How many elements of a role and system, and how many of them a fact is known for."""

    role: str
    system: str
    elements: int
    sized: int
    connected: int


@dataclass(frozen=True, slots=True)
class NetworkSummary:
    counts: tuple[Count, ...] = ()
    elements: int = 0
    joints: int = 0
    inferred_joints: int = 0
    bridged_joints: int = 0  # of the inferred, those between what lies farther apart
    widest_gap_m: float = 0.0  # between what they join
    joining_tolerance_m: float = 0.0
    islands: int = 0
    connected_share: float = 0.0
    sizes_known_share: float = 0.0
    known_from: dict[str, dict[str, int]] = field(default_factory=dict)  # fact -> basis -> count
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether a revision may pass, as the command was told to decide it; apart from the verdict."""

    fail_on: str  # "any", "high", "new" or "new-high" corrections
    strict: bool  # open questions of high severity fail too
    baseline: str  # the earlier review that tells what is new; "" without one
    passed: bool
    reason: str


@dataclass(frozen=True, slots=True)
class AdoptedCodeInfo:
    id: str
    title: str
    edition: str
    tables: tuple[str, ...] = ()
    from_memory: tuple[str, ...] = ()  # tables used whose values were not read from a publication


@dataclass(frozen=True, slots=True)
class Review:
    generator: str
    models: tuple[ModelFile, ...]
    adopted_code: AdoptedCodeInfo
    job: dict[str, object]
    verdict: Verdict
    reason: str  # one sentence under the verdict
    findings: tuple[Finding, ...]
    coverage: tuple[Coverage, ...]
    failures: tuple[Failure, ...]
    network: NetworkSummary
    corrections: tuple[Correction, ...] = ()  # what can hurt someone first
    schedules: tuple[Schedule, ...] = ()
    risers: tuple[Riser, ...] = ()
    elements: tuple[ReviewedElement, ...] = ()  # of the plumbing, in the order of the model
    plans: tuple[Plan, ...] = ()  # from the lowest storey up
    variances: tuple[VarianceUse, ...] = ()
    amendments: tuple[str, ...] = ()  # of the adopted code, as the job file makes them
    assumptions: tuple[str, ...] = ()  # what was taken where neither model nor job file says
    cautions: tuple[str, ...] = ()
    gate: Gate | None = None
    turned_rad: float = 0.0  # of the axes of all places, in the coordinates of the first file
    judged: tuple[Judged, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
