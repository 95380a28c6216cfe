"""How high an open end lies is told over the storey of what it is of."""

from __future__ import annotations

import pytest

from ifclint.codes import load
from ifclint.job import Job
from ifclint.judge import answers
from ifclint.packs import Context
from ifclint.plumbing import build
from ifclint.plumbing.subjects import finders
from ifclint.rules.readiness.shape import ends_are_joined
from ifclint.testing import read_network

PIPE = """
storey Upper 10
storey Test 8
system=cold_water
water-meter 0.75 M  in -1 0 11 > out 0 0 11
tee 0.5 T  0 0 11 > 0.2 0 11 > 0.1 0.1 11
lavatory L  cold 0.2 0 11
pipe 0.5 P storey={storey}  0.1 0.1 11 > 10 0.1 11
"""


@pytest.mark.parametrize(
    ("storey", "said"), [("Upper", "1 ft 0 in above Upper"), ("Test", "3 ft 0 in above Test")]
)
def test_an_end_is_told_over_the_storey_of_its_pipe(storey: str, said: str) -> None:
    network = read_network(PIPE.format(storey=storey))
    context = Context(load("upc-2021"), build(network), Job())
    asked = [a.message for _, given in answers(ends_are_joined, context, finders()) for a in given]
    assert any(said in message for message in asked), asked
