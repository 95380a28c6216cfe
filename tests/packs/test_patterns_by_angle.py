"""An angle does not tell the pattern of a drainage fitting, so neither verdict rests on it."""

from __future__ import annotations

import pytest

from ifclint import codes
from ifclint.findings import Outcome
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.rules.drainage.fittings import fitting_for_direction
from ifclint.testing import read_network

FLAT = """
bathtub U  0 3 0.0625
pipe 2 A  0 3 0.0625 > 0 0.2 0.004
lavatory L  -3 0 0.0625
pipe 2 ARM  -3 0 0.0625 > -0.2 0 0.004
{kind} 2 F  -0.2 0 0.004 > 0 0.2 0.004 > 0.2 0 -0.004
pipe 2 B  0.2 0 -0.004 > 10 0 -0.21
sewer-connection S  10 0 -0.21
"""
STANDING = """
lavatory L  -3 0 0
pipe 1.5 ARM  -3 0 0 > 0 0 -0.0625
bathtub U  0 0 3
pipe 2 A  0 0 3 > 0 0 0.2
{kind} 2 F  0 0 0.2 > 0 0 -0.2 > 0 0 -0.0625
pipe 2 B  0 0 -0.2 > 0 0 -4
sewer-connection S  0 0 -4
"""
BENT = """
bathtub U  0 3 0.0625
lavatory L  0 3 0.0625
pipe 2 A  0 3 0.0625 > 0 0.2 0.004
{kind} 2 F  0 0.2 0.004 > 0.2 0 -0.004
pipe 2 B  0.2 0 -0.004 > 10 0 -0.21
sewer-connection S  10 0 -0.21
"""


def outcome(text: str, kind: str, basis: str, code: str) -> Outcome:
    network = read_network(text.format(kind=kind))
    fitting = next(e for e in network.elements if e.guid == "F")
    fitting.basis["kind"] = basis
    context = Context(codes.load(code), build(network), Job())
    said = {
        s.element_ids[0]: given[0]
        for s, given in answers(fitting_for_direction, context, finders())
    }
    return said["F"].outcome


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
@pytest.mark.parametrize(
    ("text", "kind"), [(FLAT, "tee"), (STANDING, "tee"), (BENT, "quarter-bend")]
)
def test_told_by_angle_alone_it_is_unverified(text, kind, code):
    named = outcome(text, kind, "words of the name", code)
    assert named in (Outcome.VIOLATION, Outcome.ADVISORY)
    assert outcome(text, kind, "angle of its ends", code) is Outcome.UNVERIFIED


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_wye_is_one_by_its_angle(code):
    assert outcome(FLAT, "wye", "angle of its ends", code) is Outcome.PASS
