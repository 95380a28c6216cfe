"""The page as a browser shows it: for everybody, on a phone, on paper."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ifclint.batch.portfolio import Portfolio, PortfolioRow, write
from ifclint.comparison import Compared, Comparison, State
from ifclint.comparison.writing import as_html
from ifclint.fieldsheet import crew_section
from ifclint.report.html import html_bytes
from ifclint.report.lettering import text_width
from tests.report.browser import axe, browser, executable
from tests.reviewing import reviewed_demo

MODELS = Path(__file__).parents[2] / "models"
DEMOS = {
    "dwelling": ["dwelling_early"],
    "restaurant": ["restaurant_early", "restaurant_architecture"],
}
WIDE, PHONE = {"width": 1280, "height": 900}, {"width": 360, "height": 780}
LETTER_LIST = 8  # pages of the corrections and the sheets of the storeys together


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    with browser() as started:
        yield started


@pytest.fixture(scope="module", params=DEMOS)
def report(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp(request.param) / "report.html"
    path.write_bytes(html_bytes(*crew_section(*reviewed_demo(*DEMOS[request.param]))))
    return path.as_uri()


@pytest.mark.parametrize(
    ("report", "scheme", "medium"),
    [  # folded parts shown in print take twice as long
        ("dwelling", "light", "screen"), ("restaurant", "dark", "screen"),
        ("restaurant", "light", "print"),
    ],
    indirect=["report"],
)  # fmt: skip
def test_axe_finds_no_violation(chromium: Any, report: str, scheme: str, medium: str) -> None:
    page = chromium.new_page(color_scheme=scheme, viewport=WIDE)
    page.emulate_media(media=medium)
    page.goto(report)
    if medium == "print":  # where all that is folded is shown
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    page.evaluate(axe())
    found = page.evaluate("axe.run({ resultTypes: ['violations'] })")["violations"]
    page.close()
    said = [f"{v['id']}: {v['nodes'][0]['html'][:200]} ({len(v['nodes'])})" for v in found]
    assert said == []


def test_a_phone_shows_the_page_without_scrolling_sideways(chromium: Any, report: str) -> None:
    page = chromium.new_page(viewport=PHONE)
    page.goto(report)
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = false)")
    wide = page.evaluate(
        "[...document.querySelectorAll('figure .scroll')]"
        ".filter(e => e.scrollWidth > e.clientWidth + 1).length"
    )
    page.close()
    assert wide == 0


def test_nothing_scrolls_sideways_on_a_screen(chromium: Any, report: str) -> None:
    page = chromium.new_page(viewport=WIDE)
    page.goto(report)
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    wide = page.evaluate(
        "[...document.querySelectorAll('.scroll')]"
        ".filter(e => e.scrollWidth > e.clientWidth + 1)"
        ".map(e => e.getAttribute('aria-label') ?? e.getAttribute('aria-labelledby'))"
    )
    page.close()
    assert wide == []


def test_the_list_and_the_sheets_of_the_storeys_fit_eight_letter_pages(
    chromium: Any, report: str
) -> None:
    page = chromium.new_page(viewport=WIDE)
    page.goto(report)
    page.evaluate(
        "document.querySelectorAll('main > *:not(#corrections, #storeys), footer')"
        ".forEach(e => e.remove())"
    )
    pdf = page.pdf(prefer_css_page_size=True, format="Letter")
    page.close()
    assert 1 < pdf.count(b"/Type /Page\n") + pdf.count(b"/Type/Page\n") <= LETTER_LIST


def test_the_list_and_the_sheets_are_printed_large_enough_to_read(
    chromium: Any, report: str
) -> None:
    """In px, of which a sheet of Letter holds 703 between its margins: 10 px are 7.5 points."""
    page = chromium.new_page(viewport={"width": 703, "height": 900})
    page.emulate_media(media="print")
    page.goto(report)
    sizes = page.evaluate(
        "[...document.querySelectorAll('.list td, .list th, .ticks td, .ticks th, .ticks .faint')]"
        ".map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    scales = page.evaluate(
        "[...document.querySelectorAll('.plan .scroll svg')].map(e => e.getScreenCTM().a)"
    )
    page.close()
    assert min(sizes) >= 10
    assert min(scales) >= 0.45


def test_lettering_of_drawings_is_no_wider_than_the_room_it_is_given(
    chromium: Any, report: str
) -> None:
    page = chromium.new_page(viewport=WIDE)
    page.goto(report)
    drawn = page.evaluate(
        "[...document.querySelectorAll('text.label, text.level')].map(text => "
        "[text.firstChild.data, text.getSubStringLength(0, text.firstChild.data.length)])"
    )
    page.close()
    assert len(drawn) > 100
    assert [text for text, width in drawn if width > text_width(text) + 4] == []


def test_the_worst_five_stand_within_two_screens_of_a_phone_with_room_and_clause(
    chromium: Any, report: str
) -> None:
    page = chromium.new_page(viewport=PHONE)
    page.goto(report)
    rows = page.locator("#corrections tbody tr:not(.rank)")
    first, fifth = rows.nth(0).bounding_box(), rows.nth(4).bounding_box()
    assert first["y"] + first["height"] < PHONE["height"]
    assert fifth["y"] + fifth["height"] < 2 * PHONE["height"]
    said = [rows.nth(n).inner_text() for n in range(5)]
    page.close()
    for text in said:
        assert re.search(r"(UPC|IPC|IRC) \d{4} ", text)
        assert re.search("Level|Foundation|Kitchen|room", text)


def _started(chromium: Any, *arguments: str) -> Any:
    return chromium.browser_type.launch(executable_path=executable(), args=arguments)


def test_the_viewer_is_worked_by_keys(chromium: Any, report: str) -> None:
    started = _started(chromium, "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
    page = started.new_page(viewport=WIDE)
    page.goto(report)
    if page.locator("#space").is_hidden():
        started.close()
        pytest.skip("this browser has no WebGL 2")
    button = page.locator("button.in-space:visible").first
    number = button.get_attribute("value")
    button.focus()
    page.keyboard.press("Enter")
    output, canvas = page.locator("#space output"), page.locator("#space canvas")
    assert output.inner_text() == f"Correction {number} is marked."
    assert canvas.evaluate("canvas => canvas === document.activeElement")
    seen = [canvas.screenshot()]
    for key in ("ArrowLeft", "ArrowUp", "+", "Home"):
        page.keyboard.press(key)
        page.wait_for_timeout(100)
        seen.append(canvas.screenshot())
    assert all(one != other for one, other in itertools.pairwise(seen))
    assert output.inner_text() == ""
    started.close()


def test_without_webgl_the_plans_stand_alone(chromium: Any, report: str) -> None:
    started = _started(chromium, "--disable-3d-apis")
    page = started.new_page(viewport=WIDE)
    page.goto(report)
    assert page.locator("#space").is_hidden()
    assert page.locator("button.in-space:visible").count() == 0
    assert page.locator("figure.plan").first.is_visible()
    started.close()


def test_what_a_filter_hides_is_stated_on_the_print_with_its_numbers(
    chromium: Any, report: str
) -> None:
    page = chromium.new_page(viewport=WIDE)
    page.goto(report)
    note = page.locator("#narrowed")
    page.emulate_media(media="print")
    assert not note.is_visible()
    page.emulate_media(media="screen")
    page.select_option("#filter select", "high")
    page.emulate_media(media="print")
    assert note.is_visible()
    said = note.inner_text()
    hidden = page.locator(".card[hidden] .number, .row[hidden] .number")
    assert hidden.count() > 0
    assert "high" in said
    assert "Left out: " in said
    left = [
        n for part in said.partition("Left out: ")[2].rstrip(". ").split(", ") for n in _run(part)
    ]
    own = {int(t.split()[-1]) for t in hidden.all_text_contents()}
    assert set(left) == own
    shown = page.locator(".steps:not([hidden])").count()
    assert 0 < shown < page.locator(".steps").count()
    page.close()


def _run(text: str) -> range:
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def test_without_a_filter_the_whole_review_is_shown_again(chromium: Any, report: str) -> None:
    page = chromium.new_page(viewport=WIDE)
    page.goto(report)
    page.fill("#filter input", "no such word anywhere")
    assert page.locator(".card:not([hidden]), .row:not([hidden])").count() == 0
    page.fill("#filter input", "")
    assert page.locator(".card[hidden], .row[hidden], .steps[hidden]").count() == 0
    page.close()


BROKEN_WORDS = """() => {
  const broken = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; node = walk.nextNode();)
    for (const word of node.data.matchAll(/[^\\s\\/-]+/g)) {
      const range = document.createRange();
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const lines = new Set([...range.getClientRects()].map(r => Math.round(r.top)));
      if (lines.size > 1) broken.push(word[0]);
    }
  return broken;
}"""


@pytest.mark.parametrize("width", [360, 1000])
def test_no_word_of_a_portfolio_or_a_comparison_is_cut(
    chromium: Any, tmp_path: Path, width: int
) -> None:
    names = ("Clinic", "Laundry", "Restaurant_early")
    reason = "These were not judged: the drain and trap and vent of 5 of 14 fixtures. " * 3
    rows = [PortfolioRow(n, "not-reviewable", reason, 31, 3, 0, 21, 0, n) for n in names]
    made = Portfolio(tuple(rows), (("trap-vented", 8, 2),), (("Building story 1", 8),))
    portfolio = write(made, tmp_path)[1]
    title = "Carry the vent through the roof, or join it to a vent that goes there."
    told = Compared(State.CORRECTED, title, "Laundry, Level 1", "high", reason)
    compared = tmp_path / "comparison.html"
    compared.write_text(as_html(Comparison("a", "b", (told,), (told,), ())), encoding="utf-8")
    page = chromium.new_page(viewport={"width": width, "height": 900})
    for path in (portfolio, compared):
        page.goto(path.as_uri())
        assert page.evaluate(BROKEN_WORDS) == []
        assert page.evaluate("document.documentElement.scrollWidth") == width
    page.close()
