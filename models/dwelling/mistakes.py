"""What is wrong in the early revision: each mistake is one choice of the design made badly."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .design import Design
from .takeoff import EIGHTH_INCH_PER_FOOT, QUARTER_INCH_PER_FOOT


@dataclass(frozen=True)
class Mistake:
    """`field` of the design is `value` instead of its default; `element` is where to look."""

    field: str
    value: object
    discipline: str
    element: str  # tag of the element to click
    wrong: str
    right: str


MISTAKES: tuple[Mistake, ...] = (
    Mistake("powder_branch_in", 2.0, "drainage", "pipe/wc1/vent>main/wc1",
            "Closet WC-1 drains through 2 in pipe", "3 in from closet to building drain"),
    Mistake("kitchen_drain_in", 1.5, "drainage", "pipe/k1/return>main/kitchen",
            "Kitchen sink drain is 1-1/2 in beyond its trap arm",
            "2 in beyond the trap arm (UPC)"),
    Mistake("standpipe_trap_in", 1.5, "drainage", "sp1/trap",
            "Clothes washer standpipe SP-1 has a 1-1/2 in trap and trap arm", "2 in"),
    Mistake("bath2_branch_slope", EIGHTH_INCH_PER_FOOT, "drainage", "pipe/bath2/l2>s1/bath2",
            "The 2 in branch of Bath 2 falls 1/8 in per ft", "1/4 in per ft"),
    Mistake("laundry_branch_slope", -QUARTER_INCH_PER_FOOT, "drainage", "pipe/ls1/sweep>s2/sink",
            "The laundry sink branch rises toward the stack", "fall 1/4 in per ft to S-2"),
    Mistake("sewer_in", 3.0, "drainage", "main/coupling",
            "The 4 in building drain is reduced to 3 in, and so on to the street",
            "4 in to the street"),
    Mistake("waste_stack_junction", "Sanitary tee", "drainage", "main/s3",
            "Waste stack S-3 joins the building drain, horizontal to horizontal, "
            "by a sanitary tee on its back", "combination wye and eighth bend"),
    Mistake("closet_fitting", "Double sanitary tee", "drainage", "s1/closets",
            "Closets WC-2 and WC-3 meet in a 3 in double sanitary tee",
            "double combination wye and eighth bend (UPC)"),
    Mistake("powder_lavatory_gap", 0.5, "drainage", "pipe/l1/sweep>open",
            "The drain of lavatory L-1 ends 6 in short of its fitting",
            "carry it to the building drain"),
    Mistake("shower_trap_in", 1.5, "drainage", "sh1/trap",
            "Shower SH-1 has a 1-1/2 in trap and trap arm", "2 in (UPC)"),
    Mistake("lavatory3_trap_in", 1.0, "drainage", "l3/trap",
            "Lavatory L-3 has a 1 in trap and trap arm", "1-1/4 in"),
    Mistake("floor_drain_size_stated", False, "drainage", "pipe/fd1/bend>fd1/wye",
            "A pipe of the floor drain branch has no size", "state it: 2 in"),
    Mistake("tub_vented", False, "venting", "b1/trap",
            "Tub B-1 has no vent: a bend stands where the vented tee should be",
            "sanitary tee and 1-1/2 in vent to the attic header"),
    Mistake("laundry_sink_x", 34.4, "traps", "ls1/trap",
            "The trap arm of laundry sink LS-1 is about 4 ft long in 1-1/2 in",
            "3-1/2 ft at most (UPC): set the sink by wall W2"),
    Mistake("powder_vent_level", 2.2, "venting", "l1/vent-bend",
            "The vent of L-1 turns horizontal below the flood rim",
            "6 in or more above the rim: 3.6 ft above the floor"),
    Mistake("floor_drain_vent_to_stack", False, "venting", "pipe/fd1/vent>open",
            "The vent of floor drain FD-1 ends open in the attic", "connect it to the stack vent"),
    Mistake("laundry_cleanout", False, "cleanouts", "s2/base",
            "The laundry branch has no cleanout at its upper end",
            "floor cleanout CO-7 in the mechanical room"),
    Mistake("refrigerator_y", 21.2, "cleanouts", "k1/foot-cleanout",
            "The refrigerator stands in front of cleanout CO-6", "24 in clear before it"),
    Mistake("main_cleanout_in", 2.0, "cleanouts", "main/head/plug",
            "Cleanout CO-2 on the 4 in building drain is 2 in", "4 in"),
    Mistake("pressure_reducing_valve", False, "water", "cold/shutoff",
            "No pressure reducing valve, with 92 psi at the street", "PRV-1 set to 60 psi"),
    Mistake("lavatory4_crossed", True, "water", "l4",
            "Hot and cold are crossed at lavatory L-4", "hot to hot, cold to cold"),
    Mistake("upper_cold_main_in", 0.5, "water", "pipe/cold/west>b1/cold-tee",
            "The cold main of both bathrooms is 1/2 in", "1 in"),
    Mistake("relief1_rises", True, "water heaters", "wh1/relief/turn-0",
            "The relief line of WH-1 rises a foot from its valve", "fall all the way"),
    Mistake("relief2_in", 0.5, "water heaters", "pipe/wh2/relief>wh2/relief/turn-0",
            "The relief line of WH-2 is 1/2 in on a 3/4 in valve", "3/4 in"),
    Mistake("washer_pan_drained", False, "water heaters", "cw1/pan",
            "The washer pan has no drain", "1 in pan drain to a visible place"),
    Mistake("gas_trunk_in", 0.75, "gas", "pipe/gas/corner>gas/furnace-tee",
            "The gas trunk is 3/4 in for 247 cu ft/h", "1-1/4 in"),
    Mistake("furnace_sediment_trap", False, "gas", "f1/gas-turn",
            "Furnace F-1 has no sediment trap", "tee, nipple and cap before its connection"),
)  # fmt: skip

CORRECTED = Design()


def with_mistakes(*fields: str) -> Design:
    """The corrected design with only these mistakes made."""
    unknown = set(fields) - {mistake.field for mistake in MISTAKES}
    if unknown:
        raise ValueError(f"no such mistake: {', '.join(sorted(unknown))}")
    changes = {m.field: m.value for m in MISTAKES if m.field in fields}
    return replace(CORRECTED, **changes)  # type: ignore[arg-type]


EARLY = with_mistakes(*(mistake.field for mistake in MISTAKES))
REVISIONS = {"corrected": CORRECTED, "early": EARLY}
