"""What holds of every supply: pressure falls along the flow, larger pipe never hurts, and how pipe
is drawn changes nothing."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint.engineering.units import PA_PER_PSI
from ifclint.packs import Context
from ifclint.rules.supply.pressure_model import solution, solve, solve_again
from ifclint.rules.supply.sizing import upsizings
from ifclint.rules.supply.solved_supply import Solution
from tests.supply.trees import Branch, context_of, tree

KINDS = ["lavatory", "bathtub", "shower", "kitchen-sink", "water-closet", "clothes-washer"]
SIZES = [0.5, 0.75, 1.0, 1.25, 1.5, 2.0]
GIVEN = {"static_pressure": "70 psi", "residual_pressure": "60 psi", "meter_loss": "3 psi"}


@st.composite
def supplies(draw: st.DrawFn) -> tuple[list[Branch], list[tuple[int, str]]]:
    count = draw(st.integers(1, 12))
    branches = [
        Branch(
            draw(st.integers(-1, k - 1)) if k else -1,
            draw(st.floats(1.0, 80.0)),
            draw(st.sampled_from(SIZES)),
            rise_ft=draw(st.floats(0.0, 1.0)),
        )
        for k in range(count)
    ]
    parents = {b.parent for b in branches}
    tips = [k for k in range(count) if k not in parents]
    return branches, [(k, draw(st.sampled_from(KINDS))) for k in tips]


def residuals(solved: Solution) -> dict[str, float]:
    found = {f.element.guid: solved.at(f.taps[0]).residual_pa for f in solved.supply.fixtures}
    return {guid: value for guid, value in found.items() if value is not None}


@given(supplies())
@settings(max_examples=40, deadline=None)
def test_head_falls_along_the_flow(drawn: tuple[list[Branch], list[tuple[int, str]]]) -> None:
    solved = solution(context_of(tree(*drawn), **GIVEN))
    for line in solved.supply.segments:
        head = solved.heads[line.number].flowing_pa
        assert head is not None
        if line.above is not None:
            above = solved.heads[line.above.number].flowing_pa
            assert above is not None
            assert head <= above
            assert solved.demand.wsfu[line.number] <= solved.demand.wsfu[line.above.number] + 1e-9


@given(supplies(), st.data())
@settings(max_examples=40, deadline=None)
def test_larger_pipe_never_lowers_a_residual(
    drawn: tuple[list[Branch], list[tuple[int, str]]], data: st.DataObject
) -> None:
    context = context_of(tree(*drawn), **GIVEN)
    before = solution(context)
    line = data.draw(st.sampled_from(before.supply.segments))
    if line.size_in is None or line.size_in >= SIZES[-1]:
        return
    larger = SIZES[SIZES.index(line.size_in) + 1]
    after = residuals(solve(context, {line.number: larger}))
    for guid, value in residuals(before).items():
        assert after[guid] >= value - 1e-6


@given(supplies(), st.data())
@settings(max_examples=40, deadline=None)
def test_what_is_solved_again_is_as_solved_anew(
    drawn: tuple[list[Branch], list[tuple[int, str]]], data: st.DataObject
) -> None:
    context = context_of(tree(*drawn), **GIVEN)
    again, sizes = solution(context), dict[int, float]()
    for _ in range(3):
        line = data.draw(st.sampled_from(again.supply.segments))
        sizes[line.number] = data.draw(st.sampled_from(SIZES))
        again = solve_again(again, {line.number: sizes[line.number]})
        anew = solve(context, sizes)
        assert (again.loss, again.heads) == (anew.loss, anew.heads)


@given(supplies(), st.integers(2, 5))
@settings(max_examples=30, deadline=None)
def test_pieces_change_nothing(
    drawn: tuple[list[Branch], list[tuple[int, str]]], pieces: int
) -> None:
    branches, fixtures = drawn
    cut = [replace(b, pieces=pieces) for b in branches]
    one = residuals(solution(context_of(tree(branches, fixtures), **GIVEN)))
    other = residuals(solution(context_of(tree(cut, fixtures), **GIVEN)))
    assert other == pytest.approx(one, rel=1e-9)


@given(supplies(), st.randoms(use_true_random=False))
@settings(max_examples=30, deadline=None)
def test_order_of_elements_changes_nothing(
    drawn: tuple[list[Branch], list[tuple[int, str]]], chance: random.Random
) -> None:
    model, turned = tree(*drawn), tree(*drawn)
    order = list(range(len(turned.elements)))
    chance.shuffle(order)
    place = {old: new for new, old in enumerate(order)}
    turned.elements = [turned.elements[i] for i in order]
    turned.joints = [
        j._replace(a=place[j.b], a_end=j.b_end, b=place[j.a], b_end=j.a_end)
        for j in reversed(turned.joints)
    ]
    one = residuals(solution(context_of(model, **GIVEN)))
    other = residuals(solution(context_of(turned, **GIVEN)))
    assert other == pytest.approx(one, rel=1e-9)


@given(supplies(), st.floats(0.5, 20.0))
@settings(max_examples=40, deadline=None)
def test_upsizings_are_enough_and_each_is_needed(
    drawn: tuple[list[Branch], list[tuple[int, str]]], short_psi: float
) -> None:
    """What is named lets the connection have what it lacks; without any one of it, it does not."""
    context: Context = context_of(tree(*drawn), **GIVEN)
    solved = solution(context)
    tap = solved.supply.fixtures[0].taps[0]
    changes = upsizings(solved, tap, short_psi * PA_PER_PSI)
    if not changes:
        return
    before = solved.at(tap).residual_pa or 0.0

    def gained(chosen: dict[int, float]) -> float:
        return (solve(context, chosen).at(tap).residual_pa or 0.0) - before

    sizes = {c.segments[0].number: c.size_in for c in changes}
    assert gained(sizes) >= short_psi * PA_PER_PSI - 1e-3
    for left_out in sizes:
        rest = {n: s for n, s in sizes.items() if n != left_out}
        assert gained(rest) < short_psi * PA_PER_PSI or any(
            size > (solved.supply.segments[left_out].size_in or 0.0)
            for number, size in rest.items()
            if solved.supply.segments[left_out] in solved.supply.segments[number].to_source
        )  # else it is there so that nothing behind it is larger


@given(supplies(), st.floats(0.5, 20.0))
@settings(max_examples=40, deadline=None)
def test_nothing_is_made_larger_than_what_comes_before_it(
    drawn: tuple[list[Branch], list[tuple[int, str]]], short_psi: float
) -> None:
    solved = solution(context_of(tree(*drawn), **GIVEN))
    for fixture in solved.supply.fixtures:
        tap = fixture.taps[0]
        sizes: dict[int, float] = {}
        for change in upsizings(solved, tap, short_psi * PA_PER_PSI) or ():
            sizes |= change.sizes_in
        assert tap.segment is not None
        before = 10.0
        for line in tap.segment.to_source:
            size = sizes.get(line.number, line.size_in)
            assert line.number not in sizes or (size or 0.0) <= before
            before = min(before, size or before) if line.pipes else before


@pytest.mark.parametrize("short_psi", [1.0, 2.0, 4.0, 6.0, 8.0, 10.0])
def test_no_upsizing_is_larger_than_needed(short_psi: float) -> None:
    """Any one of what is named, at a smaller size than named, is not enough."""
    line = [Branch(k - 1, 20.0 * (k + 1), size) for k, size in enumerate((0.75, 0.75, 0.5))]
    context = context_of(tree(line, [(0, "bathtub"), (1, "bathtub"), (2, "bathtub")]), **GIVEN)
    solved = solution(context)
    tap = solved.supply.fixtures[2].taps[0]
    changes = upsizings(solved, tap, short_psi * PA_PER_PSI)
    assert changes
    before = solved.at(tap).residual_pa or 0.0
    sizes = {c.segments[0].number: c.size_in for c in changes}
    for change in changes:
        for smaller in (
            s for s in SIZES if (change.segments[0].size_in or 0.0) < s < change.size_in
        ):
            made = solve(context, {**sizes, change.segments[0].number: smaller})
            assert (made.at(tap).residual_pa or 0.0) - before < short_psi * PA_PER_PSI


def test_a_run_may_be_made_as_large_as_the_run_before_it() -> None:
    """A branch leaves between two lines of one size; both are due in the largest that is tried."""
    lines = [Branch(-1, 20.0, 0.75), Branch(0, 40.0, 0.75), Branch(0, 5.0, 0.5)]
    context = context_of(tree(lines, [(1, "bathtub"), (2, "bathtub")]), **GIVEN)
    solved = solution(context)
    tap = solved.supply.fixtures[0].taps[0]
    largest = {s.number: 1.5 for s in solved.supply.segments if s.pipes}
    before, after = (s.at(tap).residual_pa for s in (solved, solve(context, largest)))
    assert before is not None
    assert after is not None
    changes = upsizings(solved, tap, after - before - 1.0)
    assert [(len(c.segments), c.size_in) for c in changes or ()] == [(1, 1.5), (1, 1.5)]
