"""How water divides in a ring: so much from each side that both lose the same to where they meet.

Every ring was cut where its two paths meet. Into each a flow is put that runs around it, until the
losses along its two paths are equal (Hardy Cross); each is found by SciPy's brentq, as the
difference of the losses rises with it, and the rings are gone through until nothing moves.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.ifc.elements import Role
from ifclint.plumbing.flow.distribution import Loop
from ifclint.plumbing.supply.segments import SETS_PRESSURE, TURNING
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.losses import Loss

SETTLED_M3_PER_S = 1e-6 * M3_PER_S_PER_GPM
ROUNDS = 200

LossAt = Callable[[int, float], Loss]  # of a line, by its number, at a flow


@dataclass(frozen=True)
class Ring:
    """The lines along which a flow around a ring adds to what passes, and those it takes from."""

    loop: Loop
    with_it: tuple[int, ...]
    against: tuple[int, ...]


def rings(supply: Supply) -> list[Ring]:
    """The rings that can be solved: fed from one point, and without a pump, regulator or heater."""
    return [
        ring
        for loop in supply.distribution.loops
        if not loop.shared and loop.start >= 0 and (ring := _ring(loop, supply)) is not None
    ]


def _ring(loop: Loop, supply: Supply) -> Ring | None:
    sides = [
        tuple(dict.fromkeys(supply.segment_of[i].number for i in path))
        for path in (loop.one_path, loop.other_path)
    ]
    on_it = [supply.elements[i] for i in (*loop.one_path, *loop.other_path)]
    acts = any(e.role in (*TURNING, Role.PUMP) or e.kind in SETS_PRESSURE for e in on_it)
    start = supply.segment_of[loop.start].number
    if acts or not any(sides) or start in (*sides[0], *sides[1]):
        return None
    return Ring(loop, *sides)


def divide(
    found: Sequence[Ring], flows: Mapping[int, float], loss_at: LossAt
) -> dict[int, float] | None:
    """What passes each line of the rings, m3/s, less than 0 where it runs against the direction in
    which it was followed; None where a loss is not known."""
    from scipy.optimize import brentq

    passing = {n: flows[n] for ring in found for n in (*ring.with_it, *ring.against)}
    if any(loss_at(n, q).unknown is not None for n, q in passing.items()):
        return None

    def lost(number: int, flow: float) -> float:
        total = loss_at(number, abs(flow)).total_pa
        return total if flow >= 0 else -total

    for _ in range(ROUNDS):
        moved = 0.0
        for ring in found:

            def unequal(more: float, ring: Ring = ring) -> float:
                one = sum(lost(n, passing[n] + more) for n in ring.with_it)
                return one - sum(lost(n, passing[n] - more) for n in ring.against)

            most = sum(abs(passing[n]) for n in (*ring.with_it, *ring.against)) + 1e-9
            more = float(brentq(unequal, -most, most, xtol=1e-15))
            for number in ring.with_it:
                passing[number] += more
            for number in ring.against:
                passing[number] -= more
            moved = max(moved, abs(more))
        if moved < SETTLED_M3_PER_S:
            return passing
    return None
