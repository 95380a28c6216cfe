"""How water divides in looped piping, against answers worked out by hand."""

from __future__ import annotations

import pytest

from ifclint.engineering.units import PA_PER_PSI
from ifclint.job import Job
from ifclint.plumbing.flow.distribution import Loop
from ifclint.plumbing.supply.water_fixtures import Tap
from ifclint.rules.supply.loops import Passing, Sides, divide
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.missing import Reason
from ifclint.rules.supply.pressure_model import branch_demand, solution, solve, solve_again
from ifclint.rules.supply.sizing import upsizings
from ifclint.rules.supply.solved_supply import Solution
from ifclint.testing.questions import context_of

LOOP = Sides(Loop(0, (1,), (2,), 2, False), (1,), (2,))
PA = 1e12  # so that losses of flows of 1e-4 m3/s are some 1e4 Pa


def _m3_per_s(found: dict[int, Passing] | None) -> dict[int, float]:
    assert found is not None
    return {n: passing.m3_per_s for n, passing in found.items()}


@pytest.mark.parametrize(("k", "share"), [(1.0, 0.5), (4.0, 2 / 3), (9.0, 0.75)])
def test_two_sides_lose_the_same(k: float, share: float) -> None:
    """With losses q^2 and k q^2 the sides carry as root k to 1."""
    found = _m3_per_s(
        divide([LOOP], {1: 3e-4, 2: 0.0}, lambda n, q: Loss(PA * (1.0 if n == 1 else k) * q * q))
    )
    assert found[1] == pytest.approx(3e-4 * share, rel=1e-4)
    assert found[1] + found[2] == pytest.approx(3e-4)


def test_water_may_run_back() -> None:
    """A side drawn to carry 1 away from the start may be fed from the other side."""
    two = Sides(Loop(0, (1, 3), (2,), 2, False), (1, 3), (2,))
    found = _m3_per_s(divide([two], {1: 1e-4, 3: 0.0, 2: 5e-4}, lambda n, q: Loss(PA * q * q)))
    assert found[3] > 0 > -found[2]
    assert found[1] ** 2 + found[3] ** 2 == pytest.approx(found[2] ** 2, rel=1e-3)


def test_nine_loops_side_by_side_lose_the_same_along_both_paths_of_each() -> None:
    """A yard of three blocks by three, fed at one corner and drawn on at the other."""
    lines: dict[tuple[int, int, str], int] = {}

    def line(x: int, y: int, way: str) -> int:
        return lines.setdefault((x, y, way), len(lines))

    yard = [
        Sides(
            LOOP.loop,
            (line(x, y, "x"), line(x + 1, y, "y")),
            (line(x, y, "y"), line(x, y + 1, "x")),
        )
        for x in range(3)
        for y in range(3)
    ]
    along = [(x, 0, "x") for x in range(3)] + [(3, y, "y") for y in range(3)]
    cut = {n: 3e-4 if at in along else 0.0 for at, n in lines.items()}
    found = divide(yard, cut, lambda n, q: Loss(PA * (1 + n % 4) * q * q))
    assert found is not None
    for sides in yard:
        with_it, against = (
            sum(found[n].loss.total_pa for n in path) for path in (sides.with_it, sides.against)
        )
        assert with_it == pytest.approx(against, abs=2.0)
    begins = found[line(0, 0, "x")].m3_per_s + found[line(0, 0, "y")].m3_per_s
    assert begins == pytest.approx(3e-4)


def test_an_unknown_loss_leaves_the_loop_unsolved() -> None:
    unknown = Loss(unknown=Reason.SIZE)
    assert divide([LOOP], {1: 1e-4, 2: 0.0}, lambda n, q: unknown) is None


def _closets(size: str) -> str:
    """A loop of 290 ft with six flushometer closets, a branch of 1 in to each."""
    corners = [(20, 0), (60, 0), (100, 0), (100, 45), (60, 45), (20, 45)]
    text = ["system=cold_water material=copper", "water-meter 2 M  in 0 0 0 > out 1 0 0"]
    text.append("pipe 2 P  1 0 0 > 20 0 0")
    for n, (x, y) in enumerate(corners):
        to_x, to_y = corners[(n + 1) % 6]
        text.append(f"pipe {size} R{n}  {x} {y} 0 > {to_x} {to_y} 0")
        if n:
            text.append(f"pipe 1 B{n}  {x} {y} 0 > {x} {y} 4")
            text.append(f"water-closet W{n} flush_type=flushometer-valve  cold {x} {y} 4")
    return "\n".join(text)


def _solved(text: str) -> Solution:
    job = Job.model_validate({"water": {"residual_pressure": "60 psi", "meter_loss": "0 psi"}})
    return solution(context_of(text, "upc-2021", job))


