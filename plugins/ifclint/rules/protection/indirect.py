"""Rules about what must not be joined to a drain: dishwashers, food, ice, treated water."""

from dataclasses import replace
from itertools import takewhile
from math import dist

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    due,
    given,
    missing,
    not_known,
    violation,
)
from ifclint.codes import Limit
from ifclint.codes.tables import Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Change, PartKind, Severity
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Fixture, Outlet
from ifclint.plumbing.drainage.hoses import hoses
from ifclint.plumbing.drainage.receptors import RECEPTOR, receptor_under
from ifclint.plumbing.drainage.through_air import (
    DISHWASHER,
    TRAPPED,
    is_tied,
    joined_receptor,
    row_named,
    row_of,
)
from ifclint.plumbing.words import says

LOOP_M = 2 * M_PER_IN  # a line that climbs so much above where it joins is looped. Ours, no source
AIR_GAP = ("air gap", "airgap")
WASH_FOOD = frozenset({"kitchen-sink", "bar-sink", "sink"})  # and what it is served on
GAP = Fact(
    "whether an air gap parts {} from {}",
    "End indirect waste lines in the open over their receptors.",
)
SIZE = Fact(
    "the size of the waste line of {}, which sets its air gap, is not known.",
    "Give it a nominal diameter.",
)


def _row_of_sink(fixture: Fixture, context: Context) -> Row | None:
    """The row for a sink of a kitchen that may be joined to the drains, and drains indirectly."""
    is_one = fixture.is_indirect and fixture.kind in WASH_FOOD
    return row_named("food-equipment", context) if is_one else None


def _dishwashers_looped(context: Context) -> bool:
    dishwashers = [f for f in context.plumbing.fixtures if f.kind == "dishwasher"]
    return any(_is_looped(f, context) for f in dishwashers) or GAP_FITTINGS.is_drawn(context)


GAP_FITTINGS = PartKind(
    "air gap fittings of dishwashers",
    drawn=lambda context: bool(context.plumbing.saying(AIR_GAP)),
    remedy="Model the air gap fitting in the dishwasher's drain line, named so.",
)
LOOPS = PartKind(
    "high loops or air gaps of dishwashers",
    drawn=_dishwashers_looped,
    remedy="Draw the drain line as it rises to the counter, or its air gap fitting.",
)
BY_AIR_GAP = (
    GAP_FITTINGS,
    "air gap fitting",
    "Set an air gap fitting at the height of the sink's rim or above.",
)
BY_LOOP = (
    LOOPS,
    "high loop or air gap fitting",
    "Raise the drain line to the underside of the counter, or set an air gap fitting.",
)


@rule(
    title="Dishwasher drains through an air gap or a high loop",
    clauses={"upc": "807.3", "ipc": "802.1.6", "irc": "P2717.2"},
    applies=lambda fixture: fixture.kind == "dishwasher" and fixture.connected,
)
def dishwasher_drain(fixture: Fixture, context: Context) -> Answer:
    """When the sink backs up, its water must not rise into the dishes.

    Between a domestic dishwasher and the trap it shares: an air gap fitting where the code asks for
    one (or an air gap over a receptor), a line drawn higher than where it joins where that will do.
    A line drawn as it runs, without either, is wrong also where the model draws none elsewhere.
    Commercial machines are judged as indirect waste.
    """
    row = due(row_of(context, fixture))
    if row.text("appliance") != DISHWASHER:
        return NOT_APPLICABLE
    line = [fixture.element, *_before_trap(fixture, context)]
    if fixture.is_indirect or any(says(e, AIR_GAP) for e in line):
        return PASS
    may_loop, looped = row.text("gap") == "high-loop", _is_looped(fixture, context)
    if may_loop and looped:
        return PASS
    part, wanted, text = BY_LOOP if may_loop else BY_AIR_GAP
    said = f"The drain line of {fixture.label} shows no {wanted}."
    change = Change("part", fixture.element_ids, wanted, text)
    ids = (fixture.element.guid, *(e.guid for e in line[1:2]))
    if not looped and _is_drawn_whole(fixture, context):
        return violation(message=said, remedy=change, elements=ids, clause=row.clause)
    return missing(part, message=said, remedy=change, elements=ids, clause=row.clause)


