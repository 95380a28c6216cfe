"""Rules about what leads to a gas appliance: its pipe, and its shutoff."""

from collections.abc import Iterator
from math import dist

from ifclint.checks import PASS, Fact, check, drawn, given, missing, not_known, require, violation
from ifclint.codes import Limit
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer, Change, Measure, PartKind, Settles, Step
from ifclint.ifc.elements import Element, Point, Role, System
from ifclint.packs import Context, derived
from ifclint.plumbing import GasAppliance
from ifclint.plumbing.facts import fact
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.words import says
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.near_misses import ENDS_AT, ENDS_IN, near_miss, stranger
from ifclint.rules.gas.piping import members, sources
from ifclint.rules.gas.places import is_near

MANIFOLD_WORDS = ("manifold",)
BESIDE_M = 0.6  # valves of a manifold stand this near to each other; ours, no source


VALVES = PartKind(
    "gas shutoff valves at appliances",
    drawn=lambda context: (
        any(a.shutoff for a in context.plumbing.gas.appliances) if context.plumbing.gas else False
    ),
    remedy="Model the shutoff at each gas appliance (IfcValve, GASCOCK or ISOLATING, or named so).",
)
NO_PIPE = Fact(
    "No gas pipe is joined to {}.",
    "Model the appliance's gas pipe and join it to the appliance (ports, or ends that meet); an "
    "electric one needs its EnergySource.",
)
SHUTS_OFF = Fact("whether {} shuts off the gas of {}", fact("valve_kind").remedy)
AT_MANIFOLD = Fact(
    "whether the gas shutoff of {}, beside others, stands at a manifold",
    "Name the manifold, from which a shutoff may stand up to {1} ft; another belongs in the "
    "appliance's room, within {2} ft.",
)


def is_reached(appliance: GasAppliance) -> bool:
    return appliance.segment is not None


@gas_rule(
    title="Every gas appliance fed from the meter",
    clauses={"upc": "1203.1", "ipc": "IFGC 401.1", "irc": "G2412.1"},
    settles=Settles.LINE,
    follows=(System.GAS,),
)
def gas_reaches_appliance(appliance: GasAppliance, context: Context) -> Answer:
    """A pipe that ends short of its appliance is either a gap in the drawing or an open gas pipe.

    Followed from the meter, element by element. An appliance to which no gas pipe is drawn is
    unverified, as it may be electric, and so is every one where no meter is known, or whose piping
    ends at a part of other gas piping without being joined to it, or in something that is not
    understood.
    """
    if appliance.length_m is not None:
        return PASS
    if not appliance.joined:
        return not_known(NO_PIPE, appliance)
    drawn(sources(context), context, "where the gas of {} comes from", appliance)
    message = f"No path leads from the meter to {appliance.label}."
    if missed := near_miss(appliance.element_ids, context):
        return not_known(ENDS_AT, message, *missed)
    if strange := stranger(appliance.element_ids, context):
        return not_known(ENDS_IN, message, *strange)
    return violation(message=message, remedy="Join the pipe of the appliance to the gas piping.")


@gas_rule(
    title="Shutoff at every gas appliance",
    clauses={"upc": "1212.6", "ipc": "IFGC 409.5", "irc": "G2420.5"},
    applies=is_reached,
)
def gas_shutoff(appliance: GasAppliance, context: Context) -> Iterator[Answer]:
    """Whoever smells gas must find a valve at the appliance, and whoever replaces it needs one.

    The last valve on the appliance's own branch, its distance from the appliance, and its room
    where both rooms are stated. A valve before a junction serves other appliances
    too and does not count; one of unknown kind is unverified. That of a fireplace may stand
    elsewhere (IFGC 409.5.2, from memory), and that at a manifold in any room within 50 ft. Valves
    beside each other, without the word manifold, may be at one: a question. The outlet of a
    laboratory is a cock itself.
    """
    if appliance.kind == "laboratory-outlet":
        return
    limit = context.code.limit("gas_valve_distance_ft")
    if appliance.shutoff is not None:
        if appliance.kind == "fireplace":
            yield PASS
        elif _at_manifold(appliance.shutoff, context):
            yield _within(appliance, context.code.limit("gas_manifold_valve_distance_ft"))
        else:
            yield from _stands_near(appliance, appliance.shutoff, context)
        return
    unknown = [e for e in appliance.own if e.role is Role.VALVE and not e.kind]
    for valve in unknown:
        yield not_known(SHUTS_OFF, valve, appliance, about=valve.guid)
    if not unknown:
        text = f"Set a listed gas shutoff in the same room, within {limit.value:g} ft of it."
        yield missing(
            VALVES,
            message=f"{appliance.label} has no gas shutoff of its own.",
            remedy=Change("part", appliance.element_ids, "gas shutoff valve", text),
            required=Measure(limit.value, limit.unit, "at most"),
            clause=limit.clause,
        )


