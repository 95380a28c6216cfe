"""The powder room and the kitchen island, drained under the slab."""

from __future__ import annotations

from .attic_vents import VENT_GRADE
from .catalogue import COMBINATION, SWEEP
from .design import Design
from .fixtures import UP, fixture, lavatory, stack_cleanout, trap, water_closet
from .parts import IN, End, Part, between, plus
from .shell import SLAB
from .takeoff import Crew, at_height, uphill


def powder_room(
    soil: Crew, vent: Crew, main: dict[str, Part], header: Part, design: Design
) -> None:
    """Closet WC-1 and lavatory L-1 on the slab; their vents join above the flood rim."""
    start = main["wc1"].centre
    take_off = soil.fitting(COMBINATION, "wc1/vent", uphill(start, x=20.0), "vent of WC-1")
    bend = soil.fitting("Closet bend", "wc1/bend", uphill(start, x=18.3), "WC-1")
    soil.pipe(take_off, main["wc1"], design.powder_branch_in, "closet branch, WC-1 vent down")
    soil.pipe(bend, take_off, 3.0, "closet branch, WC-1")
    water_closet(soil, "wc1", "Water closet WC-1 (Powder room)", (18.3, 4.0, SLAB), bend,
                 "Powder room")  # fmt: skip
    turn = (20.0, 6.5, design.powder_vent_level)
    meet = vent.fitting("Tee", "wc1/vent-tee", uphill(turn, y=4.0), "vent WC-1 at L-1")
    vent.pipe(meet, take_off, 2.0, "vent, WC-1")
    vent.pipe(header, meet, 2.0, "vent, WC-1 and L-1")
    label = "Lavatory L-1 (Powder room)"
    foot = uphill(main["lav1"].centre, x=20.0)
    sweep = soil.fitting(SWEEP, "l1/sweep", foot, "drop of L-1")
    tee = soil.fitting("Sanitary tee", "l1/tee", at_height(foot, 1.55), label)
    soil.pipe(tee, sweep, 2.0, "waste, L-1")
    elbow = vent.fitting("Quarter bend", "l1/vent-bend", turn, "vent L-1")
    vent.pipe(elbow, tee, 1.5, "vent, L-1")
    vent.pipe(meet, elbow, 1.5, "vent, L-1 to WC-1")
    lavatory(soil, "l1", label, (19.1, 6.5, SLAB), 1.25, tee, "Powder room")
    lay_or_stop_short(soil, sweep, main["lav1"], design.powder_lavatory_gap)


def lay_or_stop_short(soil: Crew, upstream: Part, main: Part, gap: float) -> None:
    """The 2 in drain of L-1; with a gap it ends in the ground before its fitting."""
    label = "drain, L-1 to building drain"
    if not gap:
        soil.pipe(upstream, main, 2.0, label)
        return
    mouth = soil.end_towards(main, upstream.centre, 2.0, IN)
    _, back = between(main.centre, upstream.centre)
    soil.stub(upstream, plus(mouth.at, back, gap), 2.0, label)


