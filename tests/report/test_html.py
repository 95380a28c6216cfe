"""report.html: whole in itself, safe with hostile names, linked, and set out to be acted on."""

from __future__ import annotations

import base64
import hashlib
import itertools
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import pytest

from ifclint.findings import Change, Column, Outcome, Review, ReviewedElement, Schedule
from ifclint.ifc.elements import Location
from ifclint.report.drawing import SERVICES
from ifclint.report.html import CARDS, TEMPLATES, html_bytes, render
from tests.report import samples
from tests.report.page import Node, Page

SAMPLES = [samples.empty, samples.passing, samples.full, samples.hostile]


def page(review: Review) -> Node:
    return Page(render(review)).root


@pytest.mark.parametrize("sample", SAMPLES)
def test_every_link_stays_in_the_page_and_finds_its_target(sample: Callable[[], Review]) -> None:
    root = page(sample())
    ids = Counter(node.attributes["id"] for node in root.all() if "id" in node.attributes)
    assert [anchor for anchor, count in ids.items() if count > 1] == []
    links = [node.attributes["href"] for node in root.all() if "href" in node.attributes]
    assert links
    assert [link for link in links if link[:1] != "#" or link[1:] not in ids] == []
    labels = [
        name for node in root.all() for name in node.attributes.get("aria-labelledby", "").split()
    ]
    assert [name for name in labels if name not in ids] == []


@pytest.mark.parametrize("sample", SAMPLES)
def test_nothing_is_fetched_and_only_its_own_code_may_run(sample: Callable[[], Review]) -> None:
    source = render(sample())
    root = Page(source).root
    assert not re.search(r"https?:|//[a-z]|url\(|@import", source)
    fetching = {"src", "srcset", "action", "data", "style", "formaction", "background"}
    loose = [
        (node.tag, name)
        for node in root.all()
        for name in node.attributes
        if name in fetching or name.startswith("on")
    ]
    assert loose == []
    count = Counter(n.tag for n in root.all() if n.tag in ("script", "style", "img", "iframe"))
    assert (count["style"], count["img"], count["iframe"]) == (1, 0, 0)
    run = re.findall(r"<script>(.*?)</script>", source, re.S)
    kept = [n for n in root.all("script") if n.attributes.get("type") == "application/json"]
    assert len(run) + len(kept) == count["script"]
    policy = root.all("meta", **{"http-equiv": "Content-Security-Policy"})[0].attributes["content"]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert "unsafe" not in policy
    for script in run:
        digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy


