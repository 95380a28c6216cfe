"""Rules about vent connectors: what they carry, that they rise, and that they do not narrow."""

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import pairwise
from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, given, known, not_known
from ifclint.codes import Limit
from ifclint.engineering.extents import level_m
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import feet, in_per_ft_from_slope
from ifclint.engineering.wording import apart_text, number_text, sentence, trade_size
from ifclint.findings import Answer, Change, Severity, Step
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import VentConnector
from ifclint.plumbing.words import says_text
from ifclint.rules.heaters import venting
from ifclint.rules.heaters.common_vents import COMMON

COINCIDING_M = 0.001  # ends so near each other are drawn at one point
SHORT_M = 0.05  # ours, no source: a shorter pipe has no slope to speak of
FAN = Fact(
    "whether {} is fan-assisted is not known, and its connector serves it only if it is.",
    "Name the appliance or its type by its draft: draft hood, or fan-assisted.",
)

WALLS = Fact(
    "whether {} is of single-wall pipe, which may go three quarters of the height of its vent "
    "sideways, or of Type B",
    "Give its pipes their material: single-wall, or Type B.",
)
DRAWS = Fact(
    "whether {} draws by its vent, whose connector is then too long ({})",
    "Name the appliance or its type by its draft: draft hood, fan-assisted, direct vent ...",
)
NARROWED = Fact(
    "whether the maker of {} lists a {} vent for its {} outlet",
    "Carry the vent in the size of the outlet, or show the maker's table that allows less.",
)


@rule(
    title="Vent connector large enough, with rise enough",
    clauses=COMMON,
    severity=Severity.HIGH,
    needs=("size_in", "rise_m"),
    applies=lambda connector: (
        connector.vent is not None
        and connector.vent.is_common
        and venting.draft(connector.appliance) is not venting.Draft.OTHER
    ),
    of_load=True,
)
def vent_connector_size(connector: VentConnector, context: Context) -> Answer:
    """The connector carries its own appliance before the common vent has warmed.

    The appliance's input against the connector table, by the vent's height, the connector's rise
    from the appliance's outlet to where it meets the others, and its size; elbows beyond two
    and a level length beyond the usual take off. A rise below the least the table lists is wrong.
    The tables are of Category I: the connector of a direct vent, power vented or condensing
    appliance is of its maker's size.
    """
    table, rise = context.code.table("gas_vent_connector"), feet(given(connector.rise_m))
    least = min(table.numbers("rise_ft"))
    risen = check(
        rise,
        at_least=least,
        unit="ft",
        message=f"{sentence(connector.label)} rises {apart_text(rise, least, 'ft')}; the tables "
        f"begin at {least:g} ft.",
        remedy=f"Raise the fitting where it meets the common vent: {least:g} ft of rise or more.",
        clause=table.clause,
    )
    return _carries(connector, context) if risen is PASS else risen


def _carries(connector: VentConnector, context: Context) -> Answer:
    """The input of a connector's appliance against what it may carry."""
    vent, appliance, size = given(connector.vent), connector.appliance, given(connector.size_in)
    height_m = known(vent.height_m, venting.VENT_HEIGHT, vent)
    load = known(venting.input_kbtuh(appliance, context), venting.INPUT, appliance)
    drawn = venting.draft(appliance)
    capacity = venting.connector_capacity(connector, size, drawn, context)
    if capacity is None:
        return venting.unlisted("connector", connector.label, feet(height_m))
    fanned = venting.connector_capacity(connector, size, venting.Draft.FAN, context)
    if drawn is None and not capacity.serves(load) and fanned and fanned.serves(load):
        return not_known(FAN, appliance)
    words = f"{sentence(connector.label)} carries {number_text(load)} {venting.KBTUH};"
    judged = partial(
        check,
        load,
        remedy=lambda: _resized(connector, load, context),
        steps=(Step(connector.appliance.label, load, venting.KBTUH), *capacity.steps),
    )
    most, least = capacity.most, capacity.least
    if least is not None:
        message = f"{words} at least {number_text(least.value)} is allowed."
        enough = judged(at_least=least, message=message)
        if enough is not PASS:
            return enough
    return judged(at_most=most, message=f"{words} at most {number_text(most.value)} is allowed.")


