"""Baths 2 and 3 on wall W1: soil stack S-1, waste stack S-3 and what drains into them."""

from __future__ import annotations

from .attic_vents import headers, stack_vent
from .catalogue import COMBINATION, SWEEP
from .design import Design
from .fixtures import fixture, lavatory, stack_cleanout, trap, water_closet
from .parts import Part, Point
from .shell import UPPER_FLOOR
from .takeoff import Crew, at_height, uphill


def soil_stack(soil: Crew, vent: Crew, main: Part, design: Design) -> dict[str, Part]:
    """Soil stack S-1 with both upper closets, and its stack vent to VTR-1."""
    sweep = soil.fitting(SWEEP, "s1/base", uphill(main.centre, x=20.0), "base of soil stack S-1")
    foot = sweep.centre
    tee = soil.fitting("Cleanout tee", "s1/cleanout-tee", at_height(foot, 1.5), "soil stack S-1")
    branch = soil.fitting(
        "Sanitary tee", "s1/bath2", at_height(foot, 8.4), "soil stack S-1 at Bath 2 branch"
    )
    closets = soil.fitting(
        design.closet_fitting, "s1/closets", at_height(foot, 9.12), "soil stack S-1 at closets"
    )
    soil.pipe(sweep, main, 3.0, "soil stack S-1, base to building drain")
    soil.pipe(tee, sweep, 3.0, "soil stack S-1, below cleanout")
    soil.pipe(branch, tee, 3.0, "soil stack S-1, level 1")
    soil.pipe(closets, branch, 3.0, "soil stack S-1, level 2")
    stack_cleanout(soil, "s1/cleanout", "Stack cleanout CO-3, S-1", tee, 3.0, "Hall")
    for number, x, space in ((2, 18.0, "Bath 2"), (3, 22.0, "Bath 3")):
        label = f"Water closet WC-{number} ({space})"
        bend = soil.fitting(
            "Closet bend", f"wc{number}/bend", uphill(closets.centre, x=x), f"WC-{number}"
        )
        soil.pipe(bend, closets, 3.0, f"closet branch, WC-{number}")
        water_closet(soil, f"wc{number}", label, (x, 12.0, UPPER_FLOOR), bend, space)
    north, south = stack_vent(vent, "s1", "VTR-1", closets)
    return {"bath2": branch, "north": north, "south": south} | headers(vent, north, south)


def bath2(soil: Crew, vent: Crew, stack: dict[str, Part], design: Design) -> None:
    """Two lavatories and a tub on a 2 in branch in the floor, each with its own vent."""
    floor, slope = UPPER_FLOOR, design.bath2_branch_slope
    below = stack["bath2"]
    start = below.centre
    for number, y, trap_in in ((2, 14.5, 1.25), (3, 17.0, design.lavatory3_trap_in)):
        label = f"Lavatory L-{number} (Bath 2)"
        node = soil.fitting(
            COMBINATION,
            f"bath2/l{number}",
            uphill(start, y=y, slope=slope),
            f"Bath 2 at L-{number}",
        )
        soil.pipe(node, below, 2.0, f"Bath 2 branch, L-{number} to S-1")
        tee = soil.fitting("Sanitary tee", f"l{number}/tee", at_height(node.centre, 11.55), label)
        soil.pipe(tee, node, 1.5, f"waste, L-{number}")
        vent.pipe(stack[f"lav{number}"], tee, 1.5, f"vent, L-{number}")
        lavatory(soil, f"l{number}", label, (19.1, y, floor), trap_in, tee, "Bath 2")
        below = node
    tub(soil, vent, uphill(start, y=19.1, slope=slope), below, stack["tub"], design)


def tub(soil: Crew, vent: Crew, foot: Point, below: Part, header: Part, design: Design) -> None:
    """The tub's trap arm enters a short 2 in drop in wall W1."""
    sweep = soil.fitting(SWEEP, "b1/sweep", foot, "drop of tub B-1")
    soil.pipe(sweep, below, 2.0, "Bath 2 branch, B-1 to L-3")
    trade = "Sanitary tee" if design.tub_vented else "Quarter bend"
    tee = soil.fitting(trade, "b1/tee", at_height(foot, 9.25), "tub B-1")
    soil.pipe(tee, sweep, 2.0, "waste drop, B-1")
    if design.tub_vented:
        vent.pipe(header, tee, 1.5, "vent, B-1")
    bathtub = fixture(
        soil.plan, "Bathtub", "b1", "Bathtub B-1 (Bath 2)", (18.6, 19.1, UPPER_FLOOR), 1.5,
        ((14.2, 17.95, UPPER_FLOOR), (5.0, 2.5, 1.5)), "Bath 2",
    )  # fmt: skip
    trap(soil, bathtub.end("outlet"), "b1/trap", "B-1", 1.5, tee, "Bath 2")


def waste_stack(soil: Crew, vent: Crew, main: Part, south: Part, design: Design) -> None:
    """Waste stack S-3: the shower and lavatory of Bath 3."""
    parts = soil.plan.parts
    sweep = soil.fitting(SWEEP, "s3/base", uphill(main.centre, x=20.0), "base of waste stack S-3")
    foot = sweep.centre
    tee = soil.fitting("Cleanout tee", "s3/cleanout-tee", at_height(foot, 1.5), "waste stack S-3")
    branch = soil.fitting("Sanitary tee", "s3/shower", at_height(foot, 8.5), "S-3 at shower SH-1")
    top = soil.fitting("Sanitary tee", "l4/tee", at_height(foot, 11.55), "S-3 at lavatory L-4")
    soil.pipe(sweep, main, 2.0, "waste stack S-3, base to building drain")
    soil.pipe(tee, sweep, 2.0, "waste stack S-3, below cleanout")
    soil.pipe(branch, tee, 2.0, "waste stack S-3, level 1")
    soil.pipe(top, branch, 2.0, "waste stack S-3, level 2")
    stack_cleanout(soil, "s3/cleanout", "Stack cleanout CO-4, S-3", tee, 2.0, "Hall")
    vent.pipe(parts["header/s3"], top, 2.0, "stack vent, S-3")
    lavatory(
        soil, "l4", "Lavatory L-4 (Bath 3)", (20.9, 9.4, UPPER_FLOOR), 1.25, top, "Bath 3", 1.3
    )
    shower(soil, vent, branch, parts["header/shower"], design)


def shower(soil: Crew, vent: Crew, branch: Part, header: Part, design: Design) -> None:
    """Shower SH-1: its trap arm enters its own vented drop in wall W1, then S-3."""
    sweep = soil.fitting(SWEEP, "sh1/sweep", uphill(branch.centre, y=7.9), "drop of shower SH-1")
    soil.pipe(sweep, branch, 2.0, "shower branch, SH-1 to S-3")
    tee = soil.fitting("Sanitary tee", "sh1/tee", at_height(sweep.centre, 9.2), "shower SH-1")
    soil.pipe(tee, sweep, 2.0, "waste drop, SH-1")
    vent.pipe(header, tee, 1.5, "vent, SH-1")
    pan = fixture(
        soil.plan, "Shower", "sh1", "Shower SH-1 (Bath 3)", (23.4, 7.9, UPPER_FLOOR), 2.0,
        ((21.9, 6.2, UPPER_FLOOR), (3.0, 2.55, 0.3)), "Bath 3", ShowerHeads=1,
    )  # fmt: skip
    trap(soil, pan.end("outlet"), "sh1/trap", "SH-1", design.shower_trap_in, tee, "Bath 3")
