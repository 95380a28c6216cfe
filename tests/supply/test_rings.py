"""How water divides in a ring, against answers worked out by hand."""

from __future__ import annotations

import pytest

from ifclint.plumbing.flow.distribution import Loop
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.missing import Reason
from ifclint.rules.supply.rings import Ring, divide

RING = Ring(Loop(0, (1,), (2,), 2, False), (1,), (2,))


@pytest.mark.parametrize(("k", "share"), [(1.0, 0.5), (4.0, 2 / 3), (9.0, 0.75)])
def test_two_sides_lose_the_same(k: float, share: float) -> None:
    """With losses q^2 and k q^2 the sides carry as root k to 1."""
    found = divide([RING], {1: 3e-4, 2: 0.0}, lambda n, q: Loss((1.0 if n == 1 else k) * q * q))
    assert found is not None
    assert found[1] == pytest.approx(3e-4 * share, rel=1e-6)
    assert found[1] + found[2] == pytest.approx(3e-4)


def test_water_may_run_back() -> None:
    """A side drawn to carry 1 away from the start may be fed from the other side."""
    two = Ring(Loop(0, (1, 3), (2,), 2, False), (1, 3), (2,))
    k = {1: 1.0, 2: 1.0, 3: 1.0}
    found = divide([two], {1: 1e-4, 3: 0.0, 2: 5e-4}, lambda n, q: Loss(k[n] * q * q))
    assert found is not None
    assert found[3] > 0 > -found[2]
    assert found[1] ** 2 + found[3] ** 2 == pytest.approx(found[2] ** 2)


def test_an_unknown_loss_leaves_the_ring_unsolved() -> None:
    unknown = Loss(unknown=Reason.SIZE)
    assert divide([RING], {1: 1e-4, 2: 0.0}, lambda n, q: unknown) is None
