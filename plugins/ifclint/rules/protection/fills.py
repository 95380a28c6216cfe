"""Rules about water that ends in the open: fills over tanks, and what equipment discharges."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import takewhile

from ifclint.checks import NOT_APPLICABLE, Fact, check, due, given, known, not_known, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import WaterSegment
from ifclint.plumbing.drainage.receptors import receptor_under
from ifclint.plumbing.drainage.through_air import row_for
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.supply.fills import Fill, fill_of
from ifclint.rules.protection.devices import Device, device_of, serves
from ifclint.rules.protection.indirect import gap_of_size

DISCHARGES = frozenset({System.CONDENSATE, System.RELIEF})
MAKE_WASTE = frozenset({Role.APPLIANCE, Role.TANK, Role.OTHER, Role.FIXTURE})
IN_PLACE_OF_A_GAP = frozenset(
    {Device.REDUCED_PRESSURE, Device.PRESSURE_VACUUM_BREAKER, Device.ATMOSPHERIC_VACUUM_BREAKER}
)
DEVICE = Fact(
    "of what kind the backflow preventer before {}, which dips into its tank, is, is not known.",
    "Name the device by its kind (reduced pressure, atmospheric or pressure vacuum breaker).",
)
SIZE = Fact("the size of {}, which sets its air gap, is not known.", "Give it a nominal diameter.")
OVER = Fact(
    "over what the discharge of {} ends is not known.",
    "Draw the receptor with a shape, and the discharge line up to its end.",
)


@derived
def fills(context: Context) -> dict[str, Fill]:
    """The water lines that are fills, by their key."""
    found = ((line.key, fill_of(line)) for line in context.plumbing.supply.segments)
    return {key: fill for key, fill in found if fill is not None}


@rule(
    title="Fill above the rim of its tank",
    clauses={"upc": "603.3.1", "ipc": "608.16.1", "irc": "P2902.3.1"},
    severity=Severity.HIGH,
    applies=lambda line: not line.below and fill_of(line) is not None,
)
def fill_air_gap(line: WaterSegment, context: Context) -> Answer:
    """A fill that dips into a cistern drinks from it when the main loses pressure.

    A water line that ends in the open above a tank or pool, that comes over the rim of a cistern, a
    pool or another open vessel and ends in it, or that is called a fill and ends over or in a tank
    or receptor: how high above its top, against twice the size of the line. One that dips in behind
    a reduced-pressure device or a vacuum breaker of its own is excused. The overflow of a tank, and
    walls beside the fill, are not looked at.
    """
    fill = fills(context)[line.key]
    _, (_, _, rim) = given(fill.over.box)
    above = (fill.end[2] - rim) / M_PER_IN
    if above < 0 and known(_is_guarded(fill, context), DEVICE, line):
        return NOT_APPLICABLE
    last = context.plumbing.network.elements[fill.at]
    least = context.code.limit("fill_air_gap_min_in")
    times = context.code.limit("fill_air_gap_diameters")
    size = last.size_in if last.size_in is not None else line.size_in
    ids = (last.guid, fill.over.guid)
    if size is None and at_least(above, least.value, "in"):
        return not_known(SIZE, line, elements=ids)
    gap = replace(least, value=max(least.value, times.value * or_zero(size)))
    side = above_or_below(above)
    return check(
        above,
        at_least=gap,
        message=f"{line.label} ends {number_text(abs(above))} in {side} the top of "
        f"{fill.over.label}; an air gap of {number_text(gap.value)} in is asked for.",
        remedy=f"End the fill {number_text(gap.value)} in above the top of the tank, or above the "
        "rim over which it flows.",
        limit_step="Least air gap for the size of the line",
        elements=ids,
    )


def _is_guarded(fill: Fill, context: Context) -> bool | None:
    """Whether a device that may stand for the air gap is in what leads to a fill alone; None where
    one stands there whose kind is not told."""
    supply = context.plumbing.supply
    alone = supply.serves[fill.at]
    own = takewhile(lambda i: supply.serves[i] <= alone, onward(fill.at, supply.distribution.up))
    devices = (device_of(supply.elements[i]) for i in own)
    said = [serves(device, IN_PLACE_OF_A_GAP) for device in devices if device is not None]
    return True if True in said else None if None in said else False


@dataclass(eq=False)
class Discharger(OfElement):
    """Equipment whose waste water leaves by a line that is no drain: backwash, blowdown, brine."""

    element: Element
    line: DischargeLine
    service = System.CONDENSATE


@derived
def dischargers(context: Context) -> list[Discharger]:
    """Equipment that drains through the air by the code, with a line of its own that does."""
    network, drains = context.plumbing.network, {f.index for f in context.plumbing.fixtures}
    found = []
    for at in network.of_roles(*MAKE_WASTE):
        element = network.elements[at]
        if at in drains or row_for(element, context) is None:
            continue
        ports = [n for n in neighbours(network, at) if network.elements[n[0]].system in DISCHARGES]
        if ports:
            found.append(Discharger(element, follow(network, at, ports)))
    return found


@rule(
    title="Backwash and other discharge end above their receptor",
    clauses={"upc": "801.3", "ipc": "802.1", "irc": "P2909.2"},
)
def discharge_air_gap(equipment: Discharger, context: Context) -> Iterator[Answer]:
    """A softener that backwashes into a drain sucks from it when its valve stands open to both.

    Water treatment, food equipment, ice machines and sterilizers, by their names, whose waste line
    is drawn as a discharge and not as a drain: it ends as far above the rim of a receptor as the
    air gap of indirect waste asks for, and is joined to no drain.
    """
    row, line = due(row_for(equipment.element, context)), equipment.line
    ids = (line.last.guid, equipment.element.guid)
    if line.runs_into is not None and line.runs_into.system is System.SANITARY:
        yield violation(
            message=f"The discharge of {equipment.label} is joined to {line.runs_into.label} "
            "without an air gap.",
            remedy="End it in the open above a floor sink or another receptor.",
            elements=ids,
            clause=row.clause,
        )
        return
    receptor = receptor_under(context.plumbing.network, line.end)
    box = known(receptor.box if receptor is not None else None, OVER, equipment)
    end = given(line.end)
    gap, above = gap_of_size(line.last.size_in, context), (end[2] - box[1][2]) / M_PER_IN
    if line.last.size_in is None and at_least(above, gap.value, "in"):
        yield not_known(SIZE, line.last, elements=ids)
        return
    yield check(
        above,
        at_least=gap,
        message=f"The discharge of {equipment.label} ends {number_text(abs(above))} in "
        f"{above_or_below(above)} the rim of {receptor.label if receptor else ''}; an air gap of "
        f"{number_text(gap.value)} in is asked for.",
        remedy=f"End the line at least {number_text(gap.value)} in above the rim of the receptor.",
        limit_step="Least air gap for the size of the line",
        elements=ids,
        clause=row.clause,
    )
