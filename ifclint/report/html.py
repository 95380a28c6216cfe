"""The review as one page that needs nothing else: no network, no program, no script to be read."""

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from jinja2 import Environment
from markupsafe import Markup

from ifclint.drawings import LINES_DRAWN
from ifclint.engineering.arithmetic import kind_of
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text, measure_text, number_text, slope_text, trade_size
from ifclint.findings import (
    Correction,
    Coverage,
    Outcome,
    Review,
    ReviewedElement,
    Schedule,
    Severity,
    Verdict,
)
from ifclint.ifc.elements import Location
from ifclint.report import pages
from ifclint.report.arrange import (
    NAME_LIMIT,
    NO_STOREY,
    Item,
    NumberedCorrection,
    accepted,
    by_remedy,
    by_storey,
    counting,
    entries,
    found_and_required,
    numbered,
    one_a_number,
    plain,
    raised,
    with_outcome,
)
from ifclint.report.as_json import jsonable
from ifclint.report.counted import COUNT, cells, counted, element_ids
from ifclint.report.drawing import SERVICES, SYMBOLS, Drawing, PlanDrawing
from ifclint.report.pages import TEMPLATES, policy, running_foot, source
from ifclint.report.places import PlacesInWords
from ifclint.report.plan import draw_plan
from ifclint.report.riser import draw, one_view
from ifclint.report.space import pipes_json

PIECES = 20  # of a correction that are listed one by one
CARDS, ROWS, GROUP_ROWS, NOTES = 500, 1000, 25, 200  # more than these is in findings.json
VERDICTS = {
    Verdict.PASS: "No corrections required",
    Verdict.CORRECTIONS_REQUIRED: "Corrections required",
    Verdict.NOT_REVIEWABLE: "Not reviewable",
}
OUTCOMES = {
    Outcome.VIOLATION: "Violation",
    Outcome.ADVISORY: "Advisory",
    Outcome.UNVERIFIED: "Could not be checked",
}
SEVERITIES = {
    Severity.HIGH: "people or the building can be harmed",
    Severity.MEDIUM: "it will not pass inspection, or not work as it should",
    Severity.LOW: "workmanship, or a matter for the next revision",
}


@dataclass(frozen=True, slots=True)
class StoreySheet:
    """What a foreman carries for one storey: its plan and its corrections."""

    name: str
    plan: PlanDrawing | None
    entries: tuple[NumberedCorrection, ...]


@dataclass(frozen=True, slots=True)
class Chapter:
    """Findings that belong together: how many there are and those shown in full."""

    total: int
    items: tuple[Item, ...]
    remedy: str = ""

    @property
    def left(self) -> int:
        return self.total - len(self.items)


def html_bytes(review: Review, for_crew: str = "") -> bytes:
    """report.html as UTF-8."""
    return render(review, for_crew).encode("utf-8", "replace")


def render(review: Review, for_crew: str = "") -> str:
    """The page. Everything from the model is escaped, and cut where it is longer than words are.

    `for_crew` is what stands on the field sheet, as HTML.
    """
    everything = numbered(review)
    items = counting(everything)
    corrections = entries(review, items)
    sheets = corrections[:CARDS]
    advisories = _cut(with_outcome(items, Outcome.ADVISORY), CARDS - len(sheets))
    unchecked = with_outcome(items, Outcome.UNVERIFIED)
    unverified = _missing(unchecked)
    shown = tuple(item for sheet in sheets for item in sheet.items) + advisories.items
    shown += tuple(item for group in unverified for item in group.items)
    drawings, undrawn = _drawings(review, shown, _changed(sheets))
    storeys = _storeys(review, sheets, shown)
    style = source("report.css") + running_foot(review)
    scripts = [source("report.js")]
    pipes = pipes_json(review.plans, sheets)
    if pipes is not None:
        scripts.append(source("viewer.js"))
    return (
        _environment(PlacesInWords(review.plans))
        .get_template("report.html.j2")
        .render(
            review=review,
            for_crew=Markup(for_crew),
            style=Markup(style),
            scripts=[Markup(script) for script in scripts],
            pipes=pipes,
            policy=policy(style, scripts),
            corrections=corrections,
            sheets=sheets,
            storeys=storeys,
            violations=sum(len(entry.items) for entry in corrections),
            advisories=advisories,
            calculations=[i for i in shown if i.finding.steps and _is_calculated(i)],
            unchecked=len(unchecked),
            unverified=unverified,
            drawings=drawings,
            undrawn=undrawn,
            accepted=accepted(everything)[:ROWS],
            marks=_marks([*drawings, *(s.plan for s in storeys if s.plan)]),
            found_of=partial(_found_of, _by_element(shown)),
            pieces_of=partial(_pieces_of, {e.guid: e for e in review.elements}),
            schedules=sorted(map(_shown, map(counted, review.schedules)), key=_is_long),
            job_facts=list(_flat(review.job)),
            packs=_packs(review.coverage),
        )
    )


