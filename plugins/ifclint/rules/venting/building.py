"""Rules about the vents of the whole building, and of tall stacks."""

from dataclasses import dataclass
from math import pi

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    against,
    check,
    due,
    missing,
    not_known,
)
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.wording import apart_text, number_text, trade_size
from ifclint.findings import Answer, Change, Measure, Severity, Step
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import VENTS
from ifclint.plumbing import BuildingDrain, Stack, VentJoint, VentTree
from ifclint.plumbing.drainage.loads import CLOSET, GIVE_LOADS, loads, restricted_by
from ifclint.plumbing.drainage.pumped import PUMPED
from ifclint.rules.venting.code_tables import rows
from ifclint.rules.venting.main_vents import Height, base_vents, height_of, vents_along
from ifclint.rules.venting.missing_vents import lacks_any
from ifclint.rules.venting.relief_vents import relief_faults
from ifclint.rules.venting.single_stack import fully_single
from ifclint.rules.venting.waste_stack import is_waste_stack

SIZE = Fact("The size of a vent terminal is not known.", "Give it a nominal diameter.")
OTHER_ENDS = Fact(
    "Some vents end without a terminal being modelled, and are not counted.",
    "Model the vent terminals (IfcStackTerminal).",
)
LOADS_TOLD = Fact(
    "The load of some fixtures is not known, and with it the drain that the vents must equal in "
    "area.",
    GIVE_LOADS,
)
IN_OPEN_AIR = Fact(
    "The model shows no vent terminal in the open air.",
    "Model the vents with their terminals (IfcStackTerminal).",
)


@dataclass(frozen=True)
class AirEnd:
    """Where a vent ends in the open air: a terminal, or the open end of a pipe above the roof."""

    label: str
    guid: str
    size_in: float | None


def _is_lifted(drain: BuildingDrain, context: Context) -> bool:
    """Whether it ends in a sump whose pump lifts to another drain of the building: part of that."""
    return drain.outlet.kind == PUMPED and bool(_by_gravity(context))


def _by_gravity(context: Context) -> list[BuildingDrain]:
    return [d for d in context.plumbing.building_drains if d.outlet.kind != PUMPED]


def _trees(drain: BuildingDrain, context: Context) -> list[VentTree]:
    """The vents that join drains which leave by this outlet, or are lifted to them."""
    outlets, drains = context.plumbing.drainage.outlets, [drain]
    if _by_gravity(context) == [drain]:
        drains += [d for d in context.plumbing.building_drains if _is_lifted(d, context)]
    found = (_trees_by_outlet(context).get(outlets.index(d.outlet), []) for d in drains)
    return list(dict.fromkeys(tree for trees in found for tree in trees))


@derived
def _trees_by_outlet(context: Context) -> dict[int, list[VentTree]]:
    outlet, found = context.plumbing.drainage.outlet, dict[int, list[VentTree]]()
    for tree in context.plumbing.venting.trees:
        for number in dict.fromkeys(outlet[joint.drain] for joint in tree.joints):
            found.setdefault(number, []).append(tree)
    return found


def _air_ends(drain: BuildingDrain, context: Context) -> list[AirEnd]:
    """Where the vents of a drain end in the open air."""
    trees = dict.fromkeys(_trees(drain, context))
    terminals = (t for t in context.plumbing.venting.terminals if not t.admits_only)
    return [AirEnd(t.label, t.element.guid, t.vent_size_in) for t in terminals if t.tree in trees]


def _has_other_ends(drain: BuildingDrain, context: Context) -> bool:
    """Whether a vent ends open, and where that is the model does not show."""
    above = context.plumbing.venting.surroundings.is_above_roof
    return any(
        not tree.terminals and any(not above(point) for _, point in tree.open_ends)
        for tree in _trees(drain, context)
    )


def _area_in2(size_in: float) -> float:
    return pi / 4 * size_in**2


