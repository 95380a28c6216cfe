"""The pipe in three dimensions: the data of the viewer, and the viewer in a browser."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from ifclint.findings import Review
from ifclint.report.arrange import entries, numbered
from ifclint.report.html import TEMPLATES, render
from ifclint.report.space import MOST_PIPES, pipes_json
from tests.report import samples

NAMES = ("chromium", "chromium-browser", "google-chrome")
BROWSER = next(filter(None, map(shutil.which, NAMES)), None)


def data(review: Review) -> dict[str, list]:
    made = pipes_json(review.plans, entries(review, numbered(review)))
    assert made is not None
    return json.loads(made)  # type: ignore[no-any-return]


def test_each_pipe_has_two_ends_a_radius_and_a_colour() -> None:
    made = data(samples.full())
    assert len(made["pipes"]) == 7 * 3
    assert made["pipes"][:6] == [5.2, 3.4, 2.8, 8.0, 3.4, 2.7]
    assert made["pipes"][6] == pytest.approx(0.0254)  # 2 in pipe
    assert [made["services"][n] for n in made["service"]] == ["--drain", "--drain", "--vent"]


def test_a_correction_knows_its_pipes() -> None:
    assert data(samples.full())["corrections"] == {"1": [0]}


def test_without_pipe_or_with_too_much_there_is_none() -> None:
    review = samples.full()
    (plan,) = review.plans
    assert pipes_json([], ()) is None
    assert pipes_json([replace(plan, pipes=plan.pipes[:1] * (MOST_PIPES + 1))], ()) is None
    far = replace(plan.pipes[0], a=(float("nan"), 0.0, 0.0))
    assert pipes_json([replace(plan, pipes=(far,))], ()) is None


def test_names_cannot_end_the_element_they_stand_in() -> None:
    (plan,) = samples.full().plans
    hostile = replace(plan.pipes[0], service="</script><script>alert(1)</script>")
    made = pipes_json([replace(plan, pipes=(hostile,))], ())
    assert made is not None
    assert "<" not in made


def test_the_viewer_is_small() -> None:
    assert len((TEMPLATES / "viewer.js").read_bytes()) < 9_000


@pytest.mark.skipif(BROWSER is None, reason="no browser is installed")
def test_the_viewer_runs_in_a_browser_and_shows_itself(tmp_path: Path) -> None:
    page = tmp_path / "report.html"
    page.write_text(render(samples.full()), encoding="utf-8")
    done = subprocess.run(
        [
            str(BROWSER), "--headless", "--no-sandbox", "--use-angle=swiftshader",
            "--enable-unsafe-swiftshader", "--virtual-time-budget=3000", "--dump-dom",
            page.as_uri(),
        ],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    section = re.search(r'<section id="space"[^>]*>', done.stdout)
    assert section is not None
    if "hidden" in section[0]:
        pytest.skip("this browser has no WebGL 2")
    shown = re.findall(r'<button class="in-space"[^>]*value="(\d+)"[^>]*>', done.stdout)
    hidden = re.findall(r'<button class="in-space"[^>]*value="(\d+)" hidden', done.stdout)
    assert [n for n in shown if n not in hidden] == ["1"]