def _stands_near(appliance: GasAppliance, shutoff: Element, context: Context) -> Iterator[Answer]:
    """Whether a shutoff stands close to its appliance, and in its room."""
    limit = context.code.limit("gas_valve_distance_ft")
    clicked = (shutoff.guid, *appliance.element_ids)
    theirs, own = shutoff.space, appliance.element.space
    is_same_room = not theirs or not own or theirs == own
    near = _within(appliance, limit)
    far = context.code.limit("gas_manifold_valve_distance_ft")
    if (near is PASS and is_same_room) or not _has_valves_beside(shutoff, context):
        yield near
        yield require(
            is_same_room,
            message=f'The gas shutoff of {appliance.label} is in "{theirs}", not in its "{own}".',
            remedy=_near_text(limit),
            elements=clicked,
            about=shutoff.guid,
            clause=limit.clause,
        )
    elif _within(appliance, far) is not PASS:
        yield _within(appliance, far)
    else:
        figures = f"{far.value:g}", f"{limit.value:g}"
        yield not_known(AT_MANIFOLD, appliance, *figures, elements=clicked, clause=far.clause)


def _near_text(limit: Limit) -> str:
    return f"Set the shutoff in the same room, within {limit.value:g} ft of the appliance."


def _within(appliance: GasAppliance, limit: Limit) -> Answer:
    """Whether the shutoff of an appliance stands within a distance of it: in a straight line to
    where it takes its gas; where a place is not known, along the pipe."""
    feet = _away_m(appliance) / M_PER_FT
    return check(
        feet,
        at_most=limit,
        message=f"The gas shutoff of {appliance.label} is {apart_text(feet, limit.value, 'ft')} "
        f"away; {limit.value:g} ft is the most.",
        remedy=_near_text(limit),
        steps=(Step("From the shutoff to the appliance", feet, "ft"),),
        limit_step="Farthest shutoff",
        elements=(given(appliance.shutoff).guid, *appliance.element_ids),
    )


def _away_m(appliance: GasAppliance) -> float:
    along, place = given(appliance.shutoff_distance_m), middle_of(given(appliance.shutoff))
    inlets = (e.position for e in appliance.element.ends if e.system is System.GAS)
    straight = (dist(place, inlet) for inlet in inlets if place is not None and inlet is not None)
    return min((along, *straight))


def _at_manifold(shutoff: Element, context: Context) -> bool:
    """Whether a shutoff stands at a piece that is called a manifold."""
    place = middle_of(shutoff)
    return place is not None and any(is_near(place, points) for points in _manifolds(context))


@derived
def _manifolds(context: Context) -> list[list[Point]]:
    """The ends of every piece that is called a manifold."""
    return [e.places for e in members(context) if says(e, MANIFOLD_WORDS)]


def _has_valves_beside(shutoff: Element, context: Context) -> bool:
    """Whether shutoffs of other appliances stand beside a shutoff."""
    piping, place = context.plumbing.gas, middle_of(shutoff)
    others = (a.shutoff for a in piping.appliances) if piping is not None else ()
    places = (middle_of(e) for e in others if e is not None and e is not shutoff)
    return place is not None and any(p and at_most(dist(p, place), BESIDE_M, "m") for p in places)
