"""Where one subject is wrong in several ways or places, each is a finding of its own."""

from __future__ import annotations

import pytest

from ifclint.as_findings import finding_id
from ifclint.findings import Answer, Outcome
from ifclint.judge import answers
from ifclint.plumbing.subjects import finders
from ifclint.rules.drainage import drains, fittings, slopes, stack_bases, stacks, to_outlet
from ifclint.testing import context_of


def reported(rule, subject: str, network: str, code: str = "upc-2021") -> list[Answer]:
    """What is wrong with a subject, each under an id of its own."""
    for judged, given in answers(rule, context_of(network, code), finders()):
        if judged.element_ids[0] == subject:
            wrong = [a for a in given if a.outcome not in (Outcome.PASS, Outcome.NOT_APPLICABLE)]
            ids = {finding_id(rule, judged, answer.about) for answer in wrong}
            assert len(ids) == len(wrong)
            return wrong
    raise AssertionError(f"no subject {subject}")


def test_a_closet_and_a_sink_on_a_small_drain():
    closet, sink = reported(
        drains.fixtures_allowed_on_drain,
        "P",
        """
        water-closet C  0 0 0
        kitchen-sink K  1 0 0
        wye 1.5 W  0 0 0 > 1 0 0 > 0 0 -1
        pipe 1.5 P  0 0 -1 > 0 0 -7
        sewer-connection S  0 0 -7
        """,
    )
    assert [a.measured.unit for a in (closet, sink)] == ["water closet", "kitchen sink"]
    assert closet.change == sink.change
    assert (closet.change.what, closet.change.element_ids, closet.change.value) == (
        "size", ("P",), 3,
    )  # fmt: skip


RISING = """
bathtub T  0 0 0
pipe 2 P  0 0 0 > 5 0 0.05
bend 2 B1  5 0 0.05 > 5.2 0.2 {lifted}
pipe 2 Q  5.2 0.2 {lifted} > 5.2 10 -0.1
bend 2 B2  5.2 10 -0.1 > 5.4 10.2 0
pipe 2 R  5.4 10.2 0 > 20 10.2 -0.3
sewer-connection S  20 10.2 -0.3
"""


@pytest.mark.parametrize(("lifted", "clicked"), [(0.05, ["P", "B2"]), (0.1, ["P", "B1", "B2"])])
def test_a_pipe_and_fittings_that_rise(lifted: float, clicked: list[str]):
    said = reported(slopes.drain_backfall, "P", RISING.format(lifted=lifted))
    assert [answer.elements[0] for answer in said] == clicked


def test_pipes_that_rise_are_one_fault_however_many_they_are_drawn_as():
    (said,) = reported(
        slopes.drain_backfall,
        "P",
        """
        bathtub T  0 0 0
        pipe 2 P  0 0 0 > 5 0 0.02
        pipe 2 Q  5 0 0.02 > 10 0 0.06
        pipe 2 R  10 0 0.06 > 20 0 -0.3
        sewer-connection S  20 0 -0.3
        """,
    )
    assert said.elements == ("Q", "P")  # the worst first


def test_every_part_of_a_stack_that_is_too_small():
    """20 bathtubs over 20, 40 DFU at the foot of its two parts; 2 in may carry 10."""
    tubs = [f"bathtub T{k}  -4 {k} 18.2\nbathtub U{k}  -4 {k} 9.2" for k in range(10)]
    upper = " > ".join(f"-4 {k} 18.2" for k in range(10))
    lower = " > ".join(f"-4 {k} 9.2" for k in range(10))
    network = "\n".join(
        [
            *tubs,
            f"wye 3 A  {upper} > 0 0 18",
            "pipe 2 S2  0 0 18 > 0 0 9.2",
            f"wye 3 B  0 0 9.2 > {lower} > 0 0 9",
            "pipe 2 S1  0 0 9 > 0 0 0",
            "sewer-connection X  0 0 0",
        ]
    )
    foot, top = reported(stacks.stack_capacity, "S1", network, "ipc-2021")
    assert [(a.elements, a.measured.value) for a in (foot, top)] == [(("S1",), 40), (("S2",), 20)]
    assert [(a.change.element_ids, a.change.value) for a in (foot, top)] == [
        (("S1",), 3), (("S2",), 2.5),
    ]  # fmt: skip


def test_every_size_of_a_stack_that_is_too_long():
    upper, lower = reported(
        stacks.stack_length,
        "S1",
        """
        lavatory A  0 0 160
        pipe 1.5 S2  0 0 160 > 0 0 90
        pipe 2 S1  0 0 90 > 0 0 0
        sewer-connection X  0 0 0
        """,
    )
    assert [(a.measured.value, a.required.value) for a in (upper, lower)] == [
        (pytest.approx(70), 65), (pytest.approx(90), 85),
    ]  # fmt: skip
    assert [(a.change.element_ids, a.change.value) for a in (upper, lower)] == [
        (("S2",), 2), (("S1",), 2.5),
    ]  # fmt: skip


