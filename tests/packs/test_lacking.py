"""Whatever a model lacks, no rule breaks: the buildings of all cases, each with something taken
away, and every rule of their pack asked about them. Every subject tells its names and its place."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from itertools import count

import pytest

from ifclint.errors import InputError
from ifclint.judge import answers
from ifclint.packs import Subject
from ifclint.plumbing.subjects import finders
from ifclint.testing import Case, context_of
from tests.packs.test_rule_cases import CASES, OURS, PACKS, job_in

NUMBER = re.compile(r"-?\d*\.?\d+")
BUILDING = (
    "wall", "slab", "roof", "window", "door", "stud", "joist", "terrain", "room", "storey",
)  # fmt: skip
Lines = list[list[str]]


def _gone(line: list[str]) -> list[str]:
    return []


def _without_size(line: list[str]) -> list[str]:
    sized = len(line) > 2 and line[0] not in BUILDING and NUMBER.fullmatch(line[1])
    return [line[0], *line[2:]] if sized else line


def _unplaced(line: list[str]) -> list[str]:
    if line[0] in BUILDING or "=" in line[0]:
        return line
    at = 3 if NUMBER.fullmatch(line[1]) else 2
    return [*line[:at], "unplaced=yes", *line[at:]]


def _without_facts(line: list[str]) -> list[str]:
    kept = ("at=", "system=")
    return line if "=" in line[0] else [w for w in line if "=" not in w or w.startswith(kept)]


def _without_shape(line: list[str]) -> list[str]:
    return [word for word in line if not word.startswith(("at=", "box="))]


def _without_service(line: list[str]) -> list[str]:
    return ["system=none" if word.startswith("system=") else word for word in line]


def _without_building(line: list[str]) -> list[str]:
    return [] if line[0] in BUILDING else line


ONE = (_gone, _unplaced, _without_size, _without_service)
ALL = (
    _without_size, _without_building, _without_facts, _unplaced, _without_shape, _without_service,
)  # fmt: skip


def lacking(lines: Lines, number: int) -> Lines:
    """Something taken away: from one line or from all, by turns."""
    turn = number % (2 * len(ALL))
    if turn % 2:
        return [ALL[turn // 2](line) for line in lines]
    take: Callable[[list[str]], list[str]] = ONE[number // 2 % len(ONE)]
    at = number * 7 % len(lines)
    return [take(line) if n == at else line for n, line in enumerate(lines)]


def buildings(pack: str) -> Iterator[Case]:
    """The cases of a pack, each building once under each code and job file."""
    seen = set()
    for name, case in CASES:
        key = case.network, case.code, repr(case.stated.get("job"))
        if name == pack and case.stated.get("near") != [] and key not in seen:
            seen.add(key)
            yield case


def _names(subject: Subject) -> tuple[object, ...]:
    return subject.key, subject.label, subject.system, subject.element_ids


@pytest.mark.parametrize("pack", OURS)
def test_what_a_model_lacks_breaks_no_rule(pack: str) -> None:
    mine, number, broken = PACKS[pack], count(), []
    subjects = {**finders(), **(mine.subjects or {})}
    for case in buildings(pack):
        given = (line.partition("#")[0].split() for line in case.network.splitlines())
        lines = [line for line in given if line]
        text = "\n".join(" ".join(line) for line in lacking(lines, next(number)))
        try:
            context = context_of(text, case.code, job_in(pack, case), tables=mine.tables)
        except InputError:  # the job file names what was taken away; so below
            continue
        for rule in mine.rules:
            try:
                with suppress(InputError):
                    for subject, said in answers(rule, context, subjects):
                        assert all((subject.location, *_names(subject)))
                        list(said)
            except Exception as error:
                broken.append(f"{rule.name}: {error!r} of {case} as\n{text}")
    assert not broken, "\n".join(broken[:5])
