"""Rules about the vents of the whole building, and of tall stacks."""

from __future__ import annotations

from math import pi

from ifclint.checks import NOT_APPLICABLE, PASS, check, missing, unverified, violation
from ifclint.engineering import tolerance
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import BuildingDrain, Stack, VentJoint, VentTerminal
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.venting.airflow import airflow
from ifclint.rules.venting.parts import VENTS
from ifclint.rules.venting.wording import limit, rows


def _outdoor_terminals(drain: BuildingDrain, context: Context) -> list[VentTerminal]:
    """Terminals in the open air whose vents join drains that leave by this outlet."""
    numbers = context.plumbing.drainage.outlet
    outlet = context.plumbing.drainage.outlets.index(drain.outlet)
    return [
        t
        for t in context.plumbing.venting.terminals
        if not t.admits_only
        and t.tree is not None
        and any(numbers[j.drain] == outlet for j in t.tree.joints)
    ]


def _open_ends(drain: BuildingDrain, context: Context) -> bool:
    """Whether a vent ends open without a terminal being modelled."""
    return any(t.open_ends and not t.terminals for t in context.plumbing.venting.trees)


@rule(
    title="Vents together as large as the building drain",
    subject=BuildingDrain,
    clauses={"upc": "904.1"},
    applies=lambda drain: bool(drain.fixtures),
)
def vent_area(drain: BuildingDrain, context: Context) -> Answer:
    """The building breathes through its roof vents; together they must not be narrower than its
    sewer.

    The areas of the terminals in the open air, by nominal size, added up, against the area of the
    smallest building drain that would carry the load of the building (no larger than the one
    laid).
    """
    if not context.plumbing.venting.is_modelled:
        return missing(VENTS, message="There are no vents to add up.", remedy=VENTS.remedy)
    terminals = _outdoor_terminals(drain, context)
    sizes = [t.vent_size_in for t in terminals]
    asked = _asked_size(drain, context)
    if asked is None or None in sizes:
        return unverified(
            "The size of a vent terminal or of the building drain is not known.",
            "Give it a nominal diameter.",
            tuple(t.element.guid for t in terminals if t.vent_size_in is None),
        )
    area = sum(pi / 4 * s**2 for s in sizes if s is not None)
    least = pi / 4 * asked**2
    if tolerance.at_least(area, least):
        return PASS
    if _open_ends(drain, context):
        return unverified(
            "Some vents end without a terminal being modelled, and are not counted.",
            "Model the vent terminals (IfcStackTerminal).",
        )
    return violation(
        message=(
            f"The vents through the roof have {area:.1f} in² together, less than a "
            f"{trade_size(asked)} "
            "drain."
        ),
        remedy=f"Carry a {trade_size(asked)} vent through the roof, or enlarge the present ones.",
        measured=Measure(round(area, 2), "in²"),
        required=Measure(round(least, 2), "in²", "at least"),
        steps=(
            *(Step(t.label, pi / 4 * (t.vent_size_in or 0.0) ** 2, "in²") for t in terminals),
            Step("Area of the vents", area, "in²"),
            Step(f"Area of the {trade_size(asked)} building drain", least, "in²"),
        ),
        elements=(*(t.element.guid for t in terminals), *drain.element_ids),
    )


def _asked_size(drain: BuildingDrain, context: Context) -> float | None:
    """The smallest horizontal drain for the load; never more than the one laid."""
    made = loads(context)
    load = sum(made.gives[f] for f in drain.fixtures)
    closets = any(f.kind == "water-closet" for f in drain.fixtures)
    least = context.code.limit("water_closet_drain_in").value if closets else 0.0
    table = [r for r in rows(context, "drain_capacity") if r.text("orientation") == "horizontal"]
    listed = (r.number("size_in") for r in table if r.number("max_dfu") >= load)
    asked = max(min(listed, default=0.0), least)
    return min(asked or drain.size_in, drain.size_in) if drain.size_in is not None else None


@rule(
    title="At least one vent of the building in the open air",
    subject=BuildingDrain,
    clauses={"ipc": "904.1", "irc-2021": "P3102.1"},
    severity=Severity.HIGH,
    applies=lambda drain: bool(drain.fixtures),
)
def outdoor_vent(drain: BuildingDrain, context: Context) -> Answer:
    """Valves let air in but none out; pressure in the sewer needs one open vent.

    At least one vent of the building drain that ends in the open air, and not in an air
    admittance valve.
    """
    if _outdoor_terminals(drain, context):
        return PASS
    if _open_ends(drain, context):
        return unverified(
            "The model shows no vent terminal in the open air.",
            "Model the vents with their terminals (IfcStackTerminal).",
        )
    return missing(
        VENTS,
        message="No vent of this building drain ends in the open air.",
        remedy="Carry one vent through the roof.",
        measured=Measure(0.0, "vents"),
        required=Measure(1.0, "vents", "at least"),
    )


