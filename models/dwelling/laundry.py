"""Laundry stack S-2 in wall W2, and the floor drain of the mechanical room beside it."""

from __future__ import annotations

from .attic_vents import VENT_GRADE, stack_vent
from .catalogue import COMBINATION, SWEEP
from .design import Design
from .fixtures import fixture, floor_cleanout, trap
from .parts import Part
from .takeoff import Crew, at_height, uphill


def laundry(soil: Crew, vent: Crew, main: Part, design: Design) -> None:
    """Laundry stack S-2 and its 3 in branch of the building drain, which the floor drain joins."""
    start = main.centre
    wye = soil.fitting("Wye", "fd1/wye", uphill(start, x=26.6), "laundry branch at FD-1")
    trade = COMBINATION if design.laundry_cleanout else SWEEP
    base = soil.fitting(trade, "s2/base", uphill(start, x=30.0), "base of laundry stack S-2")
    soil.pipe(wye, main, 3.0, "laundry branch, FD-1 to building drain")
    soil.pipe(base, wye, 3.0, "laundry branch, S-2 to FD-1")
    if design.laundry_cleanout:
        floor_cleanout(
            soil, base, "s2/head", "Floor cleanout CO-7, head of laundry branch",
            uphill(start, x=34.0), 3.0, 3.0, "Mechanical room",
        )  # fmt: skip
    sink = soil.fitting("Sanitary tee", "s2/sink", at_height(base.centre, 8.6), "S-2 at LS-1")
    washer = soil.fitting("Sanitary tee", "s2/washer", at_height(base.centre, 10.72), "S-2 at SP-1")
    soil.pipe(sink, base, 3.0, "laundry stack S-2, level 1")
    soil.pipe(washer, sink, 3.0, "laundry stack S-2, level 2")
    lower, upper = stack_vent(vent, "s2", "VTR-2", washer)
    standpipe(soil, washer, design)
    laundry_sink(soil, vent, sink, lower, design)
    floor_drain(soil, vent, wye, upper, design)


def standpipe(soil: Crew, tee: Part, design: Design) -> None:
    """Clothes washer standpipe SP-1: 22 in above its trap weir, straight into the 3 in stack."""
    receptor = fixture(
        soil.plan, "Clothes washer standpipe", "sp1", "Clothes washer standpipe SP-1",
        (30.0, 23.8, 12.3), 2.0, ((29.9, 23.65, 12.3), (0.2, 0.3, 0.27)), "Laundry",
    )  # fmt: skip
    trap(soil, receptor.end("outlet"), "sp1/trap", "SP-1", design.standpipe_trap_in, tee, "Laundry")


def laundry_sink(soil: Crew, vent: Crew, stack: Part, header: Part, design: Design) -> None:
    """Laundry sink LS-1: 1-1/2 in trap, 2 in drop in wall W2, 2 in branch to S-2."""
    foot = uphill(stack.centre, y=22.0, slope=design.laundry_branch_slope)
    sweep = soil.fitting(SWEEP, "ls1/sweep", foot, "drop of LS-1")
    soil.pipe(sweep, stack, 2.0, "laundry sink branch, LS-1 to S-2")
    tee = soil.fitting("Sanitary tee", "ls1/tee", at_height(foot, 11.3), "laundry sink LS-1")
    soil.pipe(tee, sweep, 2.0, "waste, LS-1")
    turn = vent.fitting(
        "Quarter bend", "ls1/vent-bend", uphill(header.centre, y=22.0, slope=VENT_GRADE), "LS-1"
    )
    vent.pipe(header, turn, 1.5, "vent, LS-1, attic")
    vent.pipe(turn, tee, 1.5, "vent, LS-1")
    x = design.laundry_sink_x
    basin = fixture(
        soil.plan, "Laundry sink", "ls1", "Laundry sink LS-1", (x, 22.0, 12.1), 1.5,
        ((x - 0.8, 21.2, 12.1), (1.6, 1.6, 0.9)), "Laundry",
    )  # fmt: skip
    trap(soil, basin.end("outlet"), "ls1/trap", "LS-1", 1.5, tee, "Laundry")


def floor_drain(soil: Crew, vent: Crew, wye: Part, header: Part, design: Design) -> None:
    """Floor drain FD-1, vented in wall W2, joining the laundry branch at 45 degrees."""
    turn = soil.fitting("Eighth bend", "fd1/bend", uphill(wye.centre, 27.8, 26.2), "FD-1")
    take_off = soil.fitting(COMBINATION, "fd1/vent", uphill(turn.centre, x=30.0), "vent of FD-1")
    stated = design.floor_drain_size_stated
    soil.pipe(turn, wye, 2.0, "floor drain branch, FD-1 to laundry branch", stated=stated)
    soil.pipe(take_off, turn, 2.0, "floor drain branch, FD-1")
    drain = fixture(
        soil.plan, "Floor drain", "fd1", "Floor drain FD-1 (Mechanical room)",
        (31.3, 26.2, -0.35), 2.0, ((31.05, 25.95, -0.35), (0.5, 0.5, 0.35)), "Mechanical room",
    )  # fmt: skip
    trap(soil, drain.end("outlet"), "fd1/trap", "FD-1", 2.0, take_off, "Mechanical room")
    top = uphill(header.centre, y=26.2, slope=VENT_GRADE)
    if not design.floor_drain_vent_to_stack:
        vent.stub(take_off, at_height(top, 19.8), 1.5, "vent, FD-1")
        return
    elbow = vent.fitting("Quarter bend", "fd1/vent-bend", top, "vent FD-1")
    vent.pipe(elbow, take_off, 1.5, "vent, FD-1")
    vent.pipe(header, elbow, 1.5, "vent, FD-1, attic")
