"""The corrections as a letter in plain text, to be pasted into an e-mail to the designer.

The numbers are those of report.html. Nothing is marked up; lines keep to a width that mail leaves
alone.
"""

from collections.abc import Iterable, Iterator, Sequence

from ifclint.engineering.wording import wrapped
from ifclint.findings import Finding, Outcome, Review
from ifclint.report.arrange import (
    NAME_LIMIT,
    NO_STOREY,
    Item,
    NumberedCorrection,
    by_remedy,
    counting,
    entries,
    found_and_required,
    numbered,
    plain,
    raised,
    storey_ranks,
    with_outcome,
)
from ifclint.report.exchange.sources import SourceLines
from ifclint.report.places import PlacesInWords

WIDTH = 78
ALIKE_SHOWN, QUESTIONS_SHOWN = 3, 6  # of one rule in a correction, of one remedy
NO_ROOM = "No room is named there"


def letter_bytes(review: Review, _: SourceLines) -> bytes:
    everything = numbered(review)
    items = counting(everything)
    blocks = [
        *_heading(review),
        *_corrections(review, entries(review, items)),
        *_questions(with_outcome(items, Outcome.UNVERIFIED)),
        *_rest(review, items, len(everything) - len(items)),
        *_cautions(review),
    ]
    text = "\n\n".join("\n".join(block) for block in map(list, blocks) if block)
    return (text + "\n").encode("utf-8", "replace")


def _heading(review: Review) -> Iterator[Iterable[str]]:
    yield ["PLUMBING PLAN REVIEW"]
    facts = [("Project", review.job.get("name")), ("Address", review.job.get("address"))]
    for model in review.models:
        facts.append(("Model", model.name))
        dated = f"of {model.date[:10]}" if model.date else "without a date"
        facts.append(("", f"{dated}, SHA-256 {model.sha256[:16]}"))
    amended = f", with {len(review.amendments)} local amendments" if review.amendments else ""
    facts.append(("Adopted code", review.adopted_code.title + amended))
    facts.append(("Result", review.reason))
    yield [line for name, fact in facts if fact for line in _fact(name, fact)]
    if review.failures:
        yield _wrapped(
            f"This review is incomplete: {len(review.failures)} rules or packs failed and judged "
            "nothing. The report names them."
        )


def _fact(name: str, fact: object) -> list[str]:
    head = f"{name}:" if name else ""
    return _wrapped(f"{head:<14}{plain(fact, 2 * NAME_LIMIT)}", 14)


def _corrections(review: Review, made: Sequence[NumberedCorrection]) -> Iterator[Iterable[str]]:
    if not made:
        return
    places = PlacesInWords(review.plans)
    yield _title("Corrections")
    yield _wrapped("By storey and room, with the numbers of the report.")
    for storey, rooms in _by_room(review, made):
        yield _wrapped(plain(storey, NAME_LIMIT).upper())
        for room, there in rooms.items():
            if room or len(rooms) > 1:
                yield _wrapped(f"{plain(room, NAME_LIMIT) or NO_ROOM}:")
            yield from (_correction(entry, places) for entry in there)


def _by_room(
    review: Review, made: Iterable[NumberedCorrection]
) -> Iterator[tuple[str, dict[str, list[NumberedCorrection]]]]:
    """Corrections by storey, from the lowest up, and by room; what is in no room comes last."""
    ranks, storeys = storey_ranks(review), dict[str, dict[str, list[NumberedCorrection]]]()
    for entry in made:
        place = entry.correction.location
        storeys.setdefault(place.storey, {}).setdefault(place.space, []).append(entry)
    for storey in sorted(storeys, key=ranks.__getitem__):
        rooms = storeys[storey]
        yield storey or NO_STOREY, {r: rooms[r] for r in sorted(rooms, key=lambda r: (not r, r))}


def _correction(entry: NumberedCorrection, places: PlacesInWords) -> list[str]:
    """What to do, where, and why: each finding with its clause and figures."""
    made, lines = entry.correction, []
    at = [plain(made.subject, NAME_LIMIT)] if not made.reviewed_again else []
    at += [f"near {plain(made.near, NAME_LIMIT)}"] if made.near else []
    where = f" ({'; '.join(at)})" if at else ""
    lines += _wrapped(f"{entry.number:>4}. {plain(made.title)}{where}", 6)
    if stands := places.text(made.location):
        lines += _indented(f"{stands[0].upper()}{stands[1:]}.")
    if told := raised(made):
        lines += _indented(told)
    alike: dict[str, list[Finding]] = {}
    for item in entry.items:
        alike.setdefault(item.finding.rule, []).append(item.finding)
    for findings in alike.values():
        for finding in findings[:ALIKE_SHOWN]:
            lines += _why(finding)
        if left := len(findings[ALIKE_SHOWN:]):
            lines += _indented(f"So it is at {left:,} more, see the report.")
    return lines


def _why(finding: Finding) -> list[str]:
    found, required = found_and_required(finding)
    figures = [f"Found: {found}"] if found else []
    figures += [f"required: {required}" if found else f"Required: {required}"] if required else []
    if required and finding.source_kind == "from memory":
        figures.append("the limit is from memory")
    said = plain(finding.message or finding.title)
    clause = f" ({plain(finding.clause, NAME_LIMIT)})" if finding.clause else ""
    lines = _indented(said + clause)
    return lines + _indented("; ".join(figures) + ".") if figures else lines


def _questions(items: Sequence[Item]) -> Iterator[Iterable[str]]:
    if not items:
        return
    yield _title("Open questions")
    yield _wrapped(
        f"These could not be judged for want of a fact ({len(items):,}). Nothing is concluded of "
        "them. Under each remedy stands what it would settle."
    )
    for group in by_remedy(items):
        lines = _wrapped(f"  {plain(group.remedy)}", 2)
        for item in group.items[:QUESTIONS_SHOWN]:
            f = item.finding
            named = ", ".join(filter(None, (f.subject, f.location.space, f.location.storey)))
            asked = ", ".join(filter(None, (f.title, f.clause)))
            lines += _indented(f"{plain(named, NAME_LIMIT)}: {plain(asked, NAME_LIMIT)}")
        left = len(group.items) - QUESTIONS_SHOWN
        if left > 0:
            lines += _indented(f"and {left:,} more, see the report")
        yield lines


def _rest(review: Review, items: Sequence[Item], accepted: int) -> Iterator[Iterable[str]]:
    """What the letter leaves to the report, counted."""
    advisories = len(with_outcome(items, Outcome.ADVISORY))
    if advisories:
        noun = "advisory" if advisories == 1 else "advisories"
        yield _wrapped(f"The report also holds {advisories:,} {noun}, which no clause demands.")
    if accepted:
        yield _wrapped(f"Accepted by variance and not repeated here: {accepted:,}.")


def _cautions(review: Review) -> Iterator[Iterable[str]]:
    yield _title("Cautions")
    for caution in review.cautions:
        yield _wrapped(plain(caution))


def _title(text: str) -> list[str]:
    return [text.upper()]


def _indented(text: str) -> list[str]:
    return _wrapped(" " * 6 + text, 6)


def _wrapped(text: str, indent: int = 0) -> list[str]:
    return wrapped(text, WIDTH, then=" " * indent)