def _is_drawn_whole(fixture: Fixture, context: Context) -> bool:
    """Whether the hose is drawn as it runs, in more pieces of pipe than one, each in its place and
    of a known kind: what it does not show is not there."""
    elements = context.plumbing.network.elements
    hose = [elements[i] for i in fixture.path if i in _hoses(context)]
    pipes = [e for e in hose if e.role is Role.PIPE]
    placed = all(x.position is not None for e in pipes for x in e.ends)
    return len(pipes) > 1 and placed and all(e.kind or e.role is Role.PIPE for e in hose)


def _before_trap(fixture: Fixture, context: Context) -> list[Element]:
    """What the water passes before its trap, or before the drain where it has none."""
    passed = (context.plumbing.network.elements[i] for i in fixture.path)
    return list(takewhile(lambda e: e.role is not Role.TRAP, passed))


@derived
def _hoses(context: Context) -> set[int]:
    return hoses(context.plumbing.network)


def _is_looped(fixture: Fixture, context: Context) -> bool:
    return at_least(_rise_m(fixture, context), LOOP_M, "m")


def _rise_m(fixture: Fixture, context: Context) -> float:
    """How far the line of a dishwasher climbs above where it joins what it shares with the sink."""
    elements = context.plumbing.network.elements
    line = [elements[i] for i in fixture.path]
    hosed = _hoses(context)
    count = next((n for n, i in enumerate(fixture.path) if i not in hosed), len(line))
    hose, into = line[:count], line[count:]
    ends = hose[-1].places if hose and into else []
    near = into[0].places if ends else []
    if not near:
        return 0.0
    joint = min(ends, key=lambda p: min(dist(p, q) for q in near))
    heights = (p[2] for e in hose for p in (*(x.position for x in e.ends), *e.course) if p)
    return max(heights) - joint[2]


AIR_GAPS = PartKind(
    "air gaps of indirect waste",
    drawn=lambda context: any(f.is_indirect for f in context.plumbing.fixtures),
    remedy="End the waste line in the open over its receptor, and draw the receptor.",
)


@rule(
    title="Food, ice and treated water drain through the air",
    clauses={"upc": "801.3", "ipc": "802.1", "irc": "P2909.2"},
    severity=Severity.HIGH,
    applies=lambda fixture: fixture.connected and fixture.is_drawn,
)
def indirect_waste(fixture: Fixture, context: Context) -> Answer | list[Answer]:
    """Sewage that rises in a drain must run over on the floor, and not over the salad.

    Food preparation sinks and equipment and ice machines of food establishments (public occupancy),
    commercial dishwashers, water treatment, sterilizers, filters of pools, and boilers, cooling
    towers, humidifiers and the like, unless these have a trap: not joined to the drainage where the
    code asks for indirect waste, and as far above the rim of the receptor as an air gap asks for,
    as is a kitchen's sink that is drained so. An air break may end below the rim. Equipment piped
    straight into a drain, without a trap, is wrong, and one answer: the line is not judged as a
    drain besides. Equipment whose hose is drawn into a trap or receptor is asked about where no
    indirect waste is drawn at all. Relief lines, pans and condensate are judged with the heaters.
    """
    row = due(row_of(context, fixture) or _row_of_sink(fixture, context))
    if row.text("appliance") == DISHWASHER:
        return NOT_APPLICABLE
    if fixture.is_indirect:
        is_gap = row.text("gap") == "air-gap"
        return [_gap(fixture, end, context) for end in _ends(fixture, context)] if is_gap else PASS
    if row.text("direct") == "yes" or (row.text("direct") == TRAPPED and fixture.trap is not None):
        return PASS
    if receptor := joined_receptor(fixture, context):
        ids = (receptor.guid, fixture.element.guid)
        if AIR_GAPS.is_drawn(context) and row.text("gap") == "air-gap":
            return violation(
                message=f"{fixture.label} drains into {receptor.label} without an air gap.",
                remedy=f"End its waste pipe in the open, above the rim of {receptor.label}.",
                elements=(fixture.element.guid, receptor.guid),
                clause=row.clause,
            )
        return not_known(GAP, fixture, receptor, elements=ids, clause=row.clause)
    return _joined(fixture, row, context) if due(fixture.outlet).accepted else NOT_APPLICABLE