@rule(
    title="Tall stack with a vent stack beside it",
    subject=Stack,
    clauses={"upc": "907.1", "ipc": "904.2", "irc-2021": "P3102.1"},
    severity=Severity.HIGH,
)
def tall_stack_vented(stack: Stack, context: Context) -> Answer:
    """In a tall stack falling water pushes air before it and draws it after; a vent stack beside
    it relieves both.

    UPC: stacks that rise through ten storeys and more; IPC: of five branch intervals and more. A
    vent must join the stack at or below its lowest branch, or the drain within ten diameters of
    its base.
    """
    count, most, unit = _height(stack, context)
    if most is None or count < most:
        return NOT_APPLICABLE
    if _base_vents(stack, context):
        return PASS
    value = limit(context, "vent_stack_storeys") or limit(context, "vent_stack_intervals")
    clause = value.clause if value is not None else ""
    return missing(
        VENTS,
        message=f"{stack.label} has {number_text(count)} {unit} and no vent stack at its base.",
        remedy="Carry a vent stack up beside it, joined at or below the lowest branch.",
        measured=Measure(count, unit),
        required=Measure(most, unit, "fewer than"),
        steps=(Step("A vent stack from", most, unit, clause),),
        clause=clause,
    )


def _height(stack: Stack, context: Context) -> tuple[float, float | None, str]:
    """(how tall, from where a vent stack is asked, in what unit)."""
    storeys, intervals = (
        limit(context, "vent_stack_storeys"),
        limit(context, "vent_stack_intervals"),
    )
    if storeys is not None:
        return _storeys(stack, context), storeys.value, "storeys"
    value = intervals.value if intervals is not None else None
    return float(len(stack.intervals)), value, "branch intervals"


def _storeys(stack: Stack, context: Context) -> float:
    """How many storeys with branches the stack rises through above its base."""
    elevations = [s.elevation_m for s in context.plumbing.network.model.storeys]
    top, foot = stack.segments[0].pipes[0].up, stack.base.pipes[-1].down
    if top is None or foot is None or not elevations:
        return float(len(stack.intervals))
    return float(sum(foot[2] - 0.3 <= z <= top[2] + 0.3 for z in elevations))


def _base_vents(stack: Stack, context: Context) -> list[VentJoint]:
    """Vents that join the stack at or below its lowest branch, or the drain just below its base."""
    piping = context.plumbing.venting.piping
    joints = context.plumbing.venting.air.joints
    index, diameters = _below_branches(stack, context), limit(context, "vent_stack_base_diameters")
    size = stack.size_in or 4.0
    reach = (diameters.value if diameters is not None else 10.0) * size * M_PER_IN
    found, gone, past_base = [], 0.0, False
    while index >= 0 and gone <= reach:
        found += [j for j in joints.get(index, []) if j not in airflow(context).stack_of]
        past_base = past_base or piping.is_horizontal(index)
        ends = piping.ends(index)
        if past_base and piping.is_pipe(index) and len(ends) > 1:
            gone += sum((a - b) ** 2 for a, b in zip(ends[0], ends[-1], strict=True)) ** 0.5
        index = piping.drainage.down[index]
    return found


def _below_branches(stack: Stack, context: Context) -> int:
    """The fitting at which the lowest branch joins, or the first element of the stack."""
    piping = context.plumbing.venting.piping
    index = stack.base.indexes[-1]
    while True:
        above = piping.wet_above[index]
        if len(above) != 1:
            return index
        index = above[0]


@rule(
    title="Relief vents along a very tall stack",
    subject=Stack,
    clauses={"upc": "907.1", "ipc": "908.1"},
)
def stack_relief(stack: Stack, context: Context) -> Answer:
    """Air pressed together along a very tall stack needs a way into the vent stack on the way.

    A relief (yoke) vent at every tenth branch interval (IPC) or fifth storey (UPC), counted from
    the top: so many vents must join the stack between its top and its base.
    """
    every = limit(context, "yoke_every_storeys") or limit(context, "relief_interval_every")
    count, most, unit = _height(stack, context)
    if every is None or most is None:
        return NOT_APPLICABLE
    from_count = most if unit == "storeys" else every.value + 1
    if count < from_count:
        return NOT_APPLICABLE
    wanted = int((count - 1) // every.value)
    found = len(_yokes(stack, context))
    if not context.plumbing.venting.is_modelled:
        return missing(
            VENTS,
            message=f"{stack.label} has {number_text(count)} {unit} and no relief vents.",
            remedy=f"Add a relief vent to the vent stack every {number_text(every.value)} {unit}.",
        )
    return check(
        float(found),
        at_least=float(wanted),
        unit="vents",
        message=f"{stack.label} has {number_text(count)} {unit} and {found} relief vents.",
        remedy=f"Add a relief vent to the vent stack every {number_text(every.value)} {unit}.",
        steps=lambda: (Step("One for every", every.value, unit, every.clause),),
        clause=every.clause,
    )


def _yokes(stack: Stack, context: Context) -> list[VentJoint]:
    inside = {
        i for segment in stack.segments for i in (*segment.indexes, *segment.between, *segment.tail)
    }
    joints = context.plumbing.venting.air.joints
    of_stack = airflow(context).stack_of
    return [j for i in inside for j in joints.get(i, []) if j not in of_stack]


RULES = (vent_area, outdoor_vent, tall_stack_vented, stack_relief)
