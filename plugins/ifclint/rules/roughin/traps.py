"""The rule about traps shut in walls and floors."""

from dataclasses import dataclass
from statistics import median

from ifclint.checks import PASS, Answer, Fact, check, not_known, violation
from ifclint.engineering.extents import sides_m
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import fraction_text
from ifclint.findings import Change
from ifclint.ifc.elements import Element, Point, Role, Surface, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.surroundings.obstacles import Obstacle
from ifclint.plumbing.words import says, says_text

PANEL_M = 0.3  # as deep as a wall in which an access panel opens
LOOSE = ("slip joint", "slip nut", "slip connection", "tubular")  # joints that are tightened again
FAST = (  # materials whose joints are made once: cemented, soldered, hubbed
    "abs", "pvc", "cpvc", "cast iron", "iron", "dwv", "copper", "polypropylene", "stainless",
)  # fmt: skip
SLIP_JOINTS = Fact(
    "{}; whether it has slip joints is not known.",
    "Give the trap its material, or its joints by name. With slip joints: {1}",
)


@dataclass(eq=False)
class ShutTrap(OfElement):
    """A trap whose middle lies in a wall or slab."""

    element: Element
    place: Point
    within: Obstacle
    service = System.SANITARY


@derived
def shut_traps(context: Context) -> list[ShutTrap]:
    """Every trap drawn that lies in a wall or slab, by its box."""
    found = []
    for element in context.plumbing.network.of_role[Role.TRAP]:
        at = element.position
        if at is None:
            continue
        around = context.plumbing.surroundings.within(at, at)
        walls = [o for o in around if o.kind in ("wall", "slab")]
        found += [ShutTrap(element, at, walls[0])] if walls else []
    return found


@rule(
    title="Trap with slip joints within reach",
    clauses={"upc": "402.10", "ipc": "405.9", "irc": "P2704.1"},
)
def trap_reached(trap: ShutTrap, context: Context) -> Answer:
    """A slip joint that weeps is tightened by hand, if there is a way to it.

    Traps in walls and slabs, by their boxes, whose name or type tells slip joints: an access panel
    (an IfcDoor) before them, as large as the code asks, by its box, frame and all, so that what is
    too small is so for certain. Joints that are cemented, soldered or hubbed, told by the material,
    need no way; of a trap in a wall that tells neither it is asked. Traps in open rooms, crawl
    spaces and cabinets lie in no wall.
    """
    e, limit = trap.element, context.code.limit("trap_access_in")
    is_loose = says(e, LOOSE) or says_text(e.material, LOOSE)
    if not is_loose and (says_text(e.material, FAST) or trap.within.kind == "slab"):
        return PASS
    panels = [p for p in context.plumbing.surroundings.of_kind("door") if _is_before(p, trap)]
    if panels:
        side_in = max(median(sides_m(p.low, p.high)) for p in panels) / M_PER_IN
        least = fraction_text(limit.value)
        return check(
            side_in,
            at_least=limit,
            message=f"The access panel before {trap.element.label} is "
            f"{fraction_text(side_in, 3)} in at its narrowest; {least} in are asked for.",
            remedy=f"Make the panel {least} in or more each way.",
        )
    shut = f"{e.label} lies in {trap.within.label}, without an access panel"
    text = f"Show an access panel of {fraction_text(limit.value)} in or more each way before it."
    if not is_loose:
        return not_known(SLIP_JOINTS, shut, text.lower(), clause=limit.clause)
    return violation(
        message=f"{shut} to its slip joints.",
        remedy=Change("part", (e.guid,), "access panel", text),
        elements=(e.guid, trap.within.guid),
    )


def _is_before(panel: Surface, trap: ShutTrap) -> bool:
    """Whether a panel stands before a trap, through the thickness of the wall or slab."""
    wall = trap.within
    thin = min(range(3), key=lambda k: wall.high[k] - wall.low[k])
    reach = [PANEL_M if k == thin else 0.0 for k in range(3)]
    return all(
        panel.low[k] - reach[k] <= trap.place[k] <= panel.high[k] + reach[k] for k in range(3)
    )
