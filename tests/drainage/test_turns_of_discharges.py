"""What a pump presses up turns as it likes: its bends are no fittings of drainage."""

from __future__ import annotations

from ifclint.testing.questions import context_of

LIFTED = """
sump PIT called=Elevator_pit_sump  0 0 -5
pump PU called=Elevator_sump_pump at=0,0,-4.8  in 0 0 -5 > out 0 0 -4.5
pipe 1.5 UP  0 0 -4.5 > 0 0 1.9
quarter-bend Q1 at=0,0,2  0 0 1.9 > 0.1 0 2
pipe 1.5 LEVEL  0.1 0 2 > 9.9 0 2
quarter-bend Q2 at=10,0,2  9.9 0 2 > 10 0 1.9
pipe 1.5 END  10 0 1.9 > 10 0 0.25
floor-sink FS box=9.5,-0.5,-0.8,10.5,0.5,0  10 0 -0.8
p-trap 3 T  10 0 -0.8 > 10.5 0 -1.2
pipe 3 D  10.5 0 -1.2 > 19.9 0 -1.4
long-sweep TURN at=20,0,-1.4  19.9 0 -1.4 > 20 0.1 -1.4
pipe 3 D2  20 0.1 -1.4 > 20 20 -1.8
sewer-connection S  20 20 -1.8
"""


def test_bends_of_a_discharge_are_none() -> None:
    turns = context_of(LIFTED, "ipc-2021").plumbing.changes_of_direction
    assert [turn.element.guid for turn in turns] == ["TURN"]