def _resized(connector: VentConnector, load: float, context: Context) -> Change | str:
    kind = venting.draft(connector.appliance)
    size = venting.smallest_size(
        "gas_vent_connector",
        load,
        lambda size: venting.connector_capacity(connector, size, kind, context),
        context,
    )
    if size is None:
        return "No size of the table serves: raise the connector, or vent the appliance alone."
    return Change("size", connector.element_ids, size, f"Make the connector {trade_size(size)}.")


@rule(
    title="Vent connector rises toward the vent",
    clauses={"upc": "509.10", "ipc": "IFGC 503.10", "irc": "G2427.10"},
    severity=Severity.HIGH,
    applies=lambda connector: venting.draft(connector.appliance) is not venting.Draft.OTHER,
)
def vent_connector_slope(connector: VentConnector, context: Context) -> Iterator[Answer]:
    """Hot gas does not flow level or down: a connector that sags spills at the hood.

    The rise of every near-level pipe of the connector in the direction of the vent, against the
    code's least. The vent of a direct vent, power vented or condensing appliance is laid as its
    maker says.
    """
    limit = context.code.limit("gas_connector_rise_in_per_ft")
    remedy = f"Let the connector rise {limit.value:g} in per ft toward the vent."
    for pipe, slope in slopes(connector.elements, connector.points):
        if slope is None:
            yield not_known("path", connector, about=pipe.guid)
            continue
        rise = in_per_ft_from_slope(slope)
        goes = f"rises {apart_text(rise, limit.value, 'in per ft')}"
        if rise < 0:
            goes = f"falls {number_text(-rise, 3)} in per ft toward the vent"
        yield check(
            rise,
            at_least=limit,
            message=f"{sentence(connector.label)} {goes}; {limit.value:g} of rise is the least.",
            remedy=Change("work", connector.element_ids, "rise of its vent", remedy),
            limit_step="Rise, at least",
            elements=(pipe.guid,),
            about=pipe.guid,
        )


def slopes(
    parts: Sequence[Element], points: Sequence[Point | None]
) -> Iterator[tuple[Element, float | None]]:
    """Each near-level pipe of a vent with its slope the way the flue gas goes; None where its ends
    have no place. The parts come with where each is entered."""
    for element, (a, b) in zip(parts, pairwise(points), strict=False):
        if element.role is not Role.PIPE:
            continue
        if a is None or b is None or _is_drawn_short(element, a, b):
            yield element, None
            continue
        level, rise = level_m(a, b), b[2] - a[2]
        if level > SHORT_M and level > abs(rise):
            yield element, rise / level


def _is_drawn_short(pipe: Element, a: Point, b: Point) -> bool:
    """Whether its ends stand at one point though the pipe is not known to be a stub."""
    return dist(a, b) < COINCIDING_M and (not pipe.length_m or pipe.length_m > SHORT_M)


