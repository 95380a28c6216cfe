"""The rule about vacuum pumps: their water does not run straight into the drainage."""

from dataclasses import dataclass

from ifclint.checks import NOT_APPLICABLE, PASS, violation
from ifclint.engineering.joined import NONE
from ifclint.findings import Answer, Change, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.drainage.receptors import RECEPTOR
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.protection.hazard_names import named_hazard

VACUUM = frozenset({"vacuum-pump", "dental-vacuum"})


@dataclass(eq=False)
class VacuumDischarge(OfElement):
    """A vacuum pump that drainage is joined to, by that drain."""

    element: Element
    drain: int
    pressed: tuple[int, ...] = ()  # what its discharge passes before that drain


@derived
def vacuum_discharges(context: Context) -> list[VacuumDischarge]:
    network, drainage = context.plumbing.network, context.plumbing.drainage
    members = set(drainage.members)
    pumps = network.of_roles(Role.PUMP)
    vacuum = [i for i in pumps if named_hazard(network.elements[i]) in VACUUM]
    lifted = [
        VacuumDischarge(network.elements[led.pump], led.entry, led.path)
        for led in drainage.discharges
        if led.pump in vacuum and led.entry != NONE and drainage.outlet[led.entry] != NONE
    ]
    led_from = {discharge.element.guid for discharge in lifted}
    return lifted + [
        VacuumDischarge(element, drain)
        for index in vacuum
        if (element := network.elements[index]).guid not in led_from
        for drain in network.neighbours(index)
        if drain in members and drainage.outlet[drain] != NONE
    ]


@derived
def _past_traps(context: Context) -> list[bool]:
    """Of each element, whether what has passed a fixture's trap passes it."""
    drainage = context.plumbing.drainage
    starts = {arm.start for arm in context.plumbing.venting.arms}
    return drainage.passed_by(drainage.down[start] for start in starts)


@rule(
    title="Vacuum pump drains through the air or a trap",
    clauses={"upc": "801.2", "ipc": "802.1", "irc": "P2909.2"},
    severity=Severity.HIGH,
)
def vacuum_pump_drain(discharge: VacuumDischarge, context: Context) -> Answer:
    """A pump that stands still draws sewer gas into the rooms, and sewage into its seal water.

    The drain of a vacuum pump ends over a receptor, or a trap stands in it before the drain of a
    fixture with another comes in: one in the building drain keeps no air of those from it. One
    that ends nowhere is told as a drain.
    """
    drainage, elements = context.plumbing.drainage, context.plumbing.network.elements
    shared = _past_traps(context)
    outlet = drainage.outlets[drainage.outlet[discharge.drain]]
    way = (*discharge.pressed, discharge.drain, *drainage.path(discharge.drain))
    own = (elements[i] for i in way if not shared[i])
    if outlet.kind == RECEPTOR or any(e.role is Role.TRAP for e in own):
        return PASS
    if not outlet.accepted or elements[outlet.element] is discharge.element:
        return NOT_APPLICABLE
    text = "End its discharge through an air gap over a floor sink or a trapped standpipe."
    return violation(
        message=f"{discharge.label} discharges into the drainage without an air gap or a trap.",
        remedy=Change("part", discharge.element_ids, "air gap", text),
        elements=(discharge.element.guid, elements[discharge.drain].guid),
    )
