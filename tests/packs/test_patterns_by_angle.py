"""An angle does not tell the pattern of a drainage fitting, so neither verdict rests on it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from ifclint import codes
from ifclint.findings import Outcome
from ifclint.ifc.elements import Basis, Confidence
from ifclint.job import Job
from ifclint.judge import answers, judge
from ifclint.packs import Context, hookimpl, make_pack
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


def outcome(text: str, kind: str, basis: Basis, code: str) -> Outcome:
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
    ("text", "pattern", "shape"),
    [(FLAT, "sanitary-tee", "tee"), (BENT, "quarter-bend", "quarter-bend")],
)
@pytest.mark.parametrize("basis", ["angle of its ends", "shape told by words of the name"])
def test_told_by_shape_alone_it_is_unverified(text, pattern, shape, basis, code):
    named = outcome(text, pattern, Basis("words of the name", Confidence.WORDS), code)
    assert named in (Outcome.VIOLATION, Outcome.ADVISORY)
    assert outcome(text, shape, Basis(basis, Confidence.SHAPE), code) is Outcome.UNVERIFIED


@pytest.mark.parametrize("text", [FLAT, STANDING])
@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_tee_is_no_pattern_however_it_is_told(text, code):
    assert (
        outcome(text, "tee", Basis("words of the name", Confidence.WORDS), code)
        is Outcome.UNVERIFIED
    )


def test_fittings_without_a_pattern_are_told_once():
    """Two tees lying flat, one after the other: one finding that lists both."""
    text = """
bathtub U  0 3 0.0625
pipe 2 A  0 3 0.0625 > 0 0.2 0.004
lavatory L  -3 0 0.0625
pipe 2 ARM  -3 0 0.0625 > -0.2 0 0.004
tee 2 F  -0.2 0 0.004 > 0 0.2 0.004 > 0.2 0 -0.004
pipe 2 B  0.2 0 -0.004 > 9.8 0 -0.2
bathtub V  10 3 0
pipe 2 C  10 3 0 > 10 0.2 -0.18
tee 2 G  9.8 0 -0.2 > 10 0.2 -0.18 > 10.2 0 -0.22
pipe 2 D  10.2 0 -0.22 > 20 0 -0.5
sewer-connection S  20 0 -0.5
"""
    context = Context(codes.load("upc-2021"), build(read_network(text)), Job())
    hooks = {
        "ifclint_rules": hookimpl(lambda: (fitting_for_direction,)),
        "ifclint_subjects": hookimpl(lambda: finders()),
    }
    found = judge([make_pack("trial", SimpleNamespace(**hooks))], context).findings
    told = [f for f in found if f.outcome is Outcome.UNVERIFIED]
    assert len(told) == 1
    assert set(told[0].element_ids) == {"F", "G"}
    assert "does not tell the pattern" in told[0].message


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_wye_is_one_by_its_angle(code):
    assert outcome(FLAT, "wye", Basis("angle of its ends", Confidence.SHAPE), code) is Outcome.PASS