@pytest.mark.parametrize("sample", SAMPLES)
def test_headings_go_down_one_level_at_a_time(sample: Callable[[], Review]) -> None:
    levels = [int(n.tag[1]) for n in page(sample()).all() if re.fullmatch("h[1-6]", n.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert [(a, b) for a, b in itertools.pairwise(levels) if b > a + 1] == []


@pytest.mark.parametrize("sample", SAMPLES)
def test_landmarks_and_tables_are_told_to_a_screen_reader(sample: Callable[[], Review]) -> None:
    root = page(sample())
    assert [len(root.all(tag)) for tag in ("header", "nav", "main", "footer")] == [1, 1, 1, 1]
    assert root.all("html")[0].attributes["lang"] == "en"
    assert root.all("a")[0].attributes["href"] == "#main"
    for table in root.all("table"):
        assert all(
            cell.attributes.get("scope") == "col" for cell in table.all("thead")[0].all("th")
        )
        assert len(table.all("th")) > 0
    for scroll in root.all("div", class_="scroll"):
        assert scroll.attributes["tabindex"] == "0"


def test_names_from_a_model_are_text_and_of_a_length() -> None:
    data = html_bytes(samples.hostile())
    source = data.decode("utf-8")
    assert len(source) < 200_000  # though names of a megabyte went in
    assert "&lt;script&gt;alert(1)" in source
    assert "{{ 7*7 }}" in source  # shown, not worked out
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e\u2066-\u2069]", source)
    assert "nan" not in re.sub(r"[a-z]nan|nan[a-z]", "", source.lower())


def test_a_correction_holds_what_a_person_needs_to_act() -> None:
    root = page(samples.full())
    card = root.all("article", id="correction-1")[0]
    for words in (
        "A drain is large enough for what it carries",
        "high severity",
        "Table 703.2",
        "The branch from WC-2 is 2 in; a water closet may not drain into less than 3 in.",
        "Bath 2, Upper floor: 3 ft 11 in from the west side of the room",
        "Found 2 in",
        "Required at least 3 in",
        "Lay the branch in 3 in from the closet bend to the stack.",
        "Reviewed again with this change: clears 1, raises none.",
        "rule drain-size, drainage-sizing pack",
    ):
        assert words in card.text
    assert [code.text for code in card.all("code")] == ["d-wc2", "1kTvXnbbzCWw8lcMd1dR4o"]
    assert root.all(id="finding-drain-size-1kTvXnbbzCWw8lcMd1dR4o")


def test_the_first_table_lists_every_correction_with_its_place_and_clause() -> None:
    root = page(samples.full())
    table = root.all("section", id="corrections")[0].all("table")[0]
    rows = [row.text for row in table.all("tr") if row.all("a")]
    assert len(rows) == 4
    for words in ("1", "Bath 2, Upper floor", "Lay the branch in 3 in", "Table 703.2"):
        assert words in rows[0]
    assert any("near Kitchen sink K-1" in row for row in rows)
    ranks = [row.text for row in table.all("tr", class_="rank")]
    assert ranks[0].startswith("People or the building can be harmed")


def test_each_storey_has_its_plan_and_its_corrections_to_tick() -> None:
    sheets = page(samples.full()).all("div", class_="fieldsheet")
    by_name = {sheet.all("h3")[0].text: sheet for sheet in sheets}
    assert set(by_name) == {"Crawl space", "Ground floor", "Upper floor"}
    upper = by_name["Upper floor"]
    assert len(upper.all("path", class_="run")) == 3
    assert upper.all("a", class_="flag")[0].attributes["href"] == "#correction-1"
    assert "Bath 2" in upper.all("figure")[0].text
    assert len(by_name["Ground floor"].all("span", class_="box")) == 2
    assert not by_name["Crawl space"].all("figure")  # nothing of it is drawn


def test_corrections_come_first_and_are_numbered_through() -> None:
    root = page(samples.full())
    kinds = [card.attributes["class"].split()[1] for card in root.all("article")]
    assert kinds == ["violation"] * 4 + ["advisory"]
    numbers = [card.all("a", class_="number")[0].text for card in root.all("article")]
    assert numbers == [*(f"{n} Correction" for n in range(1, 5)), "5 Finding"]


def test_calculations_are_a_section_of_their_own_and_lead_to_and_fro() -> None:
    root = page(samples.full())
    steps = root.all("section", id="calculations")[0].all("div", class_="steps")
    assert steps
    for entry in steps:
        (number, *_) = entry.all("a")
        target = number.attributes["href"].removeprefix("#")
        assert target == entry.attributes["data-of"]
        assert root.all(id=target)
        assert root.all("a", href=f"#{entry.attributes['id']}")
    assert "= 4 DFU" in steps[0].text
    headings = [h2.attributes.get("id") for h2 in root.all("h2")]
    order = ["corrections", "storeys", "sheets", "calculations", "advisories", "schedules"]
    at = [headings.index(f"{name}-title") for name in order]
    assert at == sorted(at)


def test_every_finding_shows_the_id_that_a_variance_names() -> None:
    review = samples.full()
    text = page(review).all("main")[0].text
    for finding in review.findings:
        if finding.outcome in (Outcome.VIOLATION, Outcome.ADVISORY, Outcome.UNVERIFIED):
            assert finding.id in text


def test_every_printed_page_tells_model_date_hash_and_code() -> None:
    style = page(samples.full()).all("style")[0].text
    (model,) = samples.full().models
    dated = replace(samples.full(), models=(replace(model, date="2026-02-03T04:05:06"),))
    foot = page(dated).all("style")[0].text.partition("@bottom-left")[2]
    unescaped = re.sub(r"\\([0-9a-f]{1,6}) ", lambda m: chr(int(m[1], 16)), foot)
    assert "quince_house.ifc of 2026-02-03, 9f9f9f9f9f9f" in unescaped
    assert "2021 Uniform Plumbing Code" in unescaped
    assert "counter(pages)" in style


def test_what_could_not_be_checked_is_grouped_by_its_remedy() -> None:
    section = page(samples.full()).all("section", id="unverified")[0]
    groups = section.all("div", class_="storey")
    assert [(group.all("h3")[0].text, len(group.all("tr", class_="row"))) for group in groups] == [
        ("State NominalDiameter in Pset_PipeSegmentTypeCommon.", 2),
        ("Join it to a receptor, or model the receptor.", 1),
    ]
    assert "Storey not known: position not known" in groups[1].text


def test_marks_on_the_drawing_and_cards_lead_to_each_other() -> None:
    root = page(samples.full())
    figures = root.all("figure", class_="riser")
    flags = [flag for figure in figures for flag in figure.all("a", class_="flag")]
    pairs = {flag.attributes["id"]: flag.attributes["href"].removeprefix("#") for flag in flags}
    assert len(set(pairs.values())) == 7  # all but the finding whose element is on no drawing
    for mark, target in pairs.items():
        (home,) = root.all(id=target)
        assert f"#{mark}" in [link.attributes["href"] for link in home.all("a", class_="drawn")]


def test_the_drawing_is_complete() -> None:
    review = samples.full()
    figures = page(review).all("figure", class_="riser")
    riser = review.risers[0]
    told = {line.all("title")[0].text for figure in figures for line in figure.all("polyline")}
    assert len(told) == len({(line.label, line.detail) for line in riser.lines})
    symbols = [
        node
        for figure in figures
        for node in figure.all("g", class_="symbol")
        if "transform" in node.attributes
    ]
    assert len(symbols) == len(riser.marks)
    legend = " ".join(figure.all("ul", class_="legend")[0].text for figure in figures)
    for words in ("Drain", "Vent", "Trap", "Cleanout", "Outlet", "Fixture"):
        assert words in legend


def test_schedules_lead_to_findings_and_say_what_is_not_known() -> None:
    schedules = page(samples.full()).all("section", id="schedules")[0]
    rows = {row.all("td")[0].text: row for row in schedules.all("tr") if row.all("td")}
    (drain,) = [r for name, r in rows.items() if r.all("a", href="#correction-1")]
    assert "0.00" not in drain.text
    assert "not known" in rows["Floor drain FD-1"].text
    assert "1-1/4" in rows["Lavatory L-1"].text


def test_a_schedule_is_written_as_the_trade_writes_it_without_columns_that_say_nothing() -> None:
    columns = (
        Column("tag", "Tag"), Column("fixture", "Fixture"), Column("length", "Length", "ft"),
        Column("slope", "Slope", "in/ft"), Column("trap", "Trap", "in"), Column("basis", "Basis"),
        Column("storey", "Storey"),
    )  # fmt: skip
    alike = {"fixture": "sink", "length": 12.05333, "slope": 0.250008, "trap": 1.5, "basis": ""}
    rows = (
        {**alike, "element_id": "a", "tag": "S-1", "storey": "1"},
        {**alike, "element_id": "b", "tag": "S-2", "storey": "2"},
        {**alike, "element_id": "c", "tag": "S-3", "slope": "", "length": 0.05333, "storey": "1"},
    )
    review = replace(samples.empty(), schedules=(Schedule("k", "K", columns, rows),))
    table = page(review).all("section", id="schedules")[0].all("table")[0]
    heads = [th.text for th in table.all("th")]
    assert heads == ["Tag", "Fixture", "Count", "Length", "Slope in/ft", "Trap in", "Findings"]
    cells = [[td.text for td in row.all("td")] for row in table.all("tr")[1:]]
    assert cells == [
        ["S-1, S-2", "sink", "2", "12 ft 1 in", "1/4", "1-1/2", ""],
        ["S-3", "sink", "1", "3/4 in", "–", "1-1/2", ""],
    ]


def test_a_rule_without_subject_and_a_failed_rule_are_said() -> None:
    root = page(samples.full())
    assert "Checked nothing: no sump in this model" in root.all("section", id="coverage")[0].text
    assert "division by zero" in root.all("section", id="failures")[0].text
    assert "This review is incomplete" in root.all("header")[0].text
    assert not page(samples.passing()).all(id="failures")


def test_a_pass_does_not_hide_what_could_not_be_checked() -> None:
    review = samples.full()
    unverified = tuple(f for f in review.findings if f.outcome is Outcome.UNVERIFIED)
    text = page(replace(review, findings=unverified)).all("section", id="corrections")[0].text
    assert "This says nothing of the 3 matters" in text


def test_tables_from_memory_assumptions_and_cautions_are_said() -> None:
    root = page(samples.full())
    basis = root.all("section", id="basis")[0].text
    before, _, after = basis.partition("not read from a publication")
    assert before
    assert "Table 703.2" in after
    assert "Flush volume of WC-2 is not stated" in basis
    assert "water.static_pressure 68 psi" in basis
    assert "variance.1.until 2026-05-01" in basis
    assert "authority having jurisdiction" in root.all("section", id="cautions")[0].text


def test_very_many_findings_are_cut_and_the_rest_is_pointed_to() -> None:
    source = render(samples.many(6_000))
    root = Page(source).root
    assert len(root.all("article")) == CARDS
    assert len(source) < 1_500_000
    assert f"The first {CARDS} of 2,000 are shown here" in root.text
    assert "All 2,000 advisories are in findings.json" in root.text
    assert "Would settle 2,000 questions The first 25 are shown" in " ".join(root.text.split())


def test_remedies_without_end_are_cut_too() -> None:
    review = samples.many(3_000)
    findings = tuple(
        replace(f, outcome=Outcome.UNVERIFIED, remedy=f"Fix {n}.")
        for n, f in enumerate(review.findings)
    )
    root = page(replace(review, findings=findings))
    assert len(root.all("tr", class_="row")) == CARDS
    assert "2,500 more, with other remedies, are in findings.json" in root.text


def test_a_drawing_too_large_for_a_page_is_named_instead() -> None:
    review = samples.full()
    riser = review.risers[0]
    huge = replace(riser, title="Whole campus", lines=riser.lines * 200)
    root = page(replace(review, risers=(huge, riser)))
    assert len(root.all("figure", class_="riser")) == len(
        page(review).all("figure", class_="riser")
    )
    assert "Not drawn" in root.all("section", id="risers")[0].text
    assert "Whole campus" in root.all("section", id="risers")[0].text


def test_same_review_same_page() -> None:
    assert html_bytes(samples.full()) == html_bytes(samples.full())


def test_words_can_be_read_on_every_ground_in_light_and_dark() -> None:
    """Contrast by the WCAG formula, at least 4.5 to 1."""
    css = (TEMPLATES / "report.css").read_text(encoding="utf-8")
    blocks = re.findall(r":root \{(.*?)\}", css, re.S)
    assert len(blocks) == 2
    for block in blocks:
        colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{3,6});", block))
        for ground in ("paper", "sheet", "wash"):
            for ink in ("ink", "faint", "link", "violation", "advisory", "unverified", "pass"):
                assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
        assert contrast(colours["on-mark"], colours["violation"]) >= 4.5
        for line in ("drain", "vent"):
            assert contrast(colours[line], colours["sheet"]) >= 3


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize(
    "shown",
    [
        ("drain", "vent", "stub", "cold", "hot", "hot return", "gas"),
        ("drain", "vent", "cleanout", "unreached", "stub"),
        ("cold", "hot", "hot return", "critical path"),
    ],
)
def test_services_that_are_drawn_together_are_told_apart_without_colour(
    shown: tuple[str, ...],
) -> None:
    css = (TEMPLATES / "report.css").read_text(encoding="utf-8")
    dashes = dict(re.findall(r"^\.run\.([\w.]+) \{[^}]*stroke-dasharray: ([\d. ]+);", css, re.M))
    patterns = [dashes.get(name.replace(" ", "."), "") for name in shown]
    assert set(shown) <= SERVICES.keys()
    assert len(set(patterns)) == len(shown)


def test_what_becomes_of_each_piece_of_a_correction_is_listed_with_its_place() -> None:
    review = samples.full()
    pipes = tuple(
        ReviewedElement(f"p{n}", "IfcPipeSegment", f"Main {n}", "", "", Location("", "Bath 2"))
        for n in range(3)
    )
    changes = (
        Change("size", ("p0", "p1"), 0.75, "Make them 3/4 in."),
        Change("slope", ("p2",), 1 / 48, "Give it a fall of 1/4 in/ft."),
    )
    first, *others = review.corrections
    told = replace(first, changes=changes)
    page = Page(render(replace(review, corrections=(told, *others), elements=pipes)))
    (card,) = page.root.all(id="correction-1")
    assert [item.text for item in card.all("ul", class_="pieces")[0].all("li")] == [
        "Main 0: 3/4 in Bath 2", "Main 1: 3/4 in Bath 2", "Main 2: 1/4 in/ft (2.08 %) Bath 2",
    ]  # fmt: skip
    one = replace(first, changes=changes[1:])
    page = Page(render(replace(review, corrections=(one, *others), elements=pipes)))
    assert page.root.all("ul", class_="pieces") == []