@rule(
    title="Vents together as large as the building drain",
    clauses={"upc": "904.1"},
    needs=("size_in",),
    applies=lambda drain: bool(drain.fixtures),
    of_load=True,
)
def vent_area(drain: BuildingDrain, context: Context) -> Answer:
    """The building breathes through its roof vents; together they must not be narrower than its
    sewer.

    The areas of the vents that end in the open air, by nominal size, added up, against the area of
    the smallest building drain that would carry the load of the building, and may take its closets
    (no larger than the one laid). What a pump lifts to another drain is vented with that. While a
    fixture lacks its trap, or that its vent, that is told alone.
    """
    if _is_lifted(drain, context):
        return NOT_APPLICABLE
    if lacks_any(drain.fixtures, context):
        return NOT_APPLICABLE  # what is missing is told, and counts once it is there
    ends = _air_ends(drain, context)
    unknown = tuple(end.guid for end in ends if end.size_in is None)
    if unknown:
        return not_known(SIZE, elements=unknown)
    sized = [(end, _area_in2(end.size_in)) for end in ends if end.size_in is not None]
    return _enough_area(drain, sized, context)


def _enough_area(
    drain: BuildingDrain, sized: list[tuple[AirEnd, float]], context: Context
) -> Answer:
    asked, area = _asked_size(drain, context), sum(each for _, each in sized)
    if _has_other_ends(drain, context) and not at_least(area, _area_in2(asked)):
        return not_known(OTHER_ENDS)
    if (
        drain.size_in is not None
        and at_least(area, _area_in2(asked))
        and not at_least(area, _area_in2(drain.size_in))
        and any(f in loads(context).unstated for f in drain.fixtures)
    ):
        return not_known(LOADS_TOLD)
    text = f"Carry a {trade_size(asked)} vent through the roof, or enlarge the present ones."
    return check(
        round(area, 2),
        at_least=_area_in2(asked),
        unit="in²",
        message=f"The vents through the roof have {apart_text(area, _area_in2(asked), 'in²')} "
        f"together, less than a {trade_size(asked)} drain.",
        remedy=Change("part", drain.element_ids, f"{trade_size(asked)} vent", text),
        steps=lambda: (
            *(Step(end.label, each, "in²") for end, each in sized),
            Step("Area of the vents", area, "in²"),
        ),
        limit_step=f"Area of the {trade_size(asked)} building drain",
        elements=(*(end.guid for end, _ in sized), *drain.element_ids),
    )


def _asked_size(drain: BuildingDrain, context: Context) -> float:
    """The smallest horizontal drain for the load; never more than the one laid."""
    assert drain.size_in is not None
    load = sum(loads(context).gives[f] for f in drain.fixtures)
    closets = any(f.kind == CLOSET for f in drain.fixtures)
    least = context.code.limit("water_closet_drain_in").value if closets else 0.0
    table = [r for r in rows(context, "drain_capacity") if r.text("orientation") == "horizontal"]
    fitting = [r.number("size_in") for r in table if at_most(load, r.number("max_dfu"))]
    listed = min((s for s in fitting if _may_take_all(s, drain, context)), default=drain.size_in)
    return min(max(listed, least), drain.size_in)


def _may_take_all(size_in: float, drain: BuildingDrain, context: Context) -> bool:
    """Whether a horizontal drain of a size may take so many of the fixtures of a building."""
    listed = context.code.table("drain_restrictions").where(
        size_in=size_in, orientation="horizontal"
    )
    return all(
        at_most(len(restricted_by(context, row) & set(drain.fixtures)), row.number("max_count"))
        for row in listed
    )


@rule(
    title="At least one vent of the building in the open air",
    clauses={"ipc": "904.1", "irc-2021": "P3102.1"},
    severity=Severity.HIGH,
    applies=lambda drain: bool(drain.fixtures),
)
def outdoor_vent(drain: BuildingDrain, context: Context) -> Answer:
    """Valves let air in but none out; pressure in the sewer needs one open vent.

    At least one vent of the building drain that ends in the open air, and not in an air
    admittance valve. What a pump lifts to another drain is vented with that.
    """
    if _is_lifted(drain, context):
        return NOT_APPLICABLE
    if _air_ends(drain, context):
        return PASS
    if _has_other_ends(drain, context):
        return not_known(IN_OPEN_AIR)
    return missing(
        VENTS,
        message="No vent of this building drain ends in the open air.",
        remedy=Change("part", drain.element_ids, "vent", "Carry one vent through the roof."),
        measured=Measure(0.0, "vents"),
        required=Measure(1.0, "vents", "at least"),
    )


