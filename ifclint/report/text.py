"""The short summary that a log, a file or another program gets. Plain text, no colour."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from ifclint.engineering.wording import number_text, wrapped
from ifclint.findings import Correction, Judged, Outcome, Review, Severity, VarianceUse, Verdict
from ifclint.report import arrange

VERDICTS = {
    Verdict.PASS: "NO CORRECTIONS REQUIRED",
    Verdict.CORRECTIONS_REQUIRED: "CORRECTIONS REQUIRED",
    Verdict.NOT_REVIEWABLE: "NOT REVIEWABLE",
}
REMEDIES_SHOWN = 8
NAMES_SHOWN = 12
CORRECTIONS_SHOWN = 40


def summary(review: Review, width: int = 80, files: Sequence[Path] = ()) -> str:
    """Verdict, findings by pack and severity, what could not be checked, where the files are."""
    made = blocks(review, width, files)
    return "\n\n".join("\n".join(block) for block in made.values() if block) + "\n"


def blocks(review: Review, width: int, files: Sequence[Path]) -> dict[str, list[str]]:
    """The parts of the summary by name, in their order; a part may have no line."""
    everything = arrange.numbered(review)
    items = arrange.counting(everything)
    made: dict[str, Iterable[str]] = {
        "head": _head(review, width),
        "reading": _reading(review, width),
        "failures": _failures(review, width),
        "variances": _variances(review, len(everything) - len(items), width),
        "corrections": _corrections(review, width),
        "findings": _findings(items),
        "unverified": _unverified(arrange.with_outcome(items, Outcome.UNVERIFIED), width),
        "judged": _judged(review, width),
        "assumed": _assumed(review, width),
        "unseen": _unseen(review, width),
        "gate": _gate(review, width),
        "files": [f"Written: {file}" for file in files],
    }
    return {name: list(lines) for name, lines in made.items()}


def _head(review: Review, width: int) -> Iterator[str]:
    models = (
        ", ".join(arrange.plain(model.name, arrange.NAME_LIMIT) for model in review.models)
        or "no model"
    )
    yield from _wrapped(f"{models}, judged under {arrange.plain(review.adopted_code.title)}", width)
    open_questions = review.verdict is Verdict.PASS and any(
        f.outcome is Outcome.UNVERIFIED for f in review.findings
    )
    yield VERDICTS[review.verdict] + (", BUT QUESTIONS ARE OPEN" if open_questions else "")
    yield from _wrapped(arrange.plain(review.reason), width)


def _gate(review: Review, width: int) -> Iterable[str]:
    """The gate, where it is another than any correction."""
    gate = review.gate
    if gate is None or (gate.fail_on == "any" and not gate.strict):
        return []
    word = "passed" if gate.passed else "stopped"
    return _wrapped(f"Gate (--fail-on {gate.fail_on}): {word}, {arrange.plain(gate.reason)}", width)


def _reading(review: Review, width: int) -> Iterable[str]:
    """How well the model could be read, in one line."""
    network = review.network
    if not network.elements:
        return []
    joints = f"{network.joints:,} joints"
    if network.inferred_joints:
        within = number_text(network.joining_tolerance_m * 1000, 3)
        share = _percent(network.inferred_joints / network.joints)
        joints += f", {share} of them inferred with a tolerance of {within} mm"
    if network.bridged_joints:
        gap = number_text(network.widest_gap_m * 1000, 3)
        joints += f" ({network.bridged_joints:,} across gaps of up to {gap} mm)"
    count = len(network.notes)
    noted = f"; the report has {count:,} {'note' if count == 1 else 'notes'} on reading"
    return _wrapped(
        f"Read: {network.elements:,} elements, {joints}; of the pipes, "
        f"{_percent(network.sizes_known_share)} have a size and "
        f"{_percent(network.connected_share)} are joined at every end{noted if count else ''}",
        width,
    )


def _percent(share: float) -> str:
    return f"{number_text(share * 100, 3)} %"


def _failures(review: Review, width: int) -> Iterator[str]:
    if review.failures:
        yield "THIS REVIEW IS INCOMPLETE: these failed and judged nothing"
    for failure in review.failures:
        name = arrange.plain(f"{failure.pack} {failure.rule}", arrange.NAME_LIMIT)
        yield from _wrapped(f"{name}: {arrange.plain(failure.reason, 300)}", width, indent=2)


def _variances(review: Review, accepted: int, width: int) -> Iterator[str]:
    """How many findings are accepted, and every variance that accepts nothing."""
    if accepted:
        yield f"Accepted by variance, not counted: {accepted:,}"
    for use in review.variances:
        if use.status != "applied":
            about = arrange.plain(use.about, arrange.NAME_LIMIT)
            yield from _wrapped(f"Variance {use.number} ({about}) {_became(use)}.", width)


def _became(use: VarianceUse) -> str:
    if use.status == "expired":
        return f"expired on {arrange.plain(use.acceptance.until, 20)}; its findings count again"
    return "matches no finding"


def _corrections(review: Review, width: int) -> Iterator[str]:
    """One line or two each, in the order they are numbered in."""
    for number, correction in enumerate(review.corrections[:CORRECTIONS_SHOWN], 1):
        told = (subject_told(correction), where(correction))
        said = arrange.plain(f"{correction.title} ({'; '.join(filter(None, told))})", 300)
        yield from _wrapped(f"{number:>5,}  {said}", width, 7)
        if new := arrange.raised(correction):
            yield from _wrapped(f"       {new}", width, 7)
    left = len(review.corrections) - CORRECTIONS_SHOWN
    if left > 0:
        yield f"{left:>5,}  more, see the report"


def where(correction: Correction) -> str:
    """Room, what is near where no room is known, and storey."""
    near = correction.near and f"near {correction.near}"
    return ", ".join(filter(None, (correction.location.space, near, correction.location.storey)))


def subject_told(correction: Correction) -> str:
    """What a correction is about, where its title does not name it."""
    return "" if correction.reviewed_again else correction.subject


def count_rows(items: Sequence[arrange.Item]) -> list[list[str]]:
    """A heading, then a row a pack: violations by severity, advisories and unverified."""
    counts = arrange.tally(items)
    packs = sorted({pack for pack, _, _ in counts})
    lines = [["", "high", "medium", "low", "advisories", "not checked"]]
    for pack in packs:
        violations = [counts[pack, Outcome.VIOLATION, severity] for severity in arrange.SEVERITIES]
        others = [
            sum(counts[pack, outcome, severity] for severity in arrange.SEVERITIES)
            for outcome in (Outcome.ADVISORY, Outcome.UNVERIFIED)
        ]
        lines.append([arrange.plain(pack, 30), *(f"{count:,}" for count in violations + others)])
    return lines


def _findings(items: Sequence[arrange.Item]) -> Iterator[str]:
    """The counts as a table."""
    lines = count_rows(items)
    if len(lines) == 1:
        yield "No finding."
        return
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    yield f"{'':{widths[0]}}   violations"
    for first, *rest in lines:
        cells = (f"{cell:>{width}}" for cell, width in zip(rest, widths[1:], strict=True))
        yield f"{first:<{widths[0]}}   {'  '.join(cells)}"


def _unverified(items: Sequence[arrange.Item], width: int) -> Iterator[str]:
    if not items:
        return
    groups = arrange.by_remedy(items)
    yield f"Could not be checked: {len(items):,}. What would settle it:"
    for group in groups[:REMEDIES_SHOWN]:
        grave = "high: " if group.severity is Severity.HIGH else ""
        said = f"{grave}{arrange.plain(group.remedy)}{_of_one(group)}"
        yield from _wrapped(f"{len(group.items):>5,}  {said}", width, 7)
    left = sum(len(group.items) for group in groups[REMEDIES_SHOWN:])
    if left:
        yield f"{left:>5,}  for other reasons, see the report"


def _of_one(group: arrange.Missing) -> str:
    """What a remedy is for, where it is for one thing and does not name it."""
    subjects = {item.finding.subject for item in group.items}
    only = arrange.plain(next(iter(subjects)), arrange.NAME_LIMIT) if len(subjects) == 1 else ""
    return f" ({only})" if only and only not in group.remedy else ""


def _judged(review: Review, width: int) -> Iterator[str]:
    """What share was judged, a line a pack, and what was set aside."""
    if review.judged:
        yield "Judged:"
    for pack in sorted({line.pack for line in review.judged}):
        lines = [line for line in review.judged if line.pack == pack]
        said = "; ".join(f"{line.question} of {_share(line)}" for line in lines)
        yield from _wrapped(f"  {arrange.plain(pack, 30)}: {said}", width, 4)
    if review.set_aside:
        counted = ", ".join(f"{s.service} ({s.elements:,})" for s in review.set_aside)
        yield from _wrapped(f"Set aside, not judged by a plumbing code: {counted}", width)


def _share(line: Judged) -> str:
    if line.judged == line.asked:
        return f"all {line.asked:,} {line.of}"
    return f"{line.judged:,} of {line.asked:,} {line.of}"


def _assumed(review: Review, width: int) -> Iterator[str]:
    """What was taken for granted; a verdict rests on it."""
    if review.assumptions:
        yield "Assumed, because neither the model nor the job file says:"
    for assumption in review.assumptions[:REMEDIES_SHOWN]:
        yield from _wrapped(f"  {arrange.plain(assumption, 300)}", width, 2)
    left = len(review.assumptions) - REMEDIES_SHOWN
    if left > 0:
        yield f"  and {left:,} more, see the report"


def _unseen(review: Review, width: int) -> Iterator[str]:
    """Rules that saw no subject checked nothing; that is said. A code may not make their demand."""
    unseen = [rule for rule in review.coverage if not rule.subjects and rule.clause]
    if len(unseen) > NAMES_SHOWN:
        count = f"{len(unseen)} of {len(review.coverage)} rules saw no subject"
        yield from _wrapped(f"{count}; the report names them", width)
    elif unseen:
        names = ", ".join(sorted(rule.rule for rule in unseen))
        count = f"{len(unseen)} of {len(review.coverage)} rules saw no subject"
        yield from _wrapped(f"{count}: {arrange.plain(names)}", width)


def _wrapped(text: str, width: int, indent: int = 0) -> Iterable[str]:
    first = "" if text.startswith(" ") else " " * min(indent, 2)
    return wrapped(text, max(width, 30), first, " " * indent)
