"""What became of findings and corrections from one revision of a building to the next."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from ifclint.comparison.matching import Pairs, pair_elements, pair_findings
from ifclint.comparison.reading import ACCEPTED, RecordedElement, RecordedFinding, Reviewed
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import tape_text
from ifclint.errors import InputError

MOVED_M = 0.1  # a finding that is farther off than this has moved with its element
IN_COMMON = 0.1  # of the elements of the smaller review; fewer meet by chance (no source)


class State(StrEnum):
    NEW = "new"
    OPEN = "still open"
    MOVED = "moved"
    CORRECTED = "corrected"
    NOT_CHECKABLE = "no longer checkable"
    GONE = "element gone"
    ACCEPTED = "accepted by a variance"
    AMBIGUOUS = "ambiguous"


MOST_OPEN = (
    State.OPEN, State.MOVED, State.AMBIGUOUS, State.NOT_CHECKABLE, State.GONE, State.ACCEPTED,
    State.CORRECTED,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Compared:
    """What became of one finding or correction. `why` says what a state rests on."""

    state: State
    title: str
    place: str
    severity: str
    why: str = ""
    old_id: str = ""
    new_id: str = ""
    about: str = ""  # what it is of, where its title does not name it


@dataclass(frozen=True, slots=True)
class Comparison:
    old: str  # the models of each review, in words
    new: str
    findings: tuple[Compared, ...]
    corrections: tuple[Compared, ...]
    notes: tuple[str, ...]  # what makes the two reviews differ beside the model


def compare(old: Reviewed, new: Reviewed) -> Comparison:
    """Violations of two reviews of one building, paired one to one.

    A violation counts as corrected only where its rule was asked of the same element again, under
    the same code and job file, and found nothing. InputError where the two are not of one building.
    """
    elements = pair_elements(old, new)
    _check_one_building(old, new, elements)
    notes = tuple(_notes(old, new))
    pairs = pair_findings(old, new, elements)
    findings = [_became(finding, old, new, pairs, elements, notes) for finding in old.violations]
    findings += [_change(State.NEW, f, new_id=f.id) for f in _unmet(old, new, pairs, elements)]
    return Comparison(
        old.models, new.models, tuple(findings), tuple(_corrections(old, new, findings)), notes
    )


def _check_one_building(old: Reviewed, new: Reviewed, elements: Pairs) -> None:
    """InputError where no GlobalId is in both, and too few elements fit by tag or place."""
    if old.elements.keys() & new.elements.keys():
        return
    common = len(elements.of) + len(elements.ambiguous)
    smaller = min(len(old.elements), len(new.elements))
    if smaller and common < IN_COMMON * smaller:
        raise InputError(
            f"{old.path} and {new.path} have {common or 'no'} element{'s' * (common > 1)} in "
            f"common, of {smaller:,} at least; give two reviews of one building."
        )


def _unmet(old: Reviewed, new: Reviewed, pairs: Pairs, elements: Pairs) -> list[RecordedFinding]:
    """Violations that no earlier one can be: of no pair, and of no rule and element that might."""
    met = set(pairs.of.values()) | {i for ids in pairs.ambiguous.values() for i in ids}
    might_be = {
        (finding.rule, guid)
        for finding in old.violations
        for old_guid in finding.element_ids[:1]
        for guid in elements.ambiguous.get(old_guid, ())
    }
    return [
        finding
        for finding in new.violations
        if finding.id not in met
        and not any((finding.rule, guid) in might_be for guid in finding.element_ids[:1])
    ]


def _notes(old: Reviewed, new: Reviewed) -> list[str]:
    """What beside the model is not the same: then no finding counts as corrected."""
    notes = []
    if old.code != new.code:
        notes.append(f"The adopted code was {old.code} and is {new.code}.")
    keys = sorted({key for key, _ in set(old.job.items()) ^ set(new.job.items())})
    if keys:
        notes.append(f"The job file has changed in {', '.join(keys)}.")
    return notes


def _became(
    finding: RecordedFinding,
    old: Reviewed,
    new: Reviewed,
    pairs: Pairs,
    elements: Pairs,
    notes: Sequence[str],
) -> Compared:
    if finding.id in pairs.ambiguous:
        return _change(State.AMBIGUOUS, finding, "several findings fit", old_id=finding.id)
    if finding.id in pairs.of:
        return _still_open(finding, new.by_id[pairs.of[finding.id]])
    element = old.element_of(finding)
    if element is not None and element.guid in elements.ambiguous:
        return _change(State.AMBIGUOUS, finding, "several elements fit", old_id=finding.id)
    if element is not None and element.guid not in elements.of:
        why = f"{element.words} is not there any more"
        return _change(State.GONE, finding, why, old_id=finding.id)
    why = _unchecked(finding, element, new, elements) or " ".join(notes)
    state = State.NOT_CHECKABLE if why else State.CORRECTED
    return _change(state, finding, why, old_id=finding.id)


def _still_open(old: RecordedFinding, new: RecordedFinding) -> Compared:
    if new.outcome == "unverified":
        return _change(State.NOT_CHECKABLE, old, new.message, old.id, new.id)
    if new.outcome == ACCEPTED:
        return _change(State.ACCEPTED, old, "", old.id, new.id)
    moved = old.distance_m(new)
    if moved is not None and moved > MOVED_M:
        return _change(State.MOVED, new, f"{tape_text(moved / M_PER_FT)} away", old.id, new.id)
    return _change(State.OPEN, new, "", old.id, new.id)


def _unchecked(
    finding: RecordedFinding, element: RecordedElement | None, new: Reviewed, elements: Pairs
) -> str:
    """Why the rule's silence about the element says nothing; "" where it does."""
    if finding.rule in new.failed or finding.pack in new.failed:
        return f"rule {finding.rule} failed"
    if finding.rule not in new.asked:
        return f"rule {finding.rule} was not asked, or saw no subject"
    if element is not None:
        asked = new.unverified.get((finding.rule, elements.of[element.guid]))
        if asked is not None:
            return asked.message
    return ""


