"""Our tests see the packs and codes of this distribution alone: what else is installed has tests of
its own, and breaks none of ours."""

from __future__ import annotations

from importlib.metadata import EntryPoint, entry_points

from ifclint import packs
from ifclint.codes import folders


def _ours(*, group: str) -> list[EntryPoint]:
    return [entry for entry in entry_points(group=group) if entry.module.startswith("ifclint.")]


def see_ours_alone() -> None:
    packs.entry_points = _ours  # type: ignore[attr-defined]
    folders.entry_points = _ours  # type: ignore[attr-defined]


def pytest_configure() -> None:
    see_ours_alone()
