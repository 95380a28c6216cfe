"""Rules about sumps of storm and ground water: the pit, and the check valve behind its pump."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Answer, Fact, check, known, missing
from ifclint.engineering.extents import sides_m
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Change, PartKind
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing.storm.sumps import StormSump, storm_sumps

HOW_LARGE = Fact("how large {} is, is not known.", "Give the sump a shape.")


@rule(
    title="Storm sump large enough for its pump",
    clauses={"ipc": "1113.1.2", "irc": "P3303.1.2"},
    of_load=True,
)
def storm_sump_size(sump: StormSump, context: Context) -> Iterator[Answer]:
    """In a pit too small the pump starts every minute, and is worn out when the storm comes.

    The narrower side and the depth of the sump's box, walls and all, so that what is too small is
    so for certain.
    """
    e = sump.element
    low, high = known(e.box, HOW_LARGE, e)
    x, y, depth = (side / M_PER_IN for side in sides_m(low, high))
    for name, value, wide in (("diameter", min(x, y), "wide"), ("depth", depth, "deep")):
        least = context.code.limit(f"storm_sump_{name}_in")
        yield check(
            value,
            at_least=least,
            message=f"{e.label} is {number_text(value)} in {wide}.",
            remedy=f"Set a sump with a {name} of at least {number_text(least.value)} in.",
            limit_step=f"Least {name} of a storm sump",
            elements=(e.guid,),
            about=name,
        )


CHECKS = PartKind(
    "check valves of storm pumps",
    drawn=lambda context: any(_checks(sump) for sump in storm_sumps(context)),
    remedy="Model the check valve in the discharge of the pump (IfcValve, CHECK).",
)


@rule(title="Check valve behind a storm pump", clauses={"ipc": "1113.1.4", "irc": "P3303.1.4"})
def storm_pump_checked(sump: StormSump, context: Context) -> Answer:
    """What stands in the riser runs back into the pit, and the pump lifts the same water again.

    The piping that is joined to the pump at or in the sump, or climbs from a sump that has its pump
    by its name, up to where it leads: a check valve is in it. A sump whose pump or discharge is not
    drawn is not asked.
    """
    if not any(e.role is Role.PIPE for e in sump.discharge):
        return NOT_APPLICABLE
    if _checks(sump):
        return PASS
    text = "Set a full-flow check valve, where it can be reached, in the discharge of the pump."
    return missing(
        CHECKS,
        message=f"The discharge of {sump.label} has no check valve.",
        remedy=Change("part", (sump.element.guid,), "check valve", text),
    )


def _checks(sump: StormSump) -> bool:
    return any(e.role is Role.VALVE and e.kind == "check" for e in sump.discharge)