def _is_calculated(item: Item) -> bool:
    """What could not be checked was not calculated to an end."""
    return item.finding.outcome is not Outcome.UNVERIFIED


def _cut(items: tuple[Item, ...], limit: int) -> Chapter:
    return Chapter(len(items), items[:limit])


def _missing(items: Sequence[Item]) -> list[Chapter]:
    """Unverified findings by remedy, each cut to a readable number of rows, until the limit."""
    groups, left = [], CARDS
    for group in by_remedy(items):
        shown = group.items[: min(GROUP_ROWS, left)]
        if shown:
            groups.append(Chapter(len(group.items), shown, group.remedy))
            left -= len(shown)
    return groups


def _storeys(
    review: Review, sheets: Sequence[NumberedCorrection], items: Sequence[Item]
) -> list[StoreySheet]:
    """Every storey that has a plan or a correction; plans as far as a page holds them."""
    by_storey: dict[str, list[NumberedCorrection]] = {plan.storey: [] for plan in review.plans}
    for entry in sheets:
        by_storey.setdefault(entry.correction.location.storey, []).append(entry)
    plans, room = {}, LINES_DRAWN
    changed = _changed(sheets)
    for number, plan in enumerate(review.plans, 1):
        room -= len(plan.pipes)
        if room >= 0:
            plans[plan.storey] = draw_plan(plan, items, f"plan-{number}", changed)
    lived_in = {plan.storey for plan in review.plans if plan.fixtures}
    return [
        StoreySheet(name or NO_STOREY, plans.get(name), tuple(entries))
        for name, entries in by_storey.items()
        if entries or name in lived_in
    ]


def _changed(sheets: Iterable[NumberedCorrection]) -> frozenset[str]:
    """The pipe whose size or slope corrections change."""
    changes = (change for sheet in sheets for change in sheet.correction.changes)
    return frozenset(element for change in changes for element in change.element_ids)


def _drawings(
    review: Review, items: Sequence[Item], changed: frozenset[str]
) -> tuple[list[Drawing], list[str]]:
    """The riser drawings, and the titles of those left out because a page holds only so much."""
    drawings, undrawn, room = [], [], LINES_DRAWN
    for number, riser in enumerate(one_view(review.risers), 1):
        fits = len(riser.lines) + len(riser.marks) <= room
        sheets = draw(riser, items, f"riser-{number}", changed) if fits else []
        if sheets:
            drawings += sheets
            room -= len(riser.lines) + len(riser.marks)
        else:
            undrawn.append(riser.title)
    return drawings, undrawn


def _marks(drawings: Iterable[Drawing | PlanDrawing]) -> dict[int, list[tuple[str, str]]]:
    """For each finding's number, the anchors of its marks and the drawings they are on."""
    marks: dict[int, list[tuple[str, str]]] = {}
    for drawing in drawings:
        for flag in drawing.flags:
            marks.setdefault(flag.item.number, []).append((flag.anchor, drawing.title))
    return marks