def _joined(fixture: Fixture, row: Row, context: Context) -> Answer:
    """Joined to the drainage where the code asks for indirect waste."""
    if is_tied(context, fixture):
        into = due(_first_drain(fixture, context))
        gap = row.text("gap").replace("-", " ")
        text = f"End its line through an {gap} over a receptor that has a trap and a vent."
        return violation(
            message=f"{fixture.label} is piped straight into {into.label}, without an {gap}.",
            remedy=Change("part", fixture.element_ids, gap, text),
            elements=(fixture.element.guid, into.guid),
            clause=row.clause,
        )
    message = f"{fixture.label} is joined to the drainage without an air gap."
    text = "Lead its waste through an air gap into a floor sink or another receptor."
    remedy = Change("part", fixture.element_ids, "air gap", text)
    if fixture.element.role is Role.FIXTURE:  # drawn with its trap and drain: no shorthand
        return violation(message=message, remedy=remedy, clause=row.clause)
    return missing(AIR_GAPS, message=message, remedy=remedy, clause=row.clause)


def _first_drain(fixture: Fixture, context: Context) -> Element | None:
    """The first pipe past its own line, or the last of that; what its water enters."""
    elements, path = context.plumbing.network.elements, fixture.path
    return elements[path[-1]] if path else None


def _ends(fixture: Fixture, context: Context) -> list[Outlet]:
    """Where its waste ends in the open: of a sink of several compartments, of each."""
    drainage, network = context.plumbing.drainage, context.plumbing.network
    numbers = {drainage.outlet[i] for i in network.neighbours(fixture.index)} - {NONE}
    ends = [drainage.outlets[n] for n in sorted(numbers)]
    own = given(fixture.outlet)
    return [own, *(o for o in ends if o.kind == RECEPTOR and o is not own)]


def _gap(fixture: Fixture, outlet: Outlet, context: Context) -> Answer:
    """The height of an open end above the rim of its receptor, against the air gap."""
    network = context.plumbing.network
    about = "" if outlet is fixture.outlet else network.elements[outlet.element].guid
    end = given(outlet.position)
    receptor = given(receptor_under(network, end))
    last, (_, rim) = network.elements[outlet.element], given(receptor.box)
    gap, above = gap_of_size(last.size_in, context), (end[2] - rim[2]) / M_PER_IN
    if last.size_in is None and at_least(above, gap.value, "in"):
        ids = (last.guid, receptor.guid, fixture.element.guid)
        return not_known(SIZE, fixture, elements=ids, about=about)
    side = above_or_below(above)
    return check(
        above,
        at_least=gap,
        message=f"The waste of {fixture.label} ends {number_text(abs(above))} in {side} the rim of "
        f"{receptor.label}; an air gap of {number_text(gap.value)} in is asked for.",
        remedy=f"End the waste pipe at least {number_text(gap.value)} in above the rim of the "
        "receptor.",
        limit_step="Least air gap for the size of the line",
        elements=(last.guid, receptor.guid, fixture.element.guid),
        severity=Severity.MEDIUM,
        about=about,
    )


def gap_of_size(size_in: float | None, context: Context) -> Limit:
    """The least air gap of a line of a size; of any line where the size is not known."""
    least = context.code.limit("drain_air_gap_min_in")
    times = context.code.limit("drain_air_gap_min_diameters")
    return replace(least, value=max(least.value, times.value * or_zero(size_in)))
