"""Size of the page, what the reports add to a review, and how soon a browser shows and filters.

    python tests/bench/report_speed.py [--segments 20000] [--findings 2000]

The model is generated; where no browser or playwright is, that part is left out and said so.
Seconds of the reports are those of the processor, those of the browser are real time.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path
from time import perf_counter, process_time

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))
FILTERED = """() => {
  const began = performance.now();
  const field = document.querySelector('#filter input');
  field.value = 'drain 3';
  field.dispatchEvent(new Event('input', { bubbles: true }));
  document.body.offsetHeight;
  return performance.now() - began;
}"""


def reviewed(segments: int, folder: Path) -> Path:
    """Review a generated model, print what each part took, and return the page."""
    from ifclint.fieldsheet import crew_section
    from ifclint.packs import load_packs
    from ifclint.report import write_reports
    from ifclint.review import review_with_context
    from models.grid import write_grid

    model = folder / "grid.ifc"
    write_grid(model, segments=segments)
    start = process_time()
    review, context = review_with_context([model], code="ipc-2021")
    review_s = process_time() - start
    start = process_time()
    review, for_crew = crew_section(review, context)
    crew_s = process_time() - start
    start = process_time()
    write_reports(review, folder, load_packs(), for_crew=for_crew)
    reports_s = process_time() - start
    page = folder / "report.html"
    megabytes = page.stat().st_size / 1e6
    added = (crew_s + reports_s) / review_s
    print(f"{segments} segments, {len(review.findings)} findings, page of {megabytes:.2f} MB")
    print(f"  review {review_s:.2f} s, field sheet {crew_s:.2f} s, reports {reports_s:.2f} s")
    print(f"  reports and field sheet add {added:.0%}")
    return page


def shown(page: Path) -> None:
    """Print how long a browser takes to open the page and to filter it."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        print("  not opened: playwright is not installed")
        return
    from tests.report.browser import executable

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=executable())
        tab = browser.new_page(viewport={"width": 1280, "height": 900})
        start = perf_counter()
        tab.goto(page.as_uri())
        opened_s = perf_counter() - start
        findings = tab.locator(".card, .row").count()
        filtered = [tab.evaluate(FILTERED) for _ in range(3)]
        browser.close()
    print(f"  {findings} findings shown: opened in {opened_s:.2f} s, filtered in", end=" ")
    print(f"{min(filtered):.0f} to {max(filtered):.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--segments", type=int, default=20_000)
    parser.add_argument("--findings", type=int, default=2_000)
    given = parser.parse_args()
    from ifclint.report.html import html_bytes
    from tests.report import samples

    with tempfile.TemporaryDirectory() as folder:
        shown(reviewed(given.segments, Path(folder)))
        many = Path(folder) / "many.html"
        many.write_bytes(html_bytes(samples.many(given.findings)))
        print(f"{given.findings} findings made up, page of {many.stat().st_size / 1e6:.2f} MB")
        shown(many)


if __name__ == "__main__":
    main()
