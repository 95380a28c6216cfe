"""Rules about the vents of heaters and other appliances that burn fuel."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

from ifclint.checks import NOT_APPLICABLE, PASS, advise, check, unverified, violation
from ifclint.engineering.units import M_PER_FT, in_per_ft_from_slope
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import System
from ifclint.packs import Context, rule
from ifclint.plumbing import FuelAppliance, FuelVent, Heater, VentConnector
from ifclint.rules.heaters.answers import limit_step, start
from ifclint.rules.heaters.ends import not_outdoors
from ifclint.rules.heaters.venting import (
    FAN,
    KBTUH,
    OTHER,
    common_room,
    common_sizes,
    connector_room,
    draft,
    input_kbtuh,
    least_rise_ft,
)

VENTING = {"upc": "509.1", "ipc": "IFGC 503.1", "irc": "G2427.1"}
COMMON = {"upc": "510.2", "ipc": "IFGC 504.3", "irc": "G2428.3"}
GIVE_INPUT = (
    "Give every appliance on the vent its input (a property named InputRating), or write it into "
    "the job file, gas.loads."
)
GIVE_SHAPE = "Give vent pipes a nominal size and a shape, and the terminal and outlets a place."


@rule(
    title="Heater that burns fuel vented to outdoors",
    subject=Heater,
    clauses=VENTING,
    severity=Severity.HIGH,
    applies=lambda heater: heater.burns_fuel is not False,
)
def heater_vented(heater: Heater, context: Context) -> Answer:
    """Carbon monoxide from an open flue kills the household in its sleep.

    A vent followed from the heater to a terminal. Where none is drawn, that is unverified; a vent
    that is drawn and reaches no terminal, or ends under the roof, is wrong. Direct-vent and
    power-vented heaters follow their makers' instructions, which nothing here knows.
    """
    return _vented(heater, context)


@rule(
    title="Furnace or fireplace that burns fuel vented to outdoors",
    subject=FuelAppliance,
    clauses=VENTING,
    severity=Severity.HIGH,
    applies=lambda appliance: appliance.burns_fuel is not False,
)
def appliance_vented(appliance: FuelAppliance, context: Context) -> Answer:
    """A furnace that breathes into the house fills it with carbon monoxide.

    As of a heater: a vent followed to a terminal outdoors. None drawn is unverified; one that is
    drawn and reaches no terminal, or ends under the roof, is wrong.
    """
    return _vented(appliance, context)


def _vented(heater: Heater | FuelAppliance, context: Context) -> Answer:
    """Whether the vent of what burns fuel reaches the open air."""
    if heater.burns_fuel is None:
        return unverified(
            f"Whether {heater.label} burns fuel is not known.",
            "Give it its EnergySource, or join its gas pipe.",
        )
    if heater.connector is not None and heater.connector.vent is not None:
        return not_outdoors(heater.connector.vent, context) or PASS
    flues = [
        i
        for i in context.plumbing.network.neighbours(heater.index)
        if context.plumbing.network.elements[i].system is System.FLUE
    ]
    if flues:
        first = context.plumbing.network.elements[flues[0]]
        return violation(
            message=f"The vent of {heater.label} reaches no terminal.",
            remedy="Carry the vent through the roof to a listed cap, joined all the way.",
            elements=(first.guid, *heater.element_ids),
        )
    return unverified(
        f"No vent is drawn from {heater.label}.",
        "Draw its vent to the terminal, joined at every fitting.",
    )


def _sum(vent: FuelVent, context: Context, instead: dict[str, float]) -> float | None:
    values = [input_kbtuh(c.appliance, context, instead) for c in vent.connectors]
    return None if None in values else sum(v for v in values if v is not None)


def _inputs(vent: FuelVent, context: Context, instead: dict[str, float]) -> list[Step]:
    return [
        Step(c.appliance.label, input_kbtuh(c.appliance, context, instead), KBTUH)
        for c in vent.connectors
    ]


def _common(vent: FuelVent, context: Context, instead: dict[str, float]) -> Answer:
    """The load of a common vent against what it may carry."""
    if vent.size_in is None or vent.height_m is None:
        return unverified(f"Size or height of {vent.label} is not known.", GIVE_SHAPE)
    load = _sum(vent, context, instead)
    if load is None:
        return unverified(f"What {vent.label} carries is not known.", GIVE_INPUT)
    room = common_room(vent, vent.size_in, context)
    if room is None:
        return unverified(
            f"No common vent table here holds {trade_size(vent.size_in)} at "
            f"{number_text(vent.height_m / M_PER_FT)} ft.",
            "Size this vent by its listing, or by the code book's full table.",
        )
    steps = (*_inputs(vent, context, instead), Step("Together", load, KBTUH), *room.steps)
    if load <= room.most:
        return Answer(Outcome.PASS, steps=steps)
    rooms = {s: common_room(vent, s, context) for s in common_sizes(context)}
    enough = [s for s, r in rooms.items() if r is not None and r.most >= load]
    return violation(
        message=(
            f"{start(vent)} carries {number_text(load)} {KBTUH} and may carry "
            f"{number_text(room.most)}."
        ),
        remedy=(
            f"Make the common vent {trade_size(min(enough))}."
            if enough
            else "No size of the table carries this load: vent the appliances apart."
        ),
        measured=Measure(load, KBTUH),
        required=Measure(room.most, KBTUH, "at most"),
        steps=steps,
        clause=room.clause,
    )


@rule(
    title="Common vent large enough for its appliances",
    subject=FuelVent,
    clauses=COMMON,
    severity=Severity.HIGH,
    applies=lambda vent: vent.is_common,
)
def common_vent_size(vent: FuelVent, context: Context) -> Answer:
    """A vent too small spills flue gas out of the draft hoods, into the room.

    The inputs of all appliances on it against the common vent table, by its height above the
    highest outlet and the kind of connectors and draft. Where the draft of an appliance is not
    told, natural draft is taken, of which a vent carries least. Appliances that are not of
    Category I (direct or power vented, condensing) may not be on it.
    """
    others = [c.appliance for c in vent.connectors if draft(c.appliance) == OTHER]
    if others:
        return violation(
            message=(
                f"{others[0].label} is not vented by natural draft and may not share {vent.label}."
            ),
            remedy="Give it the vent of its own that its listing asks for.",
            elements=(others[0].guid, *vent.element_ids),
        )
    answer = _common(vent, context, {})
    return PASS if answer.outcome is Outcome.PASS else answer


@rule(
    title="Common vent would serve the appliance asked about in the job file",
    subject=FuelVent,
    clauses=COMMON,
    severity=Severity.HIGH,
)
def common_vent_what_if(vent: FuelVent, context: Context) -> Answer:
    """A larger heater on an old vent is how many a house came by carbon monoxide.

    Each question of the job file (gas.what_if) about an appliance on this vent, with today's
    vent. Vents of a single appliance are not in the table and are unverified; vents nobody asks
    about are excused.
    """
    on_it = {c.appliance.guid: c.appliance for c in vent.connectors}
    questions = [q for q in context.job.gas.what_if if q.element in on_it]
    if not questions:
        return NOT_APPLICABLE
    for question in questions:
        if not vent.is_common:
            return unverified(
                f'Whether {vent.label} would serve "{question.name}" is not known.',
                "Size a vent of one appliance by the code book's table for such vents.",
            )
        answer = _common(vent, context, {question.element: question.input})
        if answer.outcome is Outcome.UNVERIFIED:
            return answer
        if answer.outcome is Outcome.VIOLATION:
            return advise(
                f'"{question.name}": {answer.message[0].lower()}{answer.message[1:]}',
                f"Before the appliance is replaced: {answer.remedy[0].lower()}{answer.remedy[1:]}",
                measured=answer.measured,
                required=answer.required,
                steps=answer.steps,
                clause=answer.clause,
            )
    return PASS


@rule(
    title="Common vent in proportion to its connectors",
    subject=FuelVent,
    clauses=COMMON,
    applies=lambda vent: vent.is_common,
)
def common_vent_proportion(vent: FuelVent, context: Context) -> Answer:
    """Too narrow it chokes the largest appliance; too wide it never warms, and does not draw.

    The common vent not smaller than its largest connector, and its area not more than the code's
    multiple of the smallest appliance outlet.
    """
    sizes = [c.size_in for c in vent.connectors]
    outlets = [c.outlet_in or c.size_in for c in vent.connectors]
    known = [s for s in (*sizes, *outlets) if s is not None]
    if vent.size_in is None or len(known) < 2 * len(vent.connectors):
        return unverified(f"The sizes of {vent.label} or its connectors are not known.", GIVE_SHAPE)
    largest, smallest = max(known[: len(sizes)]), min(known[len(sizes) :])
    if vent.size_in < largest:
        return violation(
            message=f"{start(vent)} is smaller than a {trade_size(largest)} connector it takes.",
            remedy=f"Make the common vent {trade_size(largest)} or larger.",
            measured=Measure(vent.size_in, "in"),
            required=Measure(largest, "in", "at least"),
            severity=Severity.HIGH,
        )
    limit = context.code.limit("gas_common_vent_area_ratio")
    ratio = (vent.size_in / smallest) ** 2
    return check(
        ratio,
        at_most=limit,
        message=f"{start(vent)} has {number_text(ratio)} times the area of its smallest "
        "appliance outlet; "
        f"{limit.value:g} times is the most.",
        remedy="Reduce the common vent to the size its table asks for.",
        steps=lambda: (
            limit_step(context.code, "gas_common_vent_area_ratio", "Area, at most times"),
        ),
    )


@rule(
    title="Gas vent tall enough to draw",
    subject=FuelVent,
    clauses=VENTING,
    severity=Severity.HIGH,
)
def gas_vent_height(vent: FuelVent, context: Context) -> Answer:
    """A vent that is too short does not draw against the wind.

    From the highest appliance outlet up to the terminal, which may not end under the roof.
    Direct-vent and power-vented appliances
    follow their makers' instructions and are excused.
    """
    if all(draft(c.appliance) == OTHER for c in vent.connectors):
        return NOT_APPLICABLE
    if vent.height_m is None:
        return unverified(f"The height of {vent.label} is not known.", GIVE_SHAPE)
    limit, feet = context.code.limit("gas_vent_above_hood_ft"), vent.height_m / M_PER_FT
    if feet >= limit.value - 0.01:
        wrong = not_outdoors(vent, context)
        return wrong if wrong and wrong.outcome is Outcome.VIOLATION else PASS
    return violation(
        message=(
            f"{start(vent)} ends {number_text(feet)} ft above the highest outlet on it; "
            f"{limit.value:g} ft is the least."
        ),
        remedy=f"Carry the vent at least {limit.value:g} ft above the highest draft hood.",
        measured=Measure(feet, "ft"),
        required=Measure(limit.value, "ft", "at least"),
        steps=(limit_step(context.code, "gas_vent_above_hood_ft", "Above the draft hood"),),
        elements=(vent.terminal.guid, *vent.element_ids),
        clause=limit.clause,
    )


@rule(
    title="Vent connector large enough, with rise enough",
    subject=VentConnector,
    clauses=COMMON,
    severity=Severity.HIGH,
    applies=lambda c: c.vent is not None and c.vent.is_common,
)
def vent_connector_size(connector: VentConnector, context: Context) -> Answer:
    """The connector carries its own appliance before the common vent has warmed.

    The appliance's input against the connector table, by the vent's height, the connector's rise
    from the appliance's outlet to where it meets the others, and its size; elbows beyond two
    and a way sideways beyond the usual take off. A rise below the least the table lists is wrong.
    """
    vent = connector.vent
    assert vent is not None
    if connector.size_in is None or connector.rise_m is None or vent.height_m is None:
        return unverified(f"Size, rise or height of {connector.label} is not known.", GIVE_SHAPE)
    rise, height = connector.rise_m / M_PER_FT, vent.height_m / M_PER_FT
    table = context.code.table("gas_vent_connector")
    least = least_rise_ft(table)
    if rise < least - 0.05:
        return violation(
            message=(
                f"{start(connector)} rises {number_text(rise, 3)} ft; the tables begin at "
                f"{least:g} ft."
            ),
            remedy=(
                f"Raise the fitting where it meets the common vent: {least:g} ft of rise or more."
            ),
            measured=Measure(rise, "ft"),
            required=Measure(least, "ft", "at least"),
            clause=table.clause,
        )
    load = input_kbtuh(connector.appliance, context, {})
    if load is None:
        return unverified(f"The input of {connector.appliance.label} is not known.", GIVE_INPUT)
    room = connector_room(connector, height, rise, connector.size_in, context)
    if room is None:
        return unverified(
            f"No connector table here holds {connector.label} at {number_text(height, 3)} ft.",
            "Size this connector by its listing, or by the code book's full table.",
        )
    steps = (Step(connector.appliance.label, load, KBTUH), *room.steps)
    if room.least <= load <= room.most:
        return PASS
    if draft(connector.appliance) is None and load <= _fan_most(connector, context):
        return unverified(
            f"Whether {connector.appliance.label} is fan-assisted is not known, and its connector "
            "serves it only if it is.",
            "Name the appliance or its type by its draft: draft hood, or fan-assisted.",
        )
    bound = Measure(room.most, KBTUH, "at most")
    if load < room.least:
        bound = Measure(room.least, KBTUH, "at least")
    sizes = sorted(table.numbers("size_in"))
    rooms = {s: connector_room(connector, height, rise, s, context) for s in sizes}
    enough = [s for s, r in rooms.items() if r is not None and r.least <= load <= r.most]
    return violation(
        message=(
            f"{start(connector)} carries {number_text(load)} {KBTUH}; {bound.bound} "
            f"{number_text(bound.value)} is allowed."
        ),
        remedy=(
            f"Make the connector {trade_size(min(enough))}."
            if enough
            else "No size of the table serves: raise the connector, or vent the appliance alone."
        ),
        measured=Measure(load, KBTUH),
        required=bound,
        steps=steps,
        clause=room.clause,
    )


def _fan_most(connector: VentConnector, context: Context) -> float:
    """The most it would carry if its appliance were fan-assisted."""
    assert connector.size_in is not None
    rows = context.code.table("gas_vent_connector").where(size_in=connector.size_in)
    return max((r.number_or_none("fan_max_kbtuh") or 0.0 for r in rows), default=0.0)


@rule(
    title="Vent connector rises toward the vent",
    subject=VentConnector,
    clauses={"upc": "509.10", "ipc": "IFGC 503.10", "irc": "G2427.10"},
    severity=Severity.HIGH,
)
def vent_connector_slope(connector: VentConnector, context: Context) -> Answer:
    """Hot gas does not flow level or down: a connector that sags spills at the hood.

    The rise of every near-level pipe of the connector in the direction of the vent, against the
    code's least.
    """
    limit = context.code.limit("gas_connector_rise_in_per_ft")
    paths = list(zip(connector.elements, pairwise(connector.points), strict=False))
    slopes = []
    for element, (a, b) in paths:
        if a is None or b is None or element not in connector.pipes:
            continue
        level = hypot(b[0] - a[0], b[1] - a[1])
        if level > 0.05 and level > abs(b[2] - a[2]):
            slopes.append((in_per_ft_from_slope((b[2] - a[2]) / level), element))
    if not slopes and any(a is None or b is None for _, (a, b) in paths):
        return unverified(f"The course of {connector.label} is not known.", GIVE_SHAPE)
    worst = min(slopes, key=lambda s: s[0], default=None)
    if worst is None:
        return NOT_APPLICABLE  # straight up
    return check(
        worst[0],
        at_least=limit,
        message=f"{start(connector)} rises {number_text(worst[0], 3)} in per ft; "
        f"{limit.value:g} is the "
        "least.",
        remedy=f"Let the connector rise {limit.value:g} in per ft toward the vent.",
        steps=lambda: (limit_step(context.code, "gas_connector_rise_in_per_ft", "Rise, at least"),),
        elements=(worst[1].guid,),
    )


@rule(
    title="Vent connector not smaller than the appliance's outlet",
    subject=VentConnector,
    clauses=COMMON,
    severity=Severity.HIGH,
)
def vent_connector_outlet(connector: VentConnector, context: Context) -> Answer:
    """A connector narrower than the draft hood chokes it.

    The smallest pipe of the connector against the appliance's vent outlet. A fan-assisted
    appliance's connector may be sized by the table alone and is excused.
    """
    if draft(connector.appliance) in (FAN, OTHER):
        return NOT_APPLICABLE
    if connector.size_in is None or connector.outlet_in is None:
        return unverified(f"The size of {connector.label} or its outlet is not known.", GIVE_SHAPE)
    return check(
        connector.size_in,
        at_least=connector.outlet_in,
        unit="in",
        message=f"{start(connector)} is on a {trade_size(connector.outlet_in)} outlet.",
        remedy=f"Make the connector {trade_size(connector.outlet_in)}.",
    )


RULES = (
    heater_vented, appliance_vented, common_vent_size, common_vent_what_if, common_vent_proportion,
    gas_vent_height, vent_connector_size, vent_connector_slope, vent_connector_outlet,
)  # fmt: skip
