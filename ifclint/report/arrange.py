"""The order and grouping a person reads a review in; shared by the page and the summary.

Corrections are numbered in the order of the review, what can hurt someone first, and a violation
has the number of its correction. Then follow advisories and what could not be checked, within each
from the lowest storey up, system by system, the gravest first.
"""

import math
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from ifclint.engineering.wording import as_counted, measure_text
from ifclint.findings import Correction, Finding, Measure, Outcome, Review, ReviewedAgain, Severity

NAME_LIMIT = 120
TEXT_LIMIT = 1500
OUTCOMES = (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED)
SEVERITIES = tuple(Severity)
NO_STOREY = "Storey not known"
NO_SYSTEM = "System not known"
NO_REMEDY = "No remedy is stated"
CITED = 2  # clauses of a correction in a list
_CODE = re.compile(r"[A-Z]+ \d{4} ")  # "UPC 2021 ", before a clause
_TURNING = re.compile("[\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")  # turn or hide text


@dataclass(frozen=True, slots=True)
class Item:
    """A finding with the number and the page anchor it is known by in this report.

    The violations that one correction clears share its number.
    """

    number: int
    anchor: str
    finding: Finding
    sheet: str = ""  # the anchor of its correction

    @property
    def leads_to(self) -> str:
        """The anchor of what is said of it: its correction, or itself."""
        return self.sheet or self.anchor


@dataclass(frozen=True, slots=True)
class NumberedCorrection:
    """A correction with its number, and the findings that it answers."""

    number: int
    correction: Correction
    items: tuple[Item, ...]

    @property
    def anchor(self) -> str:
        return sheet_anchor(self.number)

    @property
    def clauses(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(i.finding.clause for i in self.items if i.finding.clause))

    @property
    def cited(self) -> str:
        """The first clauses in a row; the code that several are of is named once."""
        named, before = [], ""
        for clause in self.clauses[:CITED]:
            found = _CODE.match(clause)
            code = found[0] if found else ""
            named.append(plain(clause.removeprefix(before) if before else clause, NAME_LIMIT))
            before = code
        return ", ".join((*named, *("…" for _ in self.clauses[CITED : CITED + 1])))