def _change(
    state: State, finding: RecordedFinding, why: str = "", old_id: str = "", new_id: str = ""
) -> Compared:
    return Compared(state, finding.message, finding.place, finding.severity, why, old_id, new_id)


def _corrections(old: Reviewed, new: Reviewed, findings: Sequence[Compared]) -> list[Compared]:
    """What became of each correction, as open as the most open of its findings; and new ones."""
    by_old = {change.old_id: change for change in findings if change.old_id}
    titles = {id_: c.title for c in new.corrections for id_ in c.finding_ids}
    made = []
    for correction in old.corrections:
        own = [by_old[id_] for id_ in correction.finding_ids if id_ in by_old]
        if own:
            worst = min(own, key=lambda change: MOST_OPEN.index(change.state))
            made.append(
                Compared(
                    worst.state, titles.get(worst.new_id, correction.title), correction.place,
                    correction.severity, worst.why, correction.id, about=correction.about,
                )
            )  # fmt: skip
    return made + _new_corrections(new, findings)


def _new_corrections(new: Reviewed, findings: Sequence[Compared]) -> list[Compared]:
    """Those that answer a finding which the earlier review does not have, be it one of several;
    ambiguous where each of them may be one that it has."""
    new_ids = {change.new_id for change in findings if change.state is State.NEW}
    met = {change.new_id for change in findings} - new_ids
    unmet = {finding.id for finding in new.violations} - met
    made = []
    for correction in new.corrections:
        ids = set(correction.finding_ids)
        if not ids & unmet:
            continue
        state, why = State.AMBIGUOUS, "may be one that was there"
        if added := len(ids & new_ids):
            state, why = State.NEW, f"{added} of its {len(ids)} findings" * (added < len(ids))
        made.append(
            Compared(
                state, correction.title, correction.place, correction.severity, why,
                new_id=correction.id, about=correction.about,
            )
        )  # fmt: skip
    return made
