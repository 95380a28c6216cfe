"""Rules about an interceptor: what may pass it, how large it is, its vent, its cover."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import takewhile

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, given, known, missing, not_known, violation
from ifclint.codes.tables import Row
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.extents import plan_m2, shared_m
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least, lies_between
from ifclint.findings import Answer, Change, PartKind
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Fixture
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.words import says, says_text
from ifclint.rules.site.ratings import is_rated_by_flow, rating_of
from ifclint.rules.site.section import InterceptorData, SiteSection
from ifclint.rules.site.wastes import GREASE, OIL, kind_of, route

BULKY = frozenset({Role.APPLIANCE, Role.HEATER, Role.TANK})
OVER_M = 1.2  # above its top; what stands higher stands on another floor. Ours, no source
INTO_M = 0.1  # and what is drawn so far into its top still stands over it. Ours, no source
COVERED, PARTLY = 0.9, 0.1  # shares of its plan. Ours, no source
TAPPING_WORDS = ("vent", "entlüftung", "entluftung", "ventilación", "ventilacion", "évent", "event")
HYDROMECHANICAL = ("hydromechanical", "hydro mechanical", "hgi", "grease trap")
BY_GRAVITY = ("gravity", "ggi", "schwerkraft*")
LEAST_BY_GRAVITY = "gravity_interceptor_gal"  # the limit
FLOW_CONTROL = (
    "flow control*", "flow restrict*", "flow limit*", "orifice plate", "restrictor", "type c",
    "type d",
)  # fmt: skip
OVER = Fact("what stands over {}", "Give the interceptor a shape.")
COVERS = Fact(
    "{} stands over part of {}; where its covers are is not known.",
    "Show the covers of the interceptor on the drawing.",
)


@dataclass(eq=False)
class Interceptor(OfElement):
    """An interceptor, and the fixtures that drain through it: by pipe, and over receptors."""

    element: Element
    index: int
    takes: list[Fixture]
    takes_indirectly: list[Fixture]


@derived
def interceptors(context: Context) -> list[Interceptor]:
    """Every interceptor, in the order of the model."""
    network, drainage = context.plumbing.network, context.plumbing.drainage
    numbers = network.of_roles(Role.INTERCEPTOR)
    found = {i: Interceptor(network.elements[i], i, [], []) for i in numbers}
    for fixture in context.plumbing.fixtures if found else ():
        by_pipe = set(drainage.path(fixture.index))
        for index in {*by_pipe, *route(context, fixture)} & found.keys():
            of = found[index]
            (of.takes if index in by_pipe else of.takes_indirectly).append(fixture)
    return list(found.values())


def takes_any(interceptor: Interceptor) -> bool:
    """Whether anything drains into it, also over a receptor."""
    return bool(interceptor.takes or interceptor.takes_indirectly)


@rule(
    title="Nothing through an interceptor that may not pass it",
    clauses={"upc": "1014.1 and 1014.1.3", "ipc": "1003.2 and 1003.3", "irc": ""},
)
def interceptor_passed(interceptor: Interceptor, context: Context) -> Iterator[Answer]:
    """Sewage in a grease interceptor makes a cesspool of it, hot dishwater carries the grease on.

    Fixtures piped through it against those that the code keeps out: closets and urinals, under the
    IPC all whose waste has no grease (or oil) in it, under the UPC dishwashers and disposers unless
    approved (job file, site.interceptor_takes); under the IPC a disposer passes a solids
    interceptor first. Over a floor sink into its line dishwashers and disposers pass it as well;
    what else drips there is not asked about.
    """
    if takes_any(interceptor):
        yield PASS
    approved = context.job.section(SiteSection).interceptor_takes
    for fixture in (*interceptor.takes, *interceptor.takes_indirectly):
        row = _refusing(interceptor, fixture, context)
        if row is None or fixture.kind in approved:
            continue
        conditional = row.text("allowed") == "conditional"
        if not conditional and fixture in interceptor.takes_indirectly:
            continue
        if conditional and _through_solids(interceptor, fixture, context):
            continue
        approve = " Or have it approved, and say so in the job file (site.interceptor_takes)."
        remedy = f"Lead the drain of {fixture.label} to the sewer past the interceptor."
        over = fixture in interceptor.takes_indirectly
        if over:
            remedy = f"Lead the waste of {fixture.label} over a receptor that drains past it."
        yield violation(
            message=f"{fixture.label} drains{' over a receptor' if over else ''} through "
            f"{interceptor.label}.",
            remedy=remedy + (approve if conditional else ""),
            elements=(fixture.element.guid, interceptor.element.guid),
            clause=row.clause,
            about=fixture.element.guid,
        )


def _refusing(interceptor: Interceptor, fixture: Fixture, context: Context) -> Row | None:
    rows = context.code.table("interceptor_refuses").where(interceptor=kind_of(interceptor.element))
    return next((row for row in rows if fixture.kind in row.text("fixtures").split()), None)


def _through_solids(interceptor: Interceptor, fixture: Fixture, context: Context) -> bool:
    """Whether its waste passes a solids interceptor before this one."""
    elements = context.plumbing.network.elements
    before = takewhile(lambda index: index != interceptor.index, route(context, fixture))
    return any(elements[i].kind == "solids" for i in before)


def is_vented(interceptor: Interceptor, context: Context) -> bool:
    """Whether a vent is joined to it, or to the pipe just before or after it; one above a drop is
    that of the traps there."""
    plumbing, piping = context.plumbing, context.plumbing.venting.piping
    airy = {i for tree in plumbing.venting.trees if tree.is_vent for i in tree.members}
    near, index = {interceptor.index}, interceptor.index
    while len(piping.wet_above[index]) == 1 and piping.wet_above[index][0] not in near:
        index = piping.wet_above[index][0]
        if piping.is_vertical(index):
            break
        near.add(index)
    for index in onward(plumbing.drainage.down[interceptor.index], plumbing.drainage.down):
        near.add(index)
        if len(piping.wet_above[index]) > 1:
            break
    return any(i in airy for at in near for i in plumbing.network.neighbours(at))


VENTS = PartKind(
    "vents of interceptors",
    drawn=lambda context: any(is_vented(i, context) for i in interceptors(context)),
    remedy="Model the vent at the interceptor, joined to it or to the pipe beside it.",
)


@rule(title="Interceptor vented", clauses={"upc": "1009.4", "ipc": "1003.9", "irc": ""})
def interceptor_vented(interceptor: Interceptor, context: Context) -> Answer:
    """Under a tight cover an interceptor is bound by air, and what leaves it draws traps empty.

    A dry vent joined to the interceptor itself, or to the pipe just before or after it, up to where
    other drains join or a drop comes in. Where its tapping for one is drawn, with nothing joined to
    it, what is missing is wrong also in a model that draws no such vents. The traps that drain into
    it are judged with all traps. The UPC asks more of oil interceptors, which have their own rule.
    """
    own_rule = context.code.family == "upc" and kind_of(interceptor.element) == OIL
    if own_rule or not takes_any(interceptor):
        return NOT_APPLICABLE
    if is_vented(interceptor, context):
        return PASS
    remedy = "Carry a vent from the interceptor, or from the pipe beside it, to the open air."
    if _has_open_tapping(interceptor, context):
        said = f"{interceptor.label} has no vent: its tapping for one is open."
        return violation(message=said, remedy=remedy)
    return missing(VENTS, message=f"{interceptor.label} has no vent.", remedy=remedy)


def _has_open_tapping(interceptor: Interceptor, context: Context) -> bool:
    """Whether it shows an opening for a vent that nothing is joined to."""
    return any(
        end.system is System.VENT or says_text(end.name, TAPPING_WORDS)
        for end in context.plumbing.network.open_ends(interceptor.index)
    )


@rule(
    title="Nothing bulky over an interceptor",
    clauses={"upc": "1009.5", "ipc": "1003.10", "irc": ""},
)
def interceptor_access(interceptor: Interceptor, context: Context) -> Answer:
    """An interceptor that cannot be opened is not emptied, and then it clears nothing.

    Appliances, heaters and tanks that stand over it, by its plan, up to 4 ft above its top. Its
    covers are not in the model: where part of it is covered it is asked. A sink over a small
    interceptor is as it should be.
    """
    known(interceptor.element.box, OVER)
    over = [(share, e) for e in _bulky(context) if (share := _share(interceptor, e)) > PARTLY]
    if not over:
        return PASS
    share, element = max(over, key=lambda found: found[0])
    if share < COVERED:
        ids = (interceptor.element.guid, element.guid)
        return not_known(COVERS, element, interceptor, elements=ids)
    return violation(
        message=f"{element.label} stands over {interceptor.label}, which cannot be opened.",
        remedy=f"Move {element.label} off the interceptor, which is opened without moving anything "
        "bulky.",
        elements=(interceptor.element.guid, element.guid),
    )


def _bulky(context: Context) -> list[Element]:
    return [e for e in context.plumbing.network.elements if e.role in BULKY]


def _share(interceptor: Interceptor, element: Element) -> float:
    """Which share of its plan an element stands over."""
    low, high = given(interceptor.element.box)
    if element.box is None or not lies_between(element.box[0][2] - high[2], -INTO_M, OVER_M, "m"):
        return 0.0
    x, y, _ = map(not_below_zero, shared_m((low, high), element.box))
    whole = plan_m2(low, high)
    return x * y / whole if whole else 0.0


def _has_flow_control(interceptor: Interceptor, context: Context) -> bool:
    """Whether a flow control stands in what leads to an interceptor, or is of it by its name."""
    piping, seen = context.plumbing.venting.piping, {interceptor.index}
    before = [interceptor.index]
    for index in before:
        if says(piping.elements[index], FLOW_CONTROL):
            return True
        before += [i for i in piping.wet_above[index] if i not in seen]
        seen.update(before)
    return False


FLOW_CONTROLS = PartKind(
    "flow controls of grease interceptors",
    drawn=lambda context: bool(context.plumbing.saying(FLOW_CONTROL)),
    remedy="Model the flow control fitting in the inlet, or name an interceptor whose flow control "
    "is built in so (integral flow control, Type C or D).",
)


@rule(
    title="Flow controlled into a hydromechanical interceptor",
    clauses={"upc": "1014.2", "ipc": "1003.3.5.2", "irc": ""},
)
def interceptor_flow_control(interceptor: Interceptor, context: Context) -> Answer:
    """A pot sink let out at once washes through a small interceptor all the grease that it holds.

    A grease interceptor called hydromechanical, HGI or grease trap, or rated by a flow in gpm: a
    flow control (restrictor, orifice) somewhere in the drains that lead to it, or in itself by its
    name (Types C and D have theirs built in). The number of the IPC's section is from memory.
    """
    if not _is_hydromechanical(interceptor, context) or not takes_any(interceptor):
        return NOT_APPLICABLE
    if _has_flow_control(interceptor, context):
        return PASS
    text = "Set a vented flow control fitting in its inlet, as it is listed."
    return missing(
        FLOW_CONTROLS,
        message=f"{interceptor.label} has no flow control before it.",
        remedy=Change("part", (interceptor.element.guid,), "flow control fitting", text),
    )


def _is_hydromechanical(interceptor: Interceptor, context: Context) -> bool:
    """By its name, or as it is sold by its flow and does not hold as much as one of gravity."""
    element, told = interceptor.element, told_of(interceptor, context)
    if says(element, HYDROMECHANICAL):
        return True
    if says(element, BY_GRAVITY) or kind_of(element) != GREASE:
        return False
    held, least = rating_of(element, told).volume_gal, context.code.limit_or_none(LEAST_BY_GRAVITY)
    holds_little = held is None or (least is not None and not at_least(held, least.value, "gal"))
    return holds_little and is_rated_by_flow(element, told)


def told_of(interceptor: Interceptor, context: Context) -> InterceptorData | None:
    """What the job file tells of an interceptor."""
    given = context.job.section(SiteSection).interceptors
    return next((each for each in given if each.element == interceptor.element.guid), None)
