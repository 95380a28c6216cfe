"""The rule about vents of sumps that take sewage."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, check, missing, not_known, violation
from ifclint.codes import Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M3_PER_S_PER_GPM, feet
from ifclint.engineering.wording import feet_text, number_text, trade_size
from ifclint.findings import Answer, Change, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context, rule
from ifclint.part_kinds import VENTS
from ifclint.plumbing import BuildingDrain, VentTree
from ifclint.plumbing.drainage.inflows import flow_by_name
from ifclint.plumbing.drainage.pumped import PUMPED, pumps_at
from ifclint.rules.venting.airflow import airflow
from ifclint.rules.venting.code_tables import rows

TABLE = "sump_vent"
NO_LIMIT = float("inf")
FLOW = Fact(
    "the flow of the pump in {}, by which its vent is sized, is not known.",
    "State the flow of the pump in the job file (drainage.continuous_flow), or on the pump "
    "(Pset_PumpTypeCommon.FlowRateRange).",
)
LARGE_ENOUGH = Fact(
    "whether the vent of {} is large enough is not known: {}.",
    "Show the design of the vent; give its pipes shapes or placed ports.",
)
SIZE = Fact("the size of the vent of {} is not known.", "Give it a nominal diameter.")


@rule(
    title="Sump vented to the open air",
    clauses={"upc": "710.9 and 710.10", "ipc": "906.5 and 918.8", "irc": "P3113.4 and P3114.8"},
    severity=Severity.HIGH,
    applies=lambda drain: (
        drain.outlet.kind == PUMPED and any(f.into_pump is None for f in drain.fixtures)
    ),
)
def sump_vented(drain: BuildingDrain, context: Context) -> Iterator[Answer]:
    """Water that runs into a tight sump drives air out, and the pump draws air in after it: without
    a vent through the traps.

    A vent must be joined to the sump itself, lead to the open air and not only to an air
    admittance valve, and have the code's least size; a pump without a basin is no sump. IPC and
    IRC: beside that the size that its table asks for the flow of the pump (job file,
    drainage.continuous_flow, of the sump or the pump; or the pump's own property) and the length
    of the vent with its fittings. UPC: the
    fixture units that drain into the sump are the vent's load (see the rule about size by load).
    """
    sump = drain.piping.elements[drain.outlet.element]
    found = _vents(drain, context)
    if not found:
        text = "Carry a vent from the sump to the open air."
        yield missing(
            VENTS,
            message=f"{sump.label} has no vent.",
            remedy=Change("part", (sump.guid,), "vent", text),
            elements=(sump.guid,),
        )
        return
    opened = [index for index, tree in found if not tree.admittance_only]
    if not opened:
        yield violation(
            message=f"{sump.label} breathes through an air admittance valve, which lets no air "
            "out.",
            remedy="Carry the vent of the sump to the open air.",
            elements=(sump.guid,),
            about="valve",
        )
    sized = opened or [index for index, _ in found]
    known = [i for i in sized if drain.piping.elements[i].size_in is not None]
    if not known:
        yield not_known(SIZE, sump.label)
        return
    yield _large_enough(drain, context, sump, known)


def _large_enough(
    drain: BuildingDrain, context: Context, sump: Element, known: list[int]
) -> Answer:
    """The largest vent of a sump against the least, and against the table by its pump."""
    largest = max(known, key=lambda i: or_zero(drain.piping.elements[i].size_in))
    size = or_zero(drain.piping.elements[largest].size_in)
    least = context.code.limit("sump_vent_in")
    answer = check(
        size,
        at_least=least,
        message=f"The vent of {sump.label} is {trade_size(size)}; {trade_size(least.value)} is the "
        "least.",
        remedy=lambda: _enlarge(largest, least.value, context),
        limit_step="Vent of a sump, at least",
        elements=(sump.guid,),
    )
    table = rows(context, TABLE)
    return _by_pump(drain, largest, size, table, context) if answer is PASS and table else answer


def _by_pump(
    drain: BuildingDrain, vent: int, size: float, table: tuple[Row, ...], context: Context
) -> Answer:
    """Whether the vent is large enough for the flow of the pump and its own length."""
    sump = drain.piping.elements[drain.outlet.element]
    flow, length = _flow_gpm(drain, context), _equivalent_ft(vent, context)
    if flow is None:
        largest = max(r.number("pump_gpm") for r in table)
        if _takes(table, largest, size, length):
            return PASS
        return not_known(FLOW, sump)
    listed = sorted(r.number("pump_gpm") for r in table)
    row_gpm = next((gpm for gpm in listed if at_most(flow, gpm)), None)
    if row_gpm is None or length is None:
        lacks = "its flow is beyond the table" if row_gpm is None else "its length is not known"
        return not_known(LARGE_ENOUGH, sump, lacks)
    fitting = (r for r in table if r.number("pump_gpm") == row_gpm and _reaches(r, length))
    row = min(fitting, key=lambda r: r.number("vent_in"), default=None)
    if row is None:
        return violation(
            message=f"The vent of {sump.label} is {feet_text(length)} long with its fittings: too "
            f"long in any size for a pump of {number_text(flow)} gpm.",
            remedy="Lead the vent to the open air by a shorter way.",
            elements=(sump.guid,),
        )
    wanted = row.limit("vent_in", "in")
    return check(
        size,
        at_least=wanted,
        message=f"The vent of {sump.label} is {trade_size(size)}, too small for its pump.",
        remedy=lambda: _enlarge(vent, wanted.value, context),
        steps=lambda: (
            Step("Flow of the pump", flow, "gpm"),
            Step("Length of the vent with its fittings", length, "ft"),
        ),
        limit_step=f"Vent for {number_text(row_gpm)} gpm, at least",
        elements=(sump.guid,),
    )


def _enlarge(vent: int, wanted_in: float, context: Context) -> Change:
    """The pipes of a vent that are too small, from the sump to the open air."""
    tree = next(t for t in context.plumbing.venting.trees if vent in t.members)
    elements, path = tree.piping.elements, [vent]
    while (following := tree.toward.get(path[-1])) is not None:
        path.append(following)
    small = [
        elements[i].guid
        for i in path
        if tree.piping.is_pipe(i) and not at_least(or_zero(elements[i].size_in), wanted_in, "in")
    ]
    text = f"Make the vent of the sump {trade_size(wanted_in)}."
    return Change("size", tuple(small) or (elements[vent].guid,), wanted_in, text)


def _reaches(row: Row, length_ft: float) -> bool:
    """Whether the vent of a row may be so long; a blank length is no limit."""
    longest = row.number_or_none("max_length_ft")
    return longest is None or at_most(length_ft, longest, "ft")


def _takes(table: tuple[Row, ...], gpm: float, size: float, length: float | None) -> bool:
    """Whether a size does for a flow of the table, however long where its length is not known."""
    listed = (r for r in table if r.number("pump_gpm") == gpm)
    enough = (r for r in listed if at_least(size, r.number("vent_in"), "in"))
    return any(_reaches(r, NO_LIMIT if length is None else length) for r in enough)


def _equivalent_ft(vent: int, context: Context) -> float | None:
    """Developed length to the main vent or the open air, and so much more for its fittings."""
    air = airflow(context)
    joint = air.from_joint.get(vent)
    if joint is None or joint.to_air_m is None:
        return None
    share = context.code.limit("sump_vent_fittings_share")
    return feet(air.branch_m[vent]) * (1 + share.value)


def _flow_gpm(drain: BuildingDrain, context: Context) -> float | None:
    """The flow of the pump: of the job file, else as the model states it of sump or pump, else by
    the name of one."""
    sump = drain.piping.elements[drain.outlet.element]
    pumps = (sump, *pumps_at(sump, context))
    stated = {f.element: f.flow for f in context.job.drainage.continuous_flow}
    flows = [flow for e in pumps if (flow := stated.get(e.guid, _of_model(e))) is not None]
    return max(flows) / M3_PER_S_PER_GPM if flows else None


def _of_model(element: Element) -> float | None:
    flow = element.properties.get("flow_rate_m3s")
    return flow if isinstance(flow, float) and flow > 0 else flow_by_name(element)


def _vents(drain: BuildingDrain, context: Context) -> list[tuple[int, VentTree]]:
    """The dry pipes joined to the sump, each with its tree."""
    trees = {i: tree for tree in context.plumbing.venting.trees for i in tree.members}
    joined = context.plumbing.network.neighbours(drain.outlet.element)
    return [(i, trees[i]) for i in joined if i in trees and trees[i].is_vent]