def test_as_much_leaves_a_loop_as_enters_it_and_the_branch_in_question_has_its_own() -> None:
    solved = _solved(_closets("1"))
    (main,) = {id(m): m for m in solved.looped.values()}.values()
    known = branch_demand(solved.demand, main)
    assert known is not None
    assert sum(known[n] for n in main.leaves) > 1.5 * known[main.feed]
    for branch in main.leaves:
        drawn = main.drawn(branch, known)
        assert drawn[branch] == pytest.approx(known[branch])
        assert sum(drawn.values()) == pytest.approx(known[main.feed])
        first = [s.number for s in solved.supply.segments[main.feed].below]
        leaves = sum(abs(solved.toward[branch][n].m3_per_s) for n in first)
        assert leaves == pytest.approx(known[main.feed])


@pytest.mark.parametrize("name", ["P", "R1", "B1"])
def test_a_line_before_in_or_behind_a_loop_is_solved_again_as_anew(name: str) -> None:
    solved = _solved(_closets("1"))
    line = next(s for s in solved.supply.segments for e in s.elements if e.guid == name)
    again, anew = solve_again(solved, {line.number: 3.0}), solve(solved.context, {line.number: 3.0})
    assert again.heads != solved.heads
    assert (again.heads, again.loss, again.toward) == (anew.heads, anew.loss, anew.toward)


def test_a_larger_loop_is_enough_and_is_said() -> None:
    drawn = _solved(_closets("0.75"))
    short_psi = 40.0 - _at_w3(drawn)[1]
    assert short_psi > 0
    (change,) = upsizings(drawn, _at_w3(drawn)[0], short_psi * PA_PER_PSI) or ()
    assert len(change.segments) == 6
    size = {1.0: "1", 1.25: "1.25"}[change.size_in]
    assert _at_w3(_solved(_closets(size)))[1] >= 40.0


def _at_w3(solved: Solution) -> tuple[Tap, float]:
    fixture = next(f for f in solved.supply.fixtures if f.element.guid == "W3")
    tap, pressure = solved.worst(fixture)
    assert pressure.residual_psi is not None
    return tap, pressure.residual_psi


def test_what_goes_on_from_where_the_sides_meet_is_no_part_of_the_loop() -> None:
    """A pipe of the size of the loop that goes on from there carries what lies behind it."""
    text = """
system=cold_water material=copper
water-meter 2 M  in 0 0 0 > out 1 0 0
pipe 2 P  1 0 0 > 20 0 0
pipe 1 R1  20 0 0 > 40 0 0
pipe 1 R2  20 0 0 > 20 20 0
pipe 1 R3  20 20 0 > 40 20 0
pipe 1 R4  40 0 0 > 40 20 0
pipe 1 B  40 20 0 > 60 20 0
water-closet W flush_type=flushometer-valve  cold 60 20 0
lavatory L1  cold 40 0 0
lavatory L2  cold 20 20 0
"""
    solved = _solved(text)
    (line,) = (s for s in solved.supply.segments if any(e.guid == "B" for e in s.elements))
    assert [e.guid for e in line.pipe_elements] == ["B"]
    assert line.number not in solved.looped
    assert solved.looped
    assert solved.gpm(line) == pytest.approx(25.0, abs=0.1)


def test_what_two_equal_pipes_lead_to_carries_the_whole() -> None:
    """The pipe behind their meeting is a line of its own, also where it is of their size."""
    ends = {"A": "20 0 0 > 40 0 0", "B": "20 0 0 > 30 9 0", "C": "30 9 0 > 40 0 0"}
    text = "system=cold_water material=copper\nwater-meter 1 M  in 0 0 0 > out 1 0 0\n"
    text += "pipe 1 P  1 0 0 > 20 0 0\n"
    text += "".join(f"pipe 1 {name}  {at}\n" for name, at in ends.items())
    text += "pipe 1 Q  40 0 0 > 60 0 0\nbathtub T  cold 60 0 0\nbathtub U  cold 60 0 0\n"
    solved = _solved(text)
    line = {e.guid: s for s in solved.supply.segments for e in s.elements}
    whole = solved.gpm(line["P"])
    assert solved.gpm(line["Q"]) == pytest.approx(whole)
    assert (solved.gpm(line["A"]) or 0) + (solved.gpm(line["B"]) or 0) == pytest.approx(whole)
    assert (solved.gpm(line["A"]) or 0) > (solved.gpm(line["B"]) or 0) > 0


def test_two_pipes_that_meet_in_a_tee_share_by_what_they_lose() -> None:
    text = "system=cold_water material=copper\nwater-meter 1 M  in 0 0 0 > out 1 0 0\n"
    text += "pipe 1 P  1 0 0 > 20 0 0\npipe 1 A  20 0 0 > 40 0 0\npipe 0.5 B  20 0 0 > 30 9 0\n"
    text += "pipe 0.5 C  30 9 0 > 40.1 0.1 0\ntee 1 T  40 0 0 > 40.2 0 0 > 40.1 0.1 0\n"
    text += "pipe 1 Q  40.2 0 0 > 60 0 0\nbathtub T1  cold 60 0 0\nbathtub T2  cold 60 0 0\n"
    solved = _solved(text)
    line = {e.guid: s for s in solved.supply.segments for e in s.elements}
    whole, large, small = (solved.gpm(line[name]) or 0 for name in ("Q", "A", "B"))
    assert large + small == pytest.approx(whole)
    assert large > 4 * small > 0
