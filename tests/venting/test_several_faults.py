"""What is wrong in several ways or places is said of each, and counted once for each."""

from __future__ import annotations

from itertools import pairwise

import pytest

from ifclint.findings import Outcome
from ifclint.judge import answers
from ifclint.plumbing.subjects import finders
from ifclint.testing import context_of
from tests.venting.test_vent_limits import (
    ADVISORY,
    IPC,
    PASS,
    RULES,
    UNVERIFIED,
    UPC,
    VIOLATION,
    Job,
    changed,
    said,
)


def faults(rule: str, network: str, subject: str, code: str = UPC) -> dict[str, Outcome]:
    """What is reported, by what tells the answers apart."""
    given = [a for a in said(rule, network, subject, code) if a.message]
    found = {answer.about: answer.outcome for answer in given}
    assert len(found) == len(given), "two answers that nothing tells apart"
    return found


def test_each_further_trap_in_series() -> None:
    text = changed(
        "traps.lavatory",
        ("pipe 2 DRAIN 0.1 0 -1.002 > 20 0 -1.417",
         "running-trap 2 T2 0.1 0 -1.002 > 1 0 -1.02\nrunning-trap 2 T3 1 0 -1.02 > 2 0 -1.04\n"
         "pipe 2 DRAIN 2 0 -1.04 > 20 0 -1.417"),
    )  # fmt: skip
    assert faults("one-trap-only", text, "T") == {"T2": VIOLATION, "T3": VIOLATION}


def test_fixtures_on_one_trap_that_are_far_apart_and_of_two_kinds() -> None:
    for kind, wanted in (
        ("sink", {"spacing": VIOLATION, "kinds": ADVISORY}),
        ("kitchen-sink", {"kinds": VIOLATION}),
    ):
        text = changed(
            "traps.shared", ("lavatory A -4", f"{kind} A -5"), ("TA -4 0 2", "TA -5 0 2")
        )
        assert faults("shared-trap", text, "T") == wanted


def test_every_window_and_wall_near_a_terminal() -> None:
    windows = "window W2 3 -5 8 > 4 -4.5 11\nwindow W3 30 -5 8 > 31 -4.5 11\n"
    text = changed("terminals.lavatory", ("WINDOW 1 -5 3 > 4 -4.5 7", "WINDOW 1 -5 8 > 4 -4.5 11"),
                   add=windows)  # fmt: skip
    found = faults("terminal-from-openings", text, "VTR")
    assert found == {"WINDOW": VIOLATION, "W2": VIOLATION}
    walls = "wall A 0.5 -5 0 > 1 5 14\nwall B -5 0.2 0 > 5 1 14\n"
    text = changed("terminals.lavatory", add=walls)
    assert faults("terminal-from-walls", text, "VTR") == {"A": VIOLATION, "B": VIOLATION}


def test_a_vent_through_the_roof_with_two_pipes_that_end_in_rooms() -> None:
    text = changed(
        "terminals.lavatory",
        ("pipe 2 VENT system=vent 0 0 1.6 > 0 0 12",
         "pipe 2 VENT system=vent 0 0 1.6 > 0 0 5\n"
         "fitting X system=vent at=0,0,5.1 0 0 5 > 0 0 5.2 > 0.1 0 5.1 > -0.1 0 5.1\n"
         "pipe 2 R1 system=vent 0.1 0 5.1 > 3 0 5.2\npipe 2 R2 system=vent -0.1 0 5.1 > -3 0 5.2\n"
         "pipe 2 UP system=vent 0 0 5.2 > 0 0 12"),
    )  # fmt: skip
    assert faults("vent-reaches-outdoors", text, "VENT") == {"R1": VIOLATION, "R2": VIOLATION}
    open_above = text.replace("vent-through-roof 2 VTR system=vent 0 0 12\n", "")
    assert faults("vent-reaches-outdoors", open_above, "UP") == {"R1": VIOLATION, "R2": VIOLATION}


def test_an_open_end_beside_the_building_is_not_said_to_be_inside() -> None:
    text = changed(
        "terminals.lavatory",
        ("0 0 1.6 > 0 0 12\nvent-through-roof 2 VTR system=vent 0 0 12",
         "0 0 1.6 > 0 0 8\npipe 2 OUT system=vent 0 0 8 > 9 0 8.1"),
    )  # fmt: skip
    assert faults("vent-reaches-outdoors", text, "OUT") == {"": UNVERIFIED}


