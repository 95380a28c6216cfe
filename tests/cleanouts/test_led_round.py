"""Where the pipe from a cleanout to its line turns."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from ifclint.rules.cleanouts.turns import led_round_m


@pytest.mark.parametrize(
    ("points", "at_m"),
    [
        ([(0, 0, 0), (1, 0, 0), (3, 0, 0)], None),
        ([(0, 0, 0), (1, 0, 0), (1, 2, 0)], 8.0),  # at the first point past the opening
        ([(0, 0, 0), (1, 0, 0), (2, 0, 0), (2, 1, 0)], 9.0),
    ],
)
def test_it_turns_where_it_is_drawn_to(points, at_m):
    piping = SimpleNamespace(path=lambda *_: points)
    cleanout = SimpleNamespace(piping=piping, path=(0,), entry=1, point=points[0])
    assert led_round_m(10.0, cleanout, 45.0) == at_m
