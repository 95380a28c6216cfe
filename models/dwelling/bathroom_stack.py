"""One bathroom stack over a length of building drain, as it repeats in the big test models.

Feet. The building drain runs along y, downstream toward -y, from y = LENGTH to 0; the stack
stands over its middle and takes a closet, a lavatory and a tub on each of three storeys, every
one with its own vent into a vent stack.
"""

from __future__ import annotations

from .catalogue import COMBINATION, SWEEP
from .fixtures import cleanout, fixture, lavatory, trap, vent_terminal, water_closet
from .parts import IN, OUT, Part, Plan, Point, plus
from .takeoff import QUARTER_INCH_PER_FOOT, Crew, at_height, device, take_off, uphill

LENGTH = 12.0
RISE = LENGTH * QUARTER_INCH_PER_FOOT
MAIN_IN = 6.0
FLOORS = (4.0, 14.0, 24.0)
ROOF_VENT_TOP = 37.0
# Where one length of building drain meets the next: the lower end of the coupling at y = 0.
_ALONG = take_off(MAIN_IN) / (1 + QUARTER_INCH_PER_FOOT**2) ** 0.5
JOINT: Point = (0.0, -_ALONG, -_ALONG * QUARTER_INCH_PER_FOOT)


def bathroom_stack(name: str) -> Plan:
    """The stack and its piece of building drain; open at both ends of the drain."""
    plan = Plan()
    soil, vent = Crew(plan, "sanitary", "dwv"), Crew(plan, "vent", "dwv", two_way=True)
    coupling = soil.fitting("Coupling", "main/coupling", (0.0, 0.0, 0.0), "building drain")
    soil.end_towards(coupling, JOINT, MAIN_IN, OUT)
    node = soil.fitting(COMBINATION, "main/stack", uphill(coupling.centre, y=6.0), name)
    soil.pipe(node, coupling, MAIN_IN, f"building drain, {name}")
    inlet = plus(JOINT, (0.0, LENGTH, RISE))
    soil.lead_in("pipe/main", inlet, node, MAIN_IN, f"building drain, above {name}")
    top = soil.fitting(SWEEP, "stack/base", uphill(node.centre, x=-2.0), name)
    soil.pipe(top, node, 3.0, f"{name}, base")
    vents: list[Part] = []
    for number, floor in enumerate(FLOORS, 1):
        top = storey(soil, vent, f"level-{number}", f"{name}, level {number}", floor, top, vents)
    vent_terminal(vent, "stack/vtr", f"Vent through roof, {name}", top, ROOF_VENT_TOP, 3.0)
    vent_terminal(vent, "vent/vtr", f"Vent through roof, {name}", vents[-1], ROOF_VENT_TOP, 2.0)
    return plan


def storey(
    soil: Crew, vent: Crew, tag: str, name: str, floor: float, below: Part, vents: list[Part]
) -> Part:
    """Three branches into the stack, tub lowest, closet highest; returns the closet's tee."""
    tees = []
    for key, drop in (("tub", 2.36), ("lavatory", 1.62), ("closet", 0.88)):
        at = at_height(below.centre, floor - drop)
        tee = soil.fitting("Sanitary tee", f"{tag}/{key}-tee", at, f"stack, {name}")
        soil.pipe(tee, below, 3.0, f"stack, {name}")
        tees.append(tee)
        below = tee
    lavatory_tee = wall_drop(soil, tees[1], f"{tag}/lavatory", 3.5, floor + 1.55, 1.5, name)
    tub_tee = wall_drop(soil, tees[0], f"{tag}/tub", 8.5, floor - 0.75, 2.0, name)
    lavatory(soil, f"{tag}/lavatory", f"Lavatory, {name}", (-2.9, 3.5, floor), 1.25,
             lavatory_tee, "")  # fmt: skip
    bathtub = fixture(
        soil.plan, "Bathtub", f"{tag}/tub", f"Bathtub, {name}", (-3.4, 8.5, floor), 1.5,
        ((-8.0, 7.3, floor), (5.0, 2.5, 1.5)), "",
    )  # fmt: skip
    trap(soil, bathtub.end("outlet"), f"{tag}/tub/trap", name, 1.5, tub_tee, "")
    closet_vent = closet(soil, tees[2], f"{tag}/closet", name, floor)
    for number, (fitting, size_in) in enumerate(
        ((lavatory_tee, 1.5), (closet_vent, 2.0), (tub_tee, 1.5))
    ):
        to_vent_stack(
            vent, fitting, size_in, f"{tag}/vent-{number}", name, floor + 4 + number, vents
        )
    return below


def wall_drop(
    soil: Crew, stack: Part, tag: str, y: float, z: float, size_in: float, name: str
) -> Part:
    """A vertical drain in the wall with its sanitary tee at `z`, and its branch to the stack."""
    sweep = soil.fitting(SWEEP, f"{tag}/sweep", uphill(stack.centre, y=y), name)
    tee = soil.fitting("Sanitary tee", f"{tag}/wall-tee", at_height(sweep.centre, z), name)
    soil.pipe(sweep, stack, 2.0, f"branch, {name}")
    soil.pipe(tee, sweep, size_in, f"drop, {name}")
    return tee


def closet(soil: Crew, stack: Part, tag: str, name: str, floor: float) -> Part:
    take_off_at = uphill(stack.centre, x=-3.5)
    vented = soil.fitting(COMBINATION, f"{tag}/vent", take_off_at, name)
    bend = soil.fitting("Closet bend", f"{tag}/bend", uphill(stack.centre, x=-5.0), name)
    soil.pipe(vented, stack, 3.0, f"closet branch, {name}")
    soil.pipe(bend, vented, 3.0, f"closet branch, {name}")
    water_closet(soil, tag, f"Water closet, {name}", (-5.0, 6.0, floor), bend, "")
    return vented


def to_vent_stack(
    vent: Crew, fitting: Part, size_in: float, tag: str, name: str, z: float, vents: list[Part]
) -> None:
    """Up above the flood rim, over to the vent stack at (-6, 3.5), and along it."""
    bend = vent.fitting("Quarter bend", f"{tag}/bend", at_height(fitting.centre, z), name)
    tee = vent.fitting("Tee", f"{tag}/tee", uphill(bend.centre, -6.0, 3.5), f"vent stack, {name}")
    vent.pipe(bend, fitting, size_in, f"vent, {name}")
    vent.pipe(tee, bend, size_in, f"vent, {name}")
    if vents:
        vent.pipe(tee, vents[-1], 2.0, f"vent stack, {name}")
    vents.append(tee)


def street() -> Plan:
    """The sewer that a row of stacks drains to; its inlet meets the first coupling's outlet."""
    plan = Plan()
    device(
        plan, "Sewer main connection", "sewer", "Public sewer connection", "sanitary",
        {"inlet": (JOINT, (0.0, 1.0, 0.0), MAIN_IN, IN, "sanitary")},
        box=((-1.0, -2.6, -2.0), (2.0, 2.0, 5.0)),
    )  # fmt: skip
    return plan


def row_head() -> Plan:
    """The cleanout at the upper end of a row, on the last pipe's inlet."""
    plan = Plan()
    soil = Crew(plan, "sanitary", "dwv")
    cleanout(soil, "head", "Cleanout, head of building drain", JOINT, (0.0, -1.0, 0.0), MAIN_IN)
    return plan
