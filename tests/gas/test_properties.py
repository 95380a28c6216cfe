"""What holds of any gas piping, however it is drawn and whatever it carries."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ifclint import codes
from ifclint.engineering import tolerance
from ifclint.engineering.units import PA_PER_IN_WC, PA_PER_PSI
from ifclint.rules.gas.capacity import Gas, GasService, Sizing
from ifclint.rules.gas.sizing import plan
from tests.gas.small import context_of, sized, watts

NATURAL = Gas("natural", 37258945.8, 0.6)
CODE = codes.load("ipc-2021")


def line(pieces: int, size: float, btu: float, end: float = 55.0) -> str:
    """A pipe drawn in pieces to a furnace."""
    cuts = [0.4 + (end - 0.4) * k / pieces for k in range(pieces + 1)]
    pipes = [f"pipe {size} P{k}  {a} 0 0 > {b} 0 0" for k, (a, b) in enumerate(pairwise(cuts))]
    return "\n".join(
        [
            "system=fuel_gas material=steel", "gas-meter 1 M  in 0 0 0 > out 0.4 0 0", *pipes,
            f"furnace F input_rating_w={watts(btu)}  gas {end} 0 0",
        ]
    )  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(st.integers(2, 9), st.sampled_from([0.5, 0.75, 1.0]), st.floats(20000, 400000))
def test_splitting_a_pipe_changes_nothing(pieces: int, size: float, btu: float) -> None:
    whole, split = sized(line(1, size, btu))["P0"], sized(line(pieces, size, btu))["P0"]
    assert len(split.segment.pipes) == pieces
    assert split.length_m == pytest.approx(whole.length_m, abs=1e-4)
    assert split.capacity == whole.capacity
    assert split.smallest == whole.smallest


@settings(max_examples=60, deadline=None)
@given(
    st.floats(5000, 3e6), st.floats(1.01, 3.0), st.floats(5, 590),
    st.sampled_from(["steel", "copper-k", "pe"]), st.booleans(),
)  # fmt: skip
def test_the_smallest_size_carries_the_load_and_grows_with_it(
    btu: float, more: float, feet: float, material: str, by_equation: bool
) -> None:
    sizing = Sizing(
        CODE, GasService(NATURAL, 7 * PA_PER_IN_WC, 0.5 * PA_PER_IN_WC), material, by_equation
    )
    small = sizing.smallest(watts(btu), feet * 0.3048)
    large = sizing.smallest(watts(btu * more), feet * 0.3048)
    if large is not None:
        assert small is not None
        assert small <= large
    if small is not None:
        allowed = sizing.capacity(small, feet * 0.3048)
        assert allowed is not None
        carried = NATURAL.amount(watts(btu), allowed.unit)
        assert tolerance.at_least(allowed.value, carried, allowed.unit)
        below = [s for s in sizing.sizes() if s < small]
        for size in below:
            less = sizing.capacity(size, feet * 0.3048)
            assert less is None or less.value < NATURAL.amount(watts(btu), less.unit)


@pytest.mark.parametrize(
    ("material", "psi", "drop_in_wc"),
    [("steel", 0.25, 0.5), ("steel", 0.5, 3), ("steel", 0.5, 6), ("steel", 3, 55.4),
     ("copper-k", 0.25, 0.5), ("copper-k", 0.25, 1), ("pe", 0.25, 0.5)],
)  # fmt: skip
def test_table_and_equation_agree_at_the_lengths_of_the_table(
    material: str, psi: float, drop_in_wc: float
) -> None:
    """Within 2 %: what the three figures of the tables leave, and the rounding of small cells."""
    service = GasService(NATURAL, psi * PA_PER_PSI, drop_in_wc * PA_PER_IN_WC)
    by_table, by_law = Sizing(CODE, service, material), Sizing(CODE, service, material, True)
    checked = 0
    for size in by_table.sizes():
        for feet in (20, 60, 150, 300):
            table, law = (
                by_table.capacity(size, feet * 0.3048),
                by_law.capacity(size, feet * 0.3048),
            )
            if table is None or law is None or table.value < 50:
                continue
            assert table.value == pytest.approx(law.value, rel=0.02)
            checked += 1
    assert checked >= 8


def test_the_methods_never_ask_less_of_longest_length_than_of_branch_length() -> None:
    text = f"""
system=fuel_gas material=steel
gas-meter 1 M  in 0 0 0 > out 0.4 0 0
pipe 1 T1  0.4 0 0 > 20 0 0
tee 1 TE  20 0 0 > 20.4 0 0 > 20.2 0 -0.2
pipe 0.5 A1  20.2 0 -0.2 > 20.2 0 -5
range A input_rating_w={watts(70000)}  gas 20.2 0 -5
pipe 0.75 B1  20.4 0 0 > 120 0 0
furnace B input_rating_w={watts(80000)}  gas 120 0 0
"""
    longest, branch = sized(text), sized(text, method="branch-length")
    assert branch["A1"].length_m < longest["A1"].length_m
    assert branch["T1"].length_m == longest["T1"].length_m
    assert branch["B1"].length_m == longest["B1"].length_m
    assert branch["A1"].capacity is not None
    assert longest["A1"].capacity is not None
    assert branch["A1"].capacity.value > longest["A1"].capacity.value


def test_room_to_grow_is_just_what_can_be_added() -> None:
    """With the spare capacity the line still serves; with 1 % more load than that it does not."""
    from ifclint.rules.gas.schedules import spare_btu_per_h
    from ifclint.rules.gas.sizing import plan_with

    context = context_of(line(1, 0.75, 60000))
    piping = context.plumbing.gas
    assert piping is not None
    (appliance,) = piping.appliances
    spare = spare_btu_per_h(appliance, context)
    assert spare is not None
    assert spare > 0
    for load, serves in ((60000 + spare - 1, True), ((60000 + spare) * 1.01, False)):
        (asked,) = plan_with(context, {appliance: watts(load)}).sized.values()
        assert asked.spare is not None
        assert (asked.spare >= 0) is serves
    assert plan(context).sized[piping.segments[0]].load == pytest.approx(60, abs=0.01)