def test_a_valve_in_a_wall_and_a_slab() -> None:
    text = changed(
        "terminals.valve", ("WALL -1 1 0", "WALL -1 -0.5 0"), add="slab S -1 -1 2 > 1 1 3\n"
    )
    assert faults("admittance-valve-access", text, "AAV", IPC) == {
        "WALL": UNVERIFIED,
        "S": UNVERIFIED,
    }


def test_a_vertical_wet_vent_too_long_and_too_small() -> None:
    text = changed("methods.two_levels", ("-0.4", "-5.4"), ("-0.5", "-5.5"), ("-0.6", "-5.6"),
                   ("4 0 -0.2", "4 0 -5.2"), ("0 0 -2", "0 0 -7"),
                   ("2 WET", "1.5 WET"))  # fmt: skip
    assert faults("vertical-wet-vent", text, "VENT") == {"length": VIOLATION, "WET": VIOLATION}


def test_a_wet_vent_of_two_floors_with_a_sink_on_it() -> None:
    upstairs = "water-closet C storey=L2 box=5,2,10,7,4,12 6"
    text = changed(
        "methods.bathroom", ("bathtub B", "kitchen-sink B"), ("water-closet C 6", upstairs)
    )
    text += "\nstorey L2 10\n"
    found = faults("horizontal-wet-vent", text, "VENT")
    assert found == {"floors": VIOLATION, "B": VIOLATION}


@pytest.mark.parametrize("pieces", [1, 4])
def test_a_wet_pipe_too_small_is_one_fault_in_however_many_pieces(pieces: int) -> None:
    ends = [f"{3.1 + 2.8 * n / pieces} 0 {-1.064 - 0.056 * n / pieces}" for n in range(pieces + 1)]
    drawn = (f"pipe 1.5 P{n} {a} > {b}" for n, (a, b) in enumerate(pairwise(ends)))
    text = changed("methods.bathroom", ("pipe 2 WET2 3.1 0 -1.064 > 5.9 0 -1.12", "\n".join(drawn)))
    assert len(faults("horizontal-wet-vent", text, "VENT", IPC)) == 1


def test_what_a_waste_stack_may_not_take_is_told_of_it_where_nothing_else_is() -> None:
    """Where the lower of two urinals has a vent of its own, the stack vents the upper alone."""
    text = changed(
        "methods.waste_stack", ("kitchen-sink A", "urinal A"), ("kitchen-sink B", "urinal B")
    )
    assert set(faults("trap-vented", text, "T2", "irc-2021")) == {""}
    assert faults("waste-stack-vent", text, "VENT", "irc-2021") == {}
    assert "A" in faults(
        "waste-stack-vent", text.replace("urinal B", "kitchen-sink B"), "VENT", "irc-2021"
    )


def test_a_vent_above_a_waste_stack_without_a_size_is_a_question() -> None:
    text = changed("methods.waste_stack", ("pipe 3 VENT", "pipe VENT"))
    assert faults("waste-stack-vent", text, "VENT", IPC) == {"vent": UNVERIFIED}


def test_a_closet_branch_without_places_is_a_question() -> None:
    context = context_of(changed("arms.closet"), UPC)
    (arm,) = context.plumbing.venting.arms
    arm.points = [None]
    asked = dict(answers(RULES["closet-to-vent"], context, finders()))
    assert [answer.outcome for answer in asked[arm]] == [UNVERIFIED]


@pytest.mark.parametrize(("end", "wanted"), [("11.3", PASS), ("11.4", VIOLATION)])
def test_a_branch_of_a_combination_waste_and_vent_runs_fifteen_feet(
    end: str, wanted: Outcome
) -> None:
    """UPC, where approved; the arm begins at -3.7."""
    text = changed(
        "arms.floor_drain",
        ("pipe 2 ARM -3.7 0 -0.8 > 20 0 -1.3", f"pipe 3 ARM -3.7 0 -0.8 > {end} 0 -1.1"),
        ("SEWER 20 0 -1.3", f"SEWER {end} 0 -1.1"),
    )
    job: Job = {"venting": {"combination_approved": True}}
    assert said("trap-vented", text, "T", UPC, job)[0].outcome is wanted
