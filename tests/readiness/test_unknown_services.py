"""Pieces of unknown service are asked about by the network they are in, and none is forgotten."""

from __future__ import annotations

from ifclint import codes
from ifclint.findings import Outcome, Settles
from ifclint.job import Job
from ifclint.judge import judge
from ifclint.judged import judged
from ifclint.packs import Context, load_packs
from ifclint.plumbing import build
from ifclint.testing import read_network

TEXT = """
system=none
pipe 2 A1  0 0 0 > 5 0 0
bend 2 A2  5 0 0 > 5 0 1
pipe 2 A3  5 0 1 > 5 0 9
pipe 2 B1  0 50 0 > 5 50 0
bend 2 B2  5 50 0 > 5 50 1
pipe 2 C  0 90 0 > 5 90 0
pipe 2 D  0 120 0 > 5 120 0
pipe 2 K system=cold_water  0 150 0 > 5 150 0
"""


def test_one_question_for_each_network_and_one_for_lone_pieces() -> None:
    context = Context(codes.load("ipc-2021"), build(read_network(TEXT)), Job())
    done = judge(load_packs().loaded, context)
    asked = [f for f in done.findings if f.rule == "service-known"]
    assert {f.outcome for f in asked} == {Outcome.UNVERIFIED}
    listed = sorted(sorted(f.element_ids) for f in asked)
    assert listed == [["A1", "A2", "A3"], ["B1", "B2"], ["C", "D"]]
    assert any(f.message.endswith("So it is with 2 more.") for f in asked)
    line = next(x for x in judged(done.said, context.plumbing) if x.question is Settles.SERVICE)
    assert (line.asked, line.judged) == (6, 1)
    assert set(line.open_ids) == {"A1", "A3", "B1", "C", "D"}


def test_an_open_end_that_meets_another_service_says_so() -> None:
    text = """
    pipe 2 P  0 0 0 > 5 0 0
    pipe 2 W system=cold_water  5 0 {z} > 5 0 9
    """
    for z, meets in (("0.02", True), ("0.05", False)):
        context = Context(codes.load("ipc-2021"), build(read_network(text.format(z=z))), Job())
        found = judge(load_packs().loaded, context).findings
        said = [f.message for f in found if f.rule == "ends-are-joined" and "W" in f.element_ids]
        assert len(said) == 1
        assert ("It meets P (sanitary drainage), of another service" in said[0]) is meets
