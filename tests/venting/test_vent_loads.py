"""What a vent is loaded with: the drains that breathe through it, each once."""

from __future__ import annotations

import pytest

from ifclint.plumbing import VentSegment
from ifclint.rules.venting.airflow import airflow
from ifclint.testing import context_of
from tests.venting.test_vent_limits import changed

# A lavatory that drains with the tub of the lower floor; with closet and tub a bathroom group.
LAVATORY = """
wye WL at=6,0,-1.476 6.1 0 -1.474 > 5.9 0 -1.478 > 6 0.1 -1.47
pipe 2 BB0 5.9 0 -1.478 > 0.1 0 -1.600
pipe 2 BL0 6 0.9 -1.45 > 6 0.1 -1.47
lavatory LV storey=L1 space=Bath 6 0.9 -1.45"""


def load_of(text: str, code: str, pipe: str) -> float:
    context = context_of(text, code)
    (vent,) = (
        segment
        for segment in context.plumbing.venting.segments
        if isinstance(segment, VentSegment) and pipe in segment.element_ids
    )
    air = airflow(context)
    return air.of(vent, air.dfu)


@pytest.mark.parametrize(
    ("code", "dfu"),
    [("upc-2021", 11), ("ipc-2021", 10)],  # IPC: a group of 5, and 3 + 2; UPC: 3 + 2 + 1, and 3 + 2
)
def test_a_stack_vent_takes_what_its_stack_carries(code: str, dfu: float) -> None:
    text = changed(
        "stacks.single",
        ("water-closet C0 storey=L1", "water-closet C0 storey=L1 space=Bath"),
        ("bathtub B0 storey=L1", "bathtub B0 storey=L1 space=Bath"),
        (
            "pipe 2 BA0 7.700 0 -1.440 > 0.1 0 -1.600",
            "pipe 2 BA0 7.700 0 -1.440 > 6.1 0 -1.474" + LAVATORY,
        ),
    )
    assert load_of(text, code, "VENT") == dfu


@pytest.mark.parametrize(
    ("pipe", "dfu"), [("V1L", 2), ("H2L", 2), ("H1L", 4), ("H1R", 4), ("SV1", 8), ("SV2", 8)]
)
@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021", "irc-2021"])
def test_each_run_takes_what_breathes_through_it(code: str, pipe: str, dfu: float) -> None:
    """Four kitchen sinks of 2 DFU, their vents tied into the vent of their stack."""
    assert load_of(changed("loads.sinks"), code, pipe) == dfu


@pytest.mark.parametrize("code", ["upc-2021", "ipc-2021"])
def test_a_vent_of_another_drain_adds_its_own(code: str) -> None:
    """One of the sinks drains elsewhere: its 2 DFU are none of the stack's, and of the vent's."""
    text = changed(
        "loads.sinks",
        ("pipe 2 R1R 2.9 0 -0.502 > 0.1 0 -0.6", "pipe 2 R1R 2.9 0 -0.502 > 2.9 0 -9"),
        ("0 0 -0.4 > 0.1 0 -0.6\n", "0 0 -0.4\n"),
        add="system=sanitary_drainage\nsewer-connection SEWER2 2.9 0 -9\n",
    )
    assert load_of(text, code, "SV1") == 6
    assert load_of(text, code, "SV2") == 8
