"""Several doubts about one element: each a finding of its own, with its remedy."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.as_findings import finding_id
from ifclint.findings import Outcome
from ifclint.ifc.elements import Note
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.rules.readiness.facts import told_without_doubt
from ifclint.testing import read_network

SYSTEM = Note("P1 is in two systems.", "Leave it in one.")
SIZE = Note("P1 has two sizes.", "Make them one.", topic="size")
SHAPE = Note("P1 is drawn twice.", "Delete one.")
CLASS = Note("P1 is named a valve.", "Name it a pipe.")


def said_of(pipe: str, *notes: Note) -> list[tuple[Outcome, str, str, str]]:
    """(outcome, message, remedy, id of the finding) of each answer."""
    network = read_network(pipe)
    network.model.notes += [Note(n.what, n.remedy, "P1", n.topic) for n in notes]
    context = Context(codes.load("ipc-2021"), build(network), Job())
    ((piece, given),) = answers(told_without_doubt, context, finders())
    ids = [finding_id(told_without_doubt, piece, answer.about) for answer in given]
    return [(a.outcome, a.message, a.remedy, i) for a, i in zip(given, ids, strict=True)]


@pytest.mark.parametrize("count", [1, 2, 4])
def test_each_doubt_is_a_finding_with_its_remedy(count: int) -> None:
    notes = (SYSTEM, SIZE, SHAPE, CLASS)[:count]
    said = said_of("pipe 2 P1  0 0 0 > 10 0 0", *notes)
    assert [s[:3] for s in said] == [(Outcome.ADVISORY, n.what, n.remedy) for n in notes]
    assert len({s[3] for s in said}) == count


def test_the_same_doubt_is_told_once() -> None:
    assert len(said_of("pipe 2 P1  0 0 0 > 10 0 0", SHAPE, SHAPE)) == 1


def test_why_a_size_is_not_known_is_left_to_the_rule_about_sizes() -> None:
    ((outcome, *_),) = said_of("pipe P1  0 0 0 > 10 0 0", SIZE)
    assert outcome is Outcome.PASS
