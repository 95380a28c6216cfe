"""Several doubts about one element: told in order, each with its remedy."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.findings import Answer
from ifclint.ifc.elements import Note
from ifclint.job import Job
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.rules.readiness.facts import told_without_doubt
from ifclint.testing import read_network

SYSTEM = Note("P1 is in two systems.", "Leave it in one.")
SIZE = Note("P1 has two sizes.", "Make them one.")
SHAPE = Note("P1 is drawn twice.", "Delete one.")
CLASS = Note("P1 is named a valve.", "Name it a pipe.")


def _answer(*notes: Note) -> Answer:
    network = read_network("pipe 2 P1  0 0 0 > 10 0 0")
    (pipe,) = network.elements
    network.model.notes += [Note(n.what, n.remedy, pipe.guid) for n in notes]
    plumbing = build(network)
    (piece,) = plumbing.pieces
    answer = told_without_doubt.judge(piece, Context(codes.load("ipc-2021"), plumbing, Job()))
    assert isinstance(answer, Answer)
    return answer


@pytest.mark.parametrize(
    ("notes", "message", "remedy"),
    [
        ((SYSTEM,), "P1 is in two systems.", "Leave it in one."),
        (
            (SYSTEM, SIZE),
            "(1) P1 is in two systems. (2) P1 has two sizes.",
            "(1) Leave it in one. (2) Make them one.",
        ),
        (
            (SYSTEM, SIZE, SHAPE, CLASS),
            "(1) P1 is in two systems. (2) P1 has two sizes. (3) P1 is drawn twice. "
            "1 more: see the notes on how the model was read.",
            "(1) Leave it in one. (2) Make them one. (3) Delete one.",
        ),
    ],
)
def test_each_doubt_has_its_remedy(notes: tuple[Note, ...], message: str, remedy: str) -> None:
    answer = _answer(*notes)
    assert (answer.message, answer.remedy) == (message, remedy)


def test_one_remedy_for_several_doubts_is_told_once() -> None:
    alike = Note("P1 has no material.", SYSTEM.remedy)
    assert _answer(SYSTEM, alike).remedy == "Leave it in one."