@dataclass(frozen=True, slots=True)
class SystemGroup:
    system: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class StoreyGroup:
    storey: str
    systems: tuple[SystemGroup, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """Findings that the same remedy would make judgeable."""

    remedy: str
    items: tuple[Item, ...]

    @property
    def severity(self) -> Severity:
        """The gravest of them."""
        return min((item.finding.severity for item in self.items), key=SEVERITIES.index)


def plain(text: object, limit: int = TEXT_LIMIT) -> str:
    """Text from a model made harmless for a terminal or a page: one line, visible, of a length.

    Control characters, line ends and marks that turn the writing direction become spaces or go.
    """
    return _plain(str(text), limit)


@lru_cache(maxsize=65_536)  # of what a page says most is said again and again
def _plain(text: str, limit: int) -> str:
    shown = text[: limit * 4]
    if not shown.isprintable():
        shown = _TURNING.sub("", shown)
        shown = "".join(" " if unicodedata.category(c) in ("Cc", "Cs") else c for c in shown)
    shown = " ".join(shown.split())
    return shown if len(shown) <= limit else shown[: limit - 1].rstrip() + "…"


def numbered(review: Review) -> tuple[Item, ...]:
    """Every finding that calls for an action, in reading order, with its number and anchor."""
    storeys = storey_ranks(review)
    of_correction = {
        finding: number
        for number, correction in enumerate(review.corrections, 1)
        for finding in correction.finding_ids
    }
    rest = len(review.corrections) + 1
    shown = sorted(
        (f for f in review.findings if f.outcome in OUTCOMES),
        key=lambda f: (
            of_correction.get(f.id, rest),
            OUTCOMES.index(f.outcome),
            storeys[f.location.storey],
            f.system or "~",
            SEVERITIES.index(f.severity),
            as_counted(f.title),
            as_counted(f.subject),
            f.id,
        ),
    )
    taken: set[str] = set()
    items: list[Item] = []
    for finding in shown:
        number = of_correction.get(finding.id, rest)
        sheet = sheet_anchor(number) if finding.id in of_correction else ""
        rest += not sheet
        items.append(Item(number, _anchor(finding, len(items) + 1, taken), finding, sheet))
    return tuple(items)


def sheet_anchor(number: int) -> str:
    return f"correction-{number}"


def one_a_number(items: Iterable[Item]) -> list[Item]:
    """The first item of each number."""
    first: dict[int, Item] = {}
    for item in items:
        first.setdefault(item.number, item)
    return list(first.values())


def entries(review: Review, items: Iterable[Item]) -> tuple[NumberedCorrection, ...]:
    """The corrections, each with its findings."""
    found: dict[int, list[Item]] = {}
    for item in with_outcome(items, Outcome.VIOLATION):
        found.setdefault(item.number, []).append(item)
    return tuple(
        NumberedCorrection(number, correction, tuple(found[number]))
        for number, correction in enumerate(review.corrections, 1)
        if number in found
    )


def raised(correction: Correction) -> str:
    """What a correction of size or slope raises that was not there before, and what it leaves of
    its findings, in words; else ""."""
    proof = correction.reviewed_again
    return "" if proof is None else " ".join(filter(None, (_new(proof), _left(correction, proof))))


def _new(proof: ReviewedAgain) -> str:
    if not proof.raises:
        return ""
    first, more = plain(proof.raises[0]), len(proof.raises) - 1
    return f"With it, something new is wrong: {first}" + (f" And {more} more." if more else "")


def _left(correction: Correction, proof: ReviewedAgain) -> str:
    own = len(correction.finding_ids)
    left = own - len({*correction.finding_ids} & {*proof.clears})
    if not left:
        return ""
    if not proof.clears and proof.note:
        return plain(proof.note)
    what = "All changes of size and slope together do" if proof.together else "This alone does"
    which = "its finding stays" if own == 1 else f"{left} of its {own} findings stay"
    return f"{what} not do: {which}."


def with_outcome(items: Iterable[Item], outcome: Outcome) -> tuple[Item, ...]:
    return tuple(item for item in items if item.finding.outcome is outcome)


def counting(items: Iterable[Item]) -> tuple[Item, ...]:
    """Those that count: not accepted by a variance."""
    return tuple(item for item in items if item.finding.variance is None)


def accepted(items: Iterable[Item]) -> tuple[Item, ...]:
    """Those that a variance of the job file accepts."""
    return tuple(item for item in items if item.finding.variance is not None)


def by_storey(items: Sequence[Item]) -> tuple[StoreyGroup, ...]:
    """Numbered findings of one outcome, grouped without changing their order."""
    return tuple(
        StoreyGroup(storey or NO_STOREY, _by_system(tuple(group)))
        for storey, group in groupby(items, key=lambda item: item.finding.location.storey)
    )


def _by_system(items: Sequence[Item]) -> tuple[SystemGroup, ...]:
    return tuple(
        SystemGroup(system or NO_SYSTEM, tuple(group))
        for system, group in groupby(items, key=lambda item: item.finding.system)
    )


def by_remedy(items: Iterable[Item]) -> tuple[Missing, ...]:
    """Unverified findings by what would make them judgeable: what might hurt people first, then
    the remedy that settles most."""
    groups: dict[str, list[Item]] = {}
    for item in items:
        groups.setdefault(item.finding.remedy or NO_REMEDY, []).append(item)
    missing = (Missing(remedy, tuple(found)) for remedy, found in groups.items())
    return tuple(
        sorted(
            missing, key=lambda m: (SEVERITIES.index(m.severity), -len(m.items), m.items[0].number)
        )
    )


def tally(items: Iterable[Item]) -> Counter[tuple[str, Outcome, Severity]]:
    """How many findings by pack, outcome and severity."""
    return Counter((i.finding.pack, i.finding.outcome, i.finding.severity) for i in items)


def found_and_required(finding: Finding) -> tuple[str, str]:
    """Both numbers in words, with as many digits as it takes to tell them apart."""
    measured, required = finding.measured, finding.required
    for digits in range(4, 9):
        found, asked = _measure(measured, digits), _measure(required, digits)
        if not measured or not required or found != asked or measured.value == required.value:
            break
    bound = f"{required.bound} " if required and required.bound else ""
    return found, bound + asked


def _measure(measure: Measure | None, digits: int) -> str:
    return measure_text(measure.value, measure.unit, digits) if measure else ""


def storey_ranks(review: Review) -> dict[str, tuple[bool, float, str]]:
    """Sort key of each storey: by elevation, names without one after, no storey last."""
    elevation: dict[str, float] = {}
    for finding in review.findings:
        storey, z = finding.location.storey, finding.location.z
        if z is not None and math.isfinite(z):
            elevation[storey] = min(z, elevation.get(storey, z))
    for riser in review.risers:
        elevation.update(riser.levels)
    names = {finding.location.storey for finding in review.findings}
    return {n: (not n, elevation.get(n, float("inf")), n) for n in names}


def _anchor(finding: Finding, number: int, taken: set[str]) -> str:
    """ "finding-" and the id where that makes a link, else the number; never twice the same."""
    fits = re.fullmatch(r"[A-Za-z0-9._-]{1,80}", finding.id)
    anchor = f"finding-{finding.id}" if fits else f"finding-no-{number}"
    if anchor in taken:
        anchor = f"finding-no-{number}"
    taken.add(anchor)
    return anchor
