"""Level pipe is parted where it passes plumb pipe that it does not join."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.report.cutting import HALF_GAP, parted
from ifclint.report.riser import draw, one_view

PLUMB = [(100.0, 0.0), (100.0, 200.0)]


@pytest.mark.parametrize("turned", [1, -1])
def test_a_level_pipe_has_a_gap_where_it_crosses(turned: int) -> None:
    level = [(20.0, 100.0), (300.0, 100.0)][::turned]
    first, second = parted([PLUMB, level])[1]
    near, far = ((100 - HALF_GAP * turned), 100.0), ((100 + HALF_GAP * turned), 100.0)
    assert (first, second) == ([level[0], near], [far, level[1]])
    assert parted([PLUMB, level])[0] == [PLUMB]


def test_gaps_that_meet_are_one() -> None:
    beside = [(106.0, 0.0), (106.0, 200.0)]
    level = [(20.0, 100.0), (300.0, 100.0)]
    parts = parted([PLUMB, beside, level])[2]
    assert parts == [[level[0], (95.0, 100.0)], [(111.0, 100.0), level[1]]]


@pytest.mark.parametrize(("past", "parts"), [(9.9, 1), (10.0, 1), (10.1, 2), (14.0, 2)])
def test_pipe_crosses_what_is_ten_pixels_past_it(past: float, parts: int) -> None:
    """Nearer to an end they may be joined."""
    level = [(20.0, 100.0), (100.0 + past, 100.0)]
    assert len(parted([PLUMB, level])[1]) == parts
    plumb = [(100.0, 0.0), (100.0, 100.0 + past)]
    assert len(parted([plumb, [(20.0, 100.0), (300.0, 100.0)]])[1]) == parts


@pytest.mark.parametrize(
    "level",
    [
        [(20.0, 100.0), (100.0, 100.0)],  # a branch of it
        [(20.0, 200.0), (300.0, 200.0)],  # at its foot
        [(20.0, 250.0), (300.0, 250.0)],  # below it
        [(20.0, 100.0), (100.0, 100.0), (300.0, 100.0)],  # a cross
        [(20.0, 90.0), (300.0, 110.0)],  # neither level nor plumb
    ],
)
def test_pipe_that_is_joined_or_does_not_cross_is_whole(level: list[tuple[float, float]]) -> None:
    assert parted([PLUMB, level]) == [[PLUMB], [level]]


STACK = RiserLine(("s",), ((0.0, 0.0, 3.0), (0.0, 0.0, 0.0)), "drain", "3 in")
MAIN = RiserLine(("m",), ((0.0, 0.0, 0.0), (10.0, 0.0, 0.0)), "drain", "4 in")
VENT = RiserLine(("v",), ((0.0, 0.0, 3.0), (0.0, 0.0, 3.9)), "vent", "3 in")
CLEANOUT = RiserMark("c", "cleanout", (0.0, 0.0, 1.0), "CO-1")
DRAINAGE = Riser("drainage", "Drainage", (STACK, MAIN, VENT), (CLEANOUT,), (("Level 1", 0.0),))
PART = RiserLine(("m",), ((4.0, 0.0, 0.0), (10.0, 0.0, 0.0)), "unreached", "", "6 m")
REACH = Riser(
    "cleanouts", "Reach", (replace(MAIN, label=""), PART),
    (replace(CLEANOUT, label="CO-1 · 3 in"), RiserMark("d", "cleanout", (9.0, 0.0, 0.0), "CO-2")),
)  # fmt: skip


def test_what_no_cleanout_reaches_is_laid_over_the_drainage() -> None:
    (whole,) = one_view([REACH, DRAINAGE])
    assert [line.service for line in whole.lines] == ["drain", "drain", "vent", "unreached"]
    assert [mark.label for mark in whole.marks] == ["CO-1 · 3 in", "CO-2"]
    (drawing,) = draw(whole, (), "r")
    runs = {run.service: run.points.split() for run in drawing.runs if run.service != "vent"}
    main = next(run.points.split() for run in drawing.runs if run.tooltip == "4 in")
    start, end = (float(p.split(",")[0]) for p in (main[0], main[-1]))
    part = sorted(float(p.split(",")[0]) for p in runs["unreached"])
    assert part == pytest.approx(sorted((start + 0.4 * (end - start), end)), abs=0.2)


def test_what_is_not_of_the_drainage_stays_a_drawing_of_its_own() -> None:
    other = replace(REACH, lines=(*REACH.lines, replace(MAIN, element_ids=("x",))))
    gas = Riser("gas", "Gas", (replace(MAIN, service="gas"),), ())
    for risers in ([DRAINAGE, other], [DRAINAGE, gas], [gas, other]):
        assert one_view(risers) == risers
