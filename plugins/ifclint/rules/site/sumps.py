"""Rules about sumps and ejectors: their size, their pumps, their discharge.

Their valves stand with the drainage, their vents with the venting.
"""

from collections.abc import Iterator

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    given,
    known,
    missing,
    not_known,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import sides_m
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import BuildingDrain
from ifclint.plumbing.drainage.pressure import stands_in
from ifclint.plumbing.drainage.pumped import PUMPED, discharge_of, ejectors, pumps_at
from ifclint.plumbing.words import says
from ifclint.rules.site.section import SiteSection
from ifclint.rules.site.wastes import HUMAN_WASTE

TWO = ("duplex", "dual pump", "two pump", "2 pump", "twin pump", "double pump", "doppelpump*")
GRINDER = ("grinder", "macerat*", "schneidwerk*", "broyeur")
SIZE = Fact("the size of the discharge of {} is not known.", "Give the pipe a nominal diameter.")
DWELLING = Fact(
    "whether {}, whose discharge is {}, serves a dwelling",
    "Give the occupancy in the job file (building.occupancy).",
)
HOW_LARGE = Fact("how large {} is, is not known.", "Give the sump a shape.")


def _is_pumped(drain: BuildingDrain) -> bool:
    return drain.outlet.kind == PUMPED and bool(drain.fixtures)


def _sump(drain: BuildingDrain) -> Element:
    return drain.piping.elements[drain.outlet.element]


@rule(
    title="Sump large enough for its pump",
    clauses={"ipc": "712.3.2", "irc": "P3007.3.2"},
    applies=lambda drain: _is_pumped(drain) and _sump(drain).role is Role.CHAMBER,
    of_load=True,
)
def sump_size(drain: BuildingDrain, context: Context) -> Iterator[Answer]:
    """In a pit too small the pump starts every minute and soon no more.

    The narrower side and the depth of the sump's box, walls and all, so that what is too small is
    so for certain. A pump without a pit of its own in the model is not asked.
    """
    sump = _sump(drain)
    low, high = known(sump.box, HOW_LARGE, sump)
    x, y, depth = (side / M_PER_IN for side in sides_m(low, high))
    for name, value, wide in (("diameter", min(x, y), "wide"), ("depth", depth, "deep")):
        least = context.code.limit(f"sump_{name}_in")
        yield check(
            value,
            at_least=least,
            message=f"{sump.label} is {number_text(value)} in {wide}.",
            remedy=f"Set a sump with a {name} of at least {number_text(least.value)} in.",
            limit_step=f"Least {name} of a sump",
            elements=(sump.guid,),
            about=name,
        )


PUMPS = PartKind(
    "pumps of sumps",
    drawn=lambda context: any(
        pumps_at(context.plumbing.network.elements[o.element], context)
        for o in ejectors(context).values()
    ),
    remedy="Model each pump (IfcPump) in or at its sump, or name the sump as duplex.",
)


@rule(title="Two pumps where the public is served", clauses={"upc": "710.9"}, applies=_is_pumped)
def sump_two_pumps(drain: BuildingDrain, context: Context) -> Answer:
    """When the only pump stops, a public toilet runs over before anybody can close it.

    Sumps of buildings in public or assembly use: two pumps drawn in, at or behind the sump, or one
    that is called duplex. In private use one is enough.
    """
    if context.job.building.use == "private":
        return NOT_APPLICABLE
    sump = _sump(drain)
    pumps = pumps_at(sump, context)
    if len(pumps) > 1 or any(says(e, TWO) for e in (sump, *pumps)):
        return PASS
    one = "one pump" if pumps else "no pump"
    text = "Set two pumps that start in turn, each able to do it alone."
    return missing(
        PUMPS,
        message=f"{sump.label} has {one}; in public use there are two.",
        remedy=Change("part", (sump.guid,), "pump", text),
        elements=(sump.guid, *(p.guid for p in pumps)),
    )


ALARM = ("alarm*", "high water", "high level", "alerte", "alarma", "сигнализ*")
ALARMS = PartKind(
    "alarms of sumps",
    drawn=lambda context: bool(context.plumbing.saying(ALARM)),
    remedy="Name the pump, the sump or what controls it with its alarm, or state it in the job "
    "file (site.sump_alarm).",
)


@rule(
    title="Alarm on a sump where the public is served", clauses={"upc": "710.9"}, applies=_is_pumped
)
def sump_alarmed(drain: BuildingDrain, context: Context) -> Answer:
    """A pump that has stopped is heard, or it is found when the pit runs over.

    Sumps of buildings in public or assembly use: an alarm by the name of the sump, of its pump or
    of what stands in it, or by the job file (site.sump_alarm), as few models draw one.
    """
    told = context.job.section(SiteSection).sump_alarm
    if told or context.job.building.use == "private":
        return PASS if told else NOT_APPLICABLE
    sump = _sump(drain)
    near = (e for e in context.plumbing.network.elements if stands_in(e, sump))
    if any(says(e, ALARM) for e in (sump, *pumps_at(sump, context), *near)):
        return PASS
    message = f"{sump.label} has no alarm that is heard and seen."
    text = "Fit an alarm, heard and seen, for a pump that fails or cannot keep up."
    change = Change("part", (sump.guid,), "alarm", text)
    if told is False:
        return violation(message=message, remedy=change, elements=(sump.guid,))
    return missing(ALARMS, message=message, remedy=change, elements=(sump.guid,))


@rule(
    title="Discharge of an ejector large enough for what it pumps",
    clauses={"upc": "710.3", "ipc": "712.4.2", "irc": "P3007.6"},
    severity=Severity.HIGH,
    applies=lambda drain: _is_pumped(drain) and any(f.kind in HUMAN_WASTE for f in drain.fixtures),
    of_load=True,
)
def ejector_discharge_size(drain: BuildingDrain, context: Context) -> Answer:
    """What passes the pump must pass the pipe behind it.

    The smallest pipe from a sump or ejector that closets or urinals drain into to the drain it
    discharges into; the UPC asks for more where it does not serve a dwelling. A grinder pump is
    excused. A discharge that is not drawn is asked for with the drainage.
    """
    sump = _sump(drain)
    passed = discharge_of(ejectors(context)[sump.guid], context)
    pipes = [e for e in passed if e.role is Role.PIPE]
    if not pipes or any(says(e, GRINDER) for e in (sump, *passed)):
        return NOT_APPLICABLE
    if unknown := [p.guid for p in pipes if p.size_in is None]:
        return not_known(SIZE, sump, elements=unknown)
    pipe = min(pipes, key=lambda p: or_zero(p.size_in))
    size, ids = given(pipe.size_in), (pipe.guid, sump.guid)
    least = known(_least_discharge(pipe, context), DWELLING, sump, trade_size(size), elements=ids)
    needed = trade_size(least.value)
    text = f"Make the discharge at least {needed}, up to the drain."
    return check(
        size,
        at_least=least,
        message=f"The discharge of {sump.label} is {trade_size(size)}.",
        remedy=Change("part", (pipe.guid,), f"{needed} discharge", text),
        limit_step="Discharge of an ejector that takes closets or urinals, at least",
        elements=ids,
    )


def _least_discharge(pipe: Element, context: Context) -> Limit | None:
    """The least size here; None where it hangs on the occupancy, and that is not stated."""
    home, other = (context.code.limit(f"ejector_discharge_{of}_in") for of in ("home", "other"))
    occupancy, size = context.job.building.occupancy, or_zero(pipe.size_in)
    told = occupancy is not None
    if occupancy == "private" or not at_least(size, home.value, "in"):
        return home
    return other if told or at_least(size, other.value, "in") else None