@rule(
    title="Tall stack with a vent stack beside it",
    clauses={"upc": "907.1", "ipc": "904.2", "irc-2021": "P3102.1"},
    severity=Severity.HIGH,
)
def tall_stack_vented(stack: Stack, context: Context) -> Answer:
    """In a tall stack falling water pushes air before it and draws it after; a vent stack beside
    it relieves both.

    UPC: stacks that rise through ten storeys and more; IPC: of five branch intervals and more, but
    single stacks that lack nothing and waste stacks that are the vents of what they take. A vent
    must join the stack at or below its lowest branch, or the drain within ten diameters of its
    base.
    """
    height = due(height_of(stack, context))
    count, tall = height.count, height.tall
    if count < tall.value or stack in fully_single(context) or is_waste_stack(stack, context):
        return NOT_APPLICABLE
    if base_vents(stack, context):
        return PASS
    text = "Carry a vent stack up beside it, joined at or below the lowest branch."
    return missing(
        VENTS,
        message=f"{stack.label} has {number_text(count)} {tall.unit} and no vent stack at its "
        "base.",
        remedy=Change("part", stack.element_ids, "vent stack", text),
        **against(count, tall, "fewer than", "A vent stack from"),
    )


@rule(
    title="Relief vents along a very tall stack",
    clauses={"upc": "907.1 and 907.2", "ipc": "908.1 and 908.2", "irc": ""},
)
def stack_relief(stack: Stack, context: Context) -> Answer | list[Answer]:
    """Air pressed together along a very tall stack needs a way into the vent stack on its fall.

    A relief (yoke) vent at every tenth branch interval (IPC) or fifth storey (UPC), counted from
    the top: so many vents must join the stack between its top and its lowest branch. The foot of
    the vent stack is none of them. Each that joins the vent stack is as large as that (UPC: as the
    smaller of it and the stack), joins it well above a floor, and leaves the stack below the
    branches of that floor.
    """
    height, every = due(height_of(stack, context)), due(_relief_every(context))
    if height.count < _relief_from(height, every):
        return NOT_APPLICABLE
    vents, wanted = vents_along(stack, context), int((height.count - 1) // every.value)
    if (found := len(vents)) >= wanted:
        return [*relief_faults(stack, context)] or PASS
    places = _places(_bare(stack, vents, wanted, every.value), every)
    text = f"Add relief vents to the vent stack, from the top down at {places}."
    number = "no" if not VENTS.is_drawn(context) else str(found)
    return missing(
        VENTS,
        message=f"{stack.label} has {number_text(height.count)} {every.unit} and {number} relief "
        "vents.",
        remedy=Change("part", stack.element_ids, "relief vent", text),
        measured=Measure(float(found), "vents"),
        required=Measure(float(wanted), "vents", "at least"),
        steps=(every.step("One for every"),),
        clause=every.clause,
        provenance=every.provenance,
    )


def _bare(stack: Stack, vents: list[VentJoint], wanted: int, every: float) -> list[int]:
    """Of the places where relief vents are due, from the top, those that none of the vents is
    nearest to: each stands below so many branches."""
    tops = [interval.location.z for interval in stack.intervals]
    above = (sum(z is not None and z > v.point[2] for z in tops) for v in vents if v.point)
    taken = {round(count / every) for count in above}
    return [n for n in range(1, wanted + 1) if n not in taken]


def _places(due: list[int], every: Limit) -> str:
    """Where relief vents are due, as "storeys 5 and 10"."""
    unit = every.unit if len(due) > 1 else every.unit.removesuffix("s")
    return f"{unit} {' and '.join(number_text(n * every.value) for n in due)}"


def _relief_every(context: Context) -> Limit | None:
    code = context.code
    return code.limit_or_none("yoke_every_storeys") or code.limit_or_none("relief_interval_every")


def _relief_from(height: Height, every: Limit) -> float:
    """From how tall a stack has relief vents: UPC: with the vent stack; IPC: beyond one span."""
    return height.tall.value if every.key == "yoke_every_storeys" else every.value + 1
