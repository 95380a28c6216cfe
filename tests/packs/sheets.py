"""Schedules and riser drawings of the demos as lines, kept in tests/golden/sheets.

The report shows them to two or three digits and draws only what fits; here every figure stands.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from ifclint import codes, job, network
from ifclint.drawings import Riser
from ifclint.findings import Schedule
from ifclint.packs import Context, Pack, load_packs
from ifclint.plumbing import build
from tests.seeded.demos import DWELLING, MODELS, RESTAURANT, fresh

FOLDER = Path(__file__).parents[1] / "golden" / "sheets"
LOADED = load_packs()
SHEETS = [
    (demo, code, pack)
    for demo, code in ((DWELLING, "upc-2021"), (RESTAURANT, "ipc-2021"))
    for pack in LOADED.loaded
]


def file_of(demo: str, pack: Pack) -> Path:
    return FOLDER / f"{demo}_{pack.name}.txt"


def sheets(demo: str, code: str, pack: Pack) -> str:
    """All schedules and drawings of a pack as text, empty where it makes none."""
    context = context_of_demo(demo, code)
    lines = [line for made in pack.schedules(context) for line in of_schedule(made)]
    lines += [line for made in pack.drawings(context) for line in of_drawing(made)]
    return "".join(f"{line}\n" for line in lines)


@cache
def context_of_demo(name: str, code: str) -> Context:
    stated = tomllib.loads((MODELS / f"{name}.toml").read_text(encoding="utf-8"))
    the_job = job.job_of(stated, LOADED.sections)
    return Context(codes.load(code), build(network.connect(fresh(name))), the_job)


def of_schedule(schedule: Schedule) -> Iterator[str]:
    yield f"## {schedule.key}: {schedule.title} ({schedule.note})"
    for row in schedule.rows:
        yield " | ".join(_cell(value) for value in row.values())


def of_drawing(riser: Riser) -> Iterator[str]:
    yield f"## {riser.key}: {riser.title}"
    for line in riser.lines:
        path = " > ".join(_cell(point) for point in line.points)
        ids, size = " ".join(line.element_ids), _cell(line.size_in)
        yield f"{line.service} | {ids} | {path} | {size} | {line.label} | {line.detail}"
    for mark in riser.marks:
        yield f"{mark.kind} | {mark.element_id} | {_cell(mark.point)} | {mark.label}"


def _cell(value: object) -> str:
    if isinstance(value, tuple):
        return " ".join(_cell(part) for part in value)
    if isinstance(value, float):
        return f"{value:.5g}"
    return "?" if value is None else str(value)