BASE = """
water-closet A  0 0 12
pipe 3 S1  0 0 12 > 0 0 0.3
long-sweep 3 L at=0,0,0  0 0 0.3 > 0.3 0 0
pipe 3 B1  0.3 0 0 > 0.8 0 -0.01
bathtub T  -3 3 0.1
pipe 2 PB  -3 3 0.1 > 0.8 0.2 -0.01
wye 3 W at=1,0,-0.02  0.8 0 -0.01 > 0.8 0.2 -0.01 > 1.2 0 -0.025
pipe 3 B2  1.2 0 -0.025 > {short} 0 -0.04
bathtub U  -3 -3 0.1
pipe 2 PC  -3 -3 0.1 > {short} -0.2 -0.03
wye 3 V at={second},0,-0.045  {short} 0 -0.04 > {short} -0.2 -0.03 > 4.6 0 -0.1
pipe 3 B3  4.6 0 -0.1 > 11.6 0 -0.236
sewer-connection X  11.6 0 -0.236
"""


@pytest.mark.parametrize(("second", "distances_ft"), [(2.0, [1.0, 2.0]), (4.4, [1.0])])
def test_every_branch_near_the_base_of_a_stack(second: float, distances_ft: list[float]):
    """From centre to centre, the fitting of the first branch included."""
    said = reported(
        stack_bases.stack_base_connection,
        "S1",
        BASE.format(second=second, short=second - 0.2),
        "ipc-2021",
    )
    assert [a.measured.value for a in said] == pytest.approx(distances_ft, abs=0.01)


def test_each_change_of_direction_in_a_fitting():
    """Lying flat, with one inlet from the side and one from above."""
    said = reported(
        fittings.fitting_for_direction,
        "DT",
        """
        bathtub A  0 0 3
        pipe 2 PA  0 0 3 > 0 0 0.2
        lavatory B  0 3 0.1
        pipe 2 PB  0 3 0.1 > 0 0.2 0.01
        sanitary-tee 2 DT  0 0 0.2 > 0 0.2 0.01 > 0.2 0 -0.01
        pipe 2 Q  0.2 0 -0.01 > 10 0 -0.3
        sewer-connection S  10 0 -0.3
        """,
    )
    assert {answer.steps[0].text for answer in said} == {
        "2 in, vertical to horizontal", "2 in, horizontal to horizontal",
    }  # fmt: skip


SUMP = """
bathtub T1  0 0 0
pipe 2 P1  0 0 0 > 10 0 -0.2
sump S1  10 0 -0.2 > 10.5 0 0
bathtub T2  0 20 0
pipe 2 P2  0 20 0 > 10 20 -0.2
sump S2  10 20 -0.2 > 10.5 20 0
bathtub T3  9 0 8
wye 3 W  9 0 8 > 10.5 0 8 > 11 0 7.9
pipe 3 M  11 0 7.9 > 21 0 7.6
sewer-connection S  21 0 7.6
"""
DISCHARGE = "pipe 2 U  10.5 0 0 > 10.5 0 8"
VENT = "pipe 2 V system=vent  10.5 20 0 > 10.5 20 20\nvent-through-roof R  10.5 20 20"


@pytest.mark.parametrize(
    ("drawn", "said"),
    [
        ("", Outcome.UNVERIFIED),  # no discharge is drawn anywhere
        (DISCHARGE, Outcome.VIOLATION),  # that of the other sump is
        (f"{DISCHARGE}\n{VENT}", Outcome.VIOLATION),  # a vent is no discharge
        (VENT, Outcome.UNVERIFIED),
    ],
)
def test_a_sump_whose_discharge_is_not_drawn(drawn: str, said: Outcome):
    (answer,) = reported(to_outlet.fixture_reaches_outlet, "T2", SUMP + drawn, "ipc-2021")
    assert answer.outcome is said
    assert answer.elements == ("S2", "T2")


CORNER = """
water-closet A  0 0 0
pipe 3 P  0 0 0 > 0 0 -12
pipe 3 Q  0 0 -12 > 10 0 -12.3
{fitting} 3 F  10 0 -12.3 > 10.1 0.1 -12.31
pipe 3 R  10.1 0.1 -12.31 > 10.1 10 -12.6
sewer-connection S  10.1 10 -12.6
"""


@pytest.mark.parametrize("fitting", ["pipe", "long-sweep"])
def test_pipes_that_meet_at_a_corner_without_a_fitting(fitting: str):
    """A question, whether the model draws other fittings or none: pipe that is laid has one."""
    (answer,) = reported(fittings.fitting_for_direction, "Q", CORNER.format(fitting=fitting))
    assert answer.outcome is Outcome.UNVERIFIED
