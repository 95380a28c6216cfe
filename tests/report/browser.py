"""A browser without a window, for the tests of the page; skipped with a reason where none is."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


def executable() -> str:
    """Where the browser is: IFCLINT_BROWSER, else one on the path."""
    found = [os.environ.get("IFCLINT_BROWSER"), *map(shutil.which, NAMES)]
    path = next(filter(None, found), None)
    if path is None:
        pytest.skip(f"no browser is found (IFCLINT_BROWSER, or {', '.join(NAMES)} on the path)")
    return path


@contextmanager
def browser() -> Iterator[Any]:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = executable()
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path)
        yield started
        started.close()


def axe() -> str:
    """The script of axe-core."""
    shipped = pytest.importorskip("axe_playwright_python", reason="axe-core is not installed")
    return Path(shipped.__file__).with_name("axe.min.js").read_text(encoding="utf-8")
