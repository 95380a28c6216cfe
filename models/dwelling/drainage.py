"""Soil, waste, vents and cleanouts, laid uphill from the sewer.

The building drain runs under the slab at x = 22.6. Wall W1 (x = 20) holds soil stack S-1 and
waste stack S-3, wall W2 (x = 30) the laundry stack S-2. In the attic the vents of each wall
gather, grading back, into the stack vent that goes through the roof.
"""

from __future__ import annotations

from .catalogue import COMBINATION
from .design import Design
from .fixtures import cleanout, floor_cleanout
from .ground_floor import kitchen, powder_room
from .laundry import laundry
from .parts import Part, Plan, Point
from .shell import GRADE
from .takeoff import Crew, uphill
from .upper_baths import bath2, soil_stack, waste_stack


def drainage(plan: Plan, design: Design) -> None:
    """Everything between the fixtures, the sewer and the roof."""
    soil = Crew(plan, "sanitary", "dwv")
    vent = Crew(plan, "vent", "dwv", two_way=True)
    main = building_drain(soil, design)
    stack1 = soil_stack(soil, vent, main["s1"], design)
    waste_stack(soil, vent, main["s3"], stack1["south"], design)
    bath2(soil, vent, stack1, design)
    kitchen(soil, vent, main["kitchen"], stack1["header end"], design)
    laundry(soil, vent, main["laundry"], design)
    powder_room(soil, vent, main, stack1["south end"], design)


def building_drain(soil: Crew, design: Design) -> dict[str, Part]:
    """The main from the street to its head, with a combination for each branch."""
    street: Point = (22.6, -40.0, -3.2)
    sewer = soil.fitting("Sewer main connection", "sewer/main", street, "Public sewer connection")
    sewer.box = ((21.6, -42.0, -5.0), (2.0, 2.0, 4.5))
    two_way = soil.fitting(
        "Two-way cleanout", "main/two-way", uphill(street, y=-3), "Two-way cleanout CO-1"
    )
    narrowed = design.sewer_in < 4
    coupling = soil.fitting(
        "Reducer" if narrowed else "Coupling",
        "main/coupling", uphill(street, y=1.5), "building drain at the south wall",
    )  # fmt: skip
    places = {"wc1": 4.0, "lav1": 6.5, "s3": 9.4, "s1": 12.0, "kitchen": 21.0, "laundry": 25.0}
    serves = {
        "wc1": "closet WC-1", "lav1": "lavatory L-1", "s3": "waste stack S-3",
        "s1": "soil stack S-1", "kitchen": "kitchen island", "laundry": "laundry branch",
    }  # fmt: skip
    main: dict[str, Part] = {}
    below, size_in = coupling, 4.0
    for key, y in places.items():
        trade = design.waste_stack_junction if key == "s3" else COMBINATION
        main[key] = soil.fitting(
            trade, f"main/{key}", uphill(street, y=y), f"building drain at {serves[key]}"
        )
        soil.pipe(main[key], below, size_in, f"building drain, {serves[key]} down")
        below = main[key]
    soil.pipe(coupling, two_way, design.sewer_in, "building drain, south wall to CO-1")
    soil.pipe(two_way, sewer, design.sewer_in, "building sewer")
    grade_plug = cleanout(
        soil, "main/two-way/plug", "Cleanout CO-1 at grade", (22.6, -3.0, GRADE), (0, 0, -1), 4.0
    )
    soil.pipe(grade_plug.end("neck"), two_way, 4.0, "cleanout riser CO-1")
    floor_cleanout(
        soil, main["laundry"], "main/head", "Floor cleanout CO-2, head of building drain",
        uphill(street, y=27.5), 4.0, design.main_cleanout_in, "Kitchen",
    )  # fmt: skip
    return main