def kitchen(soil: Crew, vent: Crew, main: Part, header: Part, design: Design) -> None:
    """Island sink K-1 with its loop: the return and the foot vent below the floor."""
    size_in = design.kitchen_drain_in
    back = soil.fitting(
        COMBINATION, "k1/return", uphill(main.centre, x=24.0), "island vent return, K-1"
    )
    sweep = soil.fitting(SWEEP, "k1/sweep", uphill(main.centre, x=24.9), "drop of K-1")
    clean = soil.fitting("Cleanout tee", "k1/cleanout-tee", at_height(sweep.centre, 0.6), "K-1")
    tee = soil.fitting("Sanitary tee", "k1/tee", at_height(sweep.centre, 1.3), "kitchen sink K-1")
    soil.pipe(back, main, size_in, "kitchen drain, K-1 to building drain")
    soil.pipe(sweep, back, size_in, "kitchen drain, K-1 to island vent return")
    soil.pipe(clean, sweep, size_in, "kitchen drain, K-1, below cleanout")
    soil.pipe(tee, clean, size_in, "kitchen drain, K-1, in the island")
    name, toward_north = "Cleanout CO-5 in the island, K-1", (0.0, 1.0, 0.0)
    stack_cleanout(soil, "k1/cleanout", name, clean, size_in, "Kitchen", toward_north)
    island_vent(vent, tee, back, header)
    sink = fixture(
        soil.plan, "Kitchen sink", "k1", "Kitchen sink K-1 (island)", (26.0, 21.0, 2.35), 1.5,
        ((25.3, 20.3, 2.35), (1.4, 1.4, 0.65)), "Kitchen",
    )  # fmt: skip
    disposer = fixture(
        soil.plan, "Food waste disposer", "k1/disposer", "Food waste disposer, K-1",
        (26.0, 21.0, 1.75), 1.5, ((25.7, 20.7, 1.75), (0.6, 0.6, 0.6)), "Kitchen",
    )  # fmt: skip
    inlet = End(disposer, "inlet", sink.end("outlet").at, UP, 1.5, IN, "sanitary")
    disposer.ends.append(inlet)
    soil.plan.join(sink.end("outlet"), inlet)
    dishwasher(soil, disposer)
    trap(soil, disposer.end("outlet"), "k1/trap", "K-1", 1.5, tee, "Kitchen")


def dishwasher(soil: Crew, disposer: Part) -> None:
    """Dishwasher DW-1 from its air gap at the counter down to the side of the disposer.

    Its pumped hose up to the air gap is taken as part of the machine.
    """
    machine = fixture(
        soil.plan, "Dishwasher", "dw1", "Dishwasher DW-1", (26.65, 21.0, 3.05), 0.75,
        ((26.9, 20.2, 0.35), (2.0, 2.0, 2.4)), "Kitchen",
    )  # fmt: skip
    side = End(disposer, "dishwasher", (26.3, 21.0, 2.1), (1.0, 0.0, 0.0), 0.75, IN, "sanitary")
    disposer.ends.append(side)
    soil.pipe(machine.end("outlet"), side, 0.75, "dishwasher drain, air gap to disposer")


def island_vent(vent: Crew, tee: Part, back: Part, header: Part) -> None:
    """Up to the drainboard, behind a raised ledge, over, and down to the drain; a foot vent goes
    to W1."""
    first = vent.fitting("Quarter bend", "k1/loop-up", at_height(tee.centre, 3.1), "island loop")
    over = uphill(first.centre, x=back.centre[0], slope=VENT_GRADE)
    second = vent.fitting("Quarter bend", "k1/loop-down", over, "island loop")
    foot = vent.fitting(COMBINATION, "k1/foot", at_height(back.centre, -0.6), "island foot vent")
    rise = uphill(foot.centre, x=20.0)
    sweep = vent.fitting(SWEEP, "k1/foot-sweep", rise, "island foot vent")
    clean = vent.fitting("Cleanout tee", "k1/foot-cleanout-tee", at_height(rise, 1.5), "foot vent")
    vent.pipe(first, tee, 2.0, "island vent loop, K-1, up")
    vent.pipe(first, second, 2.0, "island vent loop, K-1, over")
    vent.pipe(second, foot, 2.0, "island vent loop, K-1, down")
    vent.pipe(foot, back, 2.0, "island vent return, K-1")
    vent.pipe(sweep, foot, 2.0, "island foot vent, K-1, under slab")
    vent.pipe(clean, sweep, 2.0, "island foot vent, K-1, below cleanout")
    vent.pipe(header, clean, 2.0, "island vent, K-1, in wall W1")
    stack_cleanout(vent, "k1/foot-cleanout", "Cleanout CO-6, island foot vent", clean, 2.0,
                   "Kitchen")  # fmt: skip
