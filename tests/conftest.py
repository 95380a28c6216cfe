"""Our tests see the packs and codes of this distribution alone: what else is installed has tests of
its own, and breaks none of ours."""

from __future__ import annotations

import gc
import os
import sys
from importlib.metadata import EntryPoint, entry_points

from hypothesis import settings

from ifclint import packs
from ifclint.codes import folders


def _ours(*, group: str) -> list[EntryPoint]:
    return [entry for entry in entry_points(group=group) if entry.module.startswith("ifclint.")]


def see_ours_alone() -> None:
    packs.entry_points = _ours  # type: ignore[attr-defined]
    folders.entry_points = _ours  # type: ignore[attr-defined]


def keep_what_is_compiled() -> None:
    """Tests start the command often: what is compiled for one of them is there for the next."""
    sys.dont_write_bytecode = False
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_configure() -> None:
    keep_what_is_compiled()
    see_ours_alone()
    settings.register_profile("busy", settings(), deadline=None)  # a busy machine is no fault
    settings.load_profile("busy")


def pytest_collection_finish() -> None:
    """Thousands of tests live to the end: no collection of garbage is to look through them."""
    gc.collect()
    gc.freeze()
