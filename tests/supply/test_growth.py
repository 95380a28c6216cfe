"""What the pressure of many fixtures costs grows with their number, and no faster."""

from __future__ import annotations

from ifclint.engineering.tolerance import at_least
from ifclint.findings import Outcome
from ifclint.job import Job
from ifclint.rules.supply.budget import budget, needed
from ifclint.rules.supply.larger_pipe import larger_pipe
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.static_pressure import regulator_setting
from ifclint.testing import context_of as drawn
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


def calls_of_regulators(dwellings: int) -> int:
    """For a main along dwellings, each with a lavatory behind a regulator of its own, at 90 psi."""
    lines = ["system=cold_water material=copper", "water-meter 2 M  in 0 0 0 > out 1 0 0"]
    for x in range(1, dwellings + 1):
        lines += [
            f"pipe 2 P{x}  {x} 0 0 > {x + 1} 0 0",
            f"pressure-reducing 0.75 R{x} downstream_pressure_pa=620528.1  "
            f"{x + 1} 0 0 > {x + 1} 0.5 0",
            f"lavatory L{x}  cold {x + 1} 0.5 0",
        ]
    context = drawn("\n".join(lines), "upc-2021", Job.model_validate({"water": GIVEN}))
    assert len(solution(context).supply.fixtures) == dwellings
    [service] = context.plumbing.supply.services

    def work() -> None:
        said = [*regulator_setting.judge(service, context)]
        assert [answer.outcome for answer in said].count(Outcome.VIOLATION) == dwellings

    return calls(work)


def test_each_regulator_costs_the_same_however_many_there_are() -> None:
    calls_of_regulators(5)
    assert calls_of_regulators(60) < 1.2 * 4 * calls_of_regulators(15)
