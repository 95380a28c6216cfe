"""The path of a vent to the open air, as a finding prints it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from ifclint.rules.venting.wording import vent_steps


def _said(count: int) -> list[str]:
    elements = [SimpleNamespace(label=f"pipe {n}") for n in range(count + 1)]
    piping = SimpleNamespace(elements=elements)
    tree = SimpleNamespace(piping=piping, path_out=lambda _: range(1, count + 1))
    return [s.text for s in vent_steps(SimpleNamespace(tree=tree, drain=0, to_air_m=None))]


@pytest.mark.parametrize("count", [7, 8])
def test_a_short_vent_is_named_whole(count):
    assert _said(count) == ["From pipe 0", *(f"pipe {n}" for n in range(1, count + 1))]


def test_a_long_vent_is_named_by_its_first_and_last_four():
    first, last = (1, 2, 3, 4), (9, 10, 11, 12)
    names = [[f"pipe {n}" for n in part] for part in (first, last)]
    assert _said(12) == ["From pipe 0", *names[0], "… 4 more …", *names[1]]
