"""What the pressure of many fixtures costs grows with their number, and no faster."""

from __future__ import annotations

from ifclint.engineering.tolerance import at_least
from ifclint.rules.supply.budget import budget
from ifclint.rules.supply.critical import needed
from ifclint.rules.supply.larger_pipe import larger_pipe
from ifclint.rules.supply.pressure_model import solution
from tests.effort import calls
from tests.supply.trees import Branch, context_of, tree

GIVEN = {"static_pressure": "60 psi", "residual_pressure": "50 psi", "meter_loss": "2 psi"}


def calls_of_larger_pipe(levels: int) -> int:
    """For a tree of large pipe to lavatories, each behind a long small pipe of its own."""
    mains = 2**levels - 1
    branches = [Branch((n - 1) // 2, 5.0, 6.0) for n in range(mains)]
    tips = range(mains, 2 * mains + 1)
    branches += [Branch((n - 1) // 2, 400.0, 0.375) for n in tips]
    model = tree(branches, [(n, "lavatory") for n in tips])
    context = context_of(model, "ipc-2021", **GIVEN)
    solved, found = solution(context), context.plumbing.supply.fixtures
    wanted = [(f.taps[0], need.psi) for f in found if (need := needed(f, context)) is not None]
    assert len(wanted) == mains + 1

    def work() -> None:
        made = larger_pipe(context)
        assert not made.short_psi
        assert len(made.sizes_in) == len(wanted)  # the pipe of each
        for tap, psi in wanted:
            pressure = solved.at(tap)
            assert pressure.residual_psi is not None
            assert not at_least(pressure.residual_psi, psi)
            assert len(budget(tap, pressure, None, context)) > levels

    return calls(work)


def test_work_grows_with_the_fixtures_and_not_faster() -> None:
    """Besides the ways from the source, which are longer by two in a tree four times as large."""
    calls_of_larger_pipe(3)
    assert calls_of_larger_pipe(7) < 1.5 * 4 * calls_of_larger_pipe(5)