@rule(
    title="Vent connector not smaller than the appliance's outlet",
    clauses=COMMON,
    severity=Severity.HIGH,
    needs=("size_in", "outlet_in"),
    applies=lambda connector: (
        venting.draft(connector.appliance) is not venting.Draft.FAN
        and (
            venting.draft(connector.appliance) is not venting.Draft.OTHER
            or connector.outlet_in is not None
        )
    ),
)
def vent_connector_outlet(connector: VentConnector, context: Context) -> Answer:
    """A connector narrower than the draft hood chokes it.

    The smallest pipe of the connector against the appliance's vent outlet. A fan-assisted
    appliance's connector may be sized by the table alone and is excused. That of a direct vent,
    power vented or condensing appliance has the size its maker lists: one narrower than the outlet,
    or led into a narrower vent, is a question.
    """
    assert connector.outlet_in is not None
    outlet, text = connector.outlet_in, trade_size(connector.outlet_in)
    if venting.draft(connector.appliance) is venting.Draft.OTHER:
        vent = connector.vent
        size = min(given(connector.size_in), (vent and vent.size_in) or outlet)
        is_narrow = not at_least(size, outlet, "in")
        ids = (connector.appliance.guid, *connector.element_ids)
        asked = not_known(NARROWED, connector.appliance, trade_size(size), text, elements=ids)
        return asked if is_narrow else PASS
    return check(
        given(connector.size_in),
        at_least=outlet,
        unit="in",
        message=f"{sentence(connector.label)} is on a {text} outlet.",
        remedy=Change("size", connector.element_ids, outlet, f"Make the connector {text}."),
    )


@rule(
    title="Vent connector no longer than the vent is high",
    clauses={"upc": "509.10", "ipc": "IFGC 503.10.9", "irc": "G2427.10"},
    severity=Severity.HIGH,
    applies=lambda connector: (
        connector.vent is not None
        and connector.vent.is_capped
        and venting.draft(connector.appliance) is not venting.Draft.OTHER
    ),
)
def vent_connector_length(connector: VentConnector, context: Context) -> Answer:
    """Flue gas cools on a long level way, and a low vent then does not draw it on.

    How far the connector goes sideways against the share of the vent's height, from the highest
    appliance outlet to the terminal, that the code has for its walls; where nothing tells them,
    what is between the two is asked. So is one too long of an appliance that does not tell how it
    draws: of a direct vent, power vented or condensing one its maker sets the length. The code
    excuses a system that is engineered: accept the finding then. The sections are from memory.
    """
    vent = given(connector.vent)
    if venting.draft(connector.appliance) is None and venting.leaves_by_wall(vent, context):
        return NOT_APPLICABLE
    height_m = known(vent.height_m, venting.VENT_HEIGHT, vent)
    if height_m <= 0.0:
        return NOT_APPLICABLE
    if None in connector.points:
        return not_known("path", connector)
    shares = [context.code.limit(key) for key in _shares_of(connector)]
    judged = [_long(connector, height_m, share) for share in shares]
    if len({answer.outcome for answer in judged}) > 1:
        return not_known(WALLS, connector)
    if judged[0] is not PASS and venting.draft(connector.appliance) is None:
        return not_known(DRAWS, connector.appliance, connector)
    return judged[0]


def _shares_of(connector: VentConnector) -> tuple[str, ...]:
    """The limits that may hold for the walls of its level pipes, as far as these are told."""
    level = [pipe for pipe, _ in slopes(connector.elements, connector.points)]
    told = [venting.words_of(pipe) for pipe in level]
    if any(says_text(words, venting.SINGLE_WALL_WORDS) for words in told):
        return ("gas_connector_single_wall_share",)
    if told and all(says_text(words, venting.TYPE_B_WORDS) for words in told):
        return ("gas_connector_type_b_share",)
    return ("gas_connector_type_b_share", "gas_connector_single_wall_share")


def _long(connector: VentConnector, height_m: float, share: Limit) -> Answer:
    """How far it goes sideways against a share of the height of its vent."""
    length, height = feet(connector.level_m), feet(height_m)
    most = share.value * height
    return check(
        length / height,
        at_most=share,
        message=f"{sentence(connector.label)} goes {apart_text(length, most, 'ft')} sideways; its "
        f"vent is {number_text(height)} ft high, and lets {number_text(most)} ft be the most.",
        remedy="Set the appliance nearer to its vent, or carry the vent higher.",
        steps=(
            Step("Length sideways", length, "ft"),
            Step("Height from the highest outlet to the terminal", height, "ft"),
        ),
        limit_step="Share of the height, at most",
    )