def _by_element(items: Iterable[Item]) -> dict[str, list[Item]]:
    found: dict[str, list[Item]] = {}
    for item in items:
        for element in item.finding.element_ids:
            found.setdefault(element, []).append(item)
    return found


def _shown(schedule: Schedule) -> Schedule:
    """The schedule without the columns in which no row says anything."""
    said = [c for c in schedule.columns if any(row.get(c.key) != "" for row in schedule.rows)]
    return replace(schedule, columns=tuple(said)) if schedule.rows else schedule


def _is_long(schedule: Schedule) -> bool:
    """What is not counted; the schedule of fixtures comes first."""
    return COUNT not in schedule.columns


def _found_of(by_element: dict[str, list[Item]], row: dict[str, object]) -> list[Item]:
    """The first finding of each number about what a row of a schedule stands for."""
    return one_a_number(i for id_ in element_ids(row) for i in by_element.get(id_, ()))


def _pieces_of(
    elements: dict[str, ReviewedElement], correction: Correction
) -> list[tuple[ReviewedElement, str]]:
    """What becomes of each piece of a correction of several, with the piece."""
    made = []
    for change in correction.changes:
        if isinstance(change.value, float):
            to = trade_size(change.value) if change.what == "size" else slope_text(change.value)
            made += [(elements[e], to) for e in change.element_ids if e in elements]
    return made if len(made) > 1 else []


def _packs(coverage: Iterable[Coverage]) -> dict[str, list[Coverage]]:
    packs: dict[str, list[Coverage]] = {}
    for rule in sorted(coverage, key=lambda c: (c.pack, c.rule)):
        packs.setdefault(rule.pack, []).append(rule)
    return packs


def _flat(facts: object, key: str = "") -> Iterator[tuple[str, str]]:
    """A nested job file as dotted keys and values in words."""
    if isinstance(facts, dict):
        for name, value in facts.items():
            yield from _flat(value, f"{key}.{name}" if key else str(name))
    elif isinstance(facts, list) and any(isinstance(fact, dict) for fact in facts):
        for number, value in enumerate(facts, 1):
            yield from _flat(value, f"{key}.{number}")
    else:
        fact = jsonable(facts)
        yield key, fact if isinstance(fact, str) else json.dumps(fact, ensure_ascii=False)


def _environment(places: PlacesInWords) -> Environment:
    environment = pages.environment(TEMPLATES, _finalize)
    environment.globals |= {
        "VERDICTS": VERDICTS,
        "OUTCOMES": OUTCOMES,
        "SEVERITIES": SEVERITIES,
        "SERVICES": SERVICES,
        "SYMBOLS": SYMBOLS,
        "PIECES": PIECES,
        "ROWS": ROWS,
        "NOTES": NOTES,
        "found_and_required": found_and_required,
        "kind_of": kind_of,
        "measure_text": measure_text,
        "by_storey": by_storey,
        "cells": cells,
        "stands": places.text,
        "raised": raised,
    }
    environment.filters |= {
        "name": lambda text: plain(text, NAME_LIMIT),
        "coordinates": _coordinates,
        "count": lambda number: f"{number:,}",
        "percent": lambda share: f"{number_text(share * 100, 3)} %",
    }
    return environment


def _finalize(value: object) -> object:
    """Whatever a template writes: text from the model is cleaned, our own markup left alone."""
    return plain(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _coordinates(place: Location) -> str:
    """ "x 3.2 m (10 ft 6 in), y ..." to a centimetre and an inch; empty where nothing is known."""
    axes = (("x", place.x), ("y", place.y), ("z", place.z))
    known = [(axis, value) for axis, value in axes if value is not None and math.isfinite(value)]
    return ", ".join(f"{a} {v:.2f} m ({feet_text(v / M_PER_FT, 1.0)})" for a, v in known)
