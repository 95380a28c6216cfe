"""Rules about where a heater stands: in a garage, in an attic, with room, held fast."""

from __future__ import annotations

from math import hypot

from ifclint.checks import NOT_APPLICABLE, PASS, check, missing, unverified, violation
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Measure, Outcome, Severity
from ifclint.ifc.elements import Element, Point, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Heater
from ifclint.rules.heaters.answers import limit_step, says
from ifclint.rules.heaters.ends import floor_under, surroundings
from ifclint.rules.heaters.parts import BARRIER_WORDS, BARRIERS, STRAP_WORDS, STRAPS

NEAR_M = 1.5
STRAPS_ASKED = 2  # one in the upper and one in the lower third, as every clause has it


def in_garage(element: Element) -> bool | None:
    """Whether it stands in a garage, by the name of its space; None where it has none."""
    if not element.space:
        return None
    return any(word in element.space.lower() for word in ("garage", "carport", "car park"))


def base_m(element: Element) -> float | None:
    """The height of its underside; None where it has no box."""
    return element.box[0][2] if element.box is not None else None


@rule(
    title="Flame of a heater in a garage above the vapors on the floor",
    subject=Heater,
    clauses={"upc": "507.13", "ipc": "IFGC 305.3", "irc": "P2801.7"},
    severity=Severity.HIGH,
    applies=lambda heater: heater.burns_fuel is not False,
)
def heater_ignition_height(heater: Heater, context: Context) -> Answer:
    """Gasoline vapor lies on a garage floor, and a pilot lights it.

    The underside of a heater in a garage above the floor: where that is high enough, so is the
    flame. A lower gas connection shows a lower flame. Heaters listed as resistant to ignition of
    flammable vapors are excused.
    """
    garage = in_garage(heater.element)
    if garage is None:
        return unverified(
            f"Whether {heater.label} stands in a garage is not known.",
            "Contain the heater in its space (IfcSpace), named.",
        )
    if not garage or says(heater.element, "fvir", "vapor ignition resistant"):
        return NOT_APPLICABLE
    if heater.burns_fuel is None:
        return unverified(
            f"Whether {heater.label} burns fuel is not known.",
            "Give the heater its EnergySource, or join its gas pipe.",
        )
    key = "heater_ignition_above_floor_in"
    limit, base = context.code.limit(key), base_m(heater.element)
    gas = [e.position for e in heater.element.ends if e.system is System.GAS and e.position]
    at = gas[0] if gas else heater.element.position
    floor = floor_under(at, context) if at is not None else None
    if floor is None or (base is None and not gas):
        return unverified(
            f"How high the flame of {heater.label} is above the floor is not known.",
            "Give the heater a shape, and the garage its floor.",
        )
    if base is not None and (base - floor) / M_PER_IN >= limit.value - 0.05:
        return PASS
    highest = gas[0][2] if gas else base
    assert highest is not None
    inches = (highest - floor) / M_PER_IN
    if inches >= limit.value and base is None:
        return unverified(
            f"How high the flame of {heater.label} is above the floor is not known.",
            "Give the heater a shape, and the garage its floor.",
        )
    measured = (base - floor) / M_PER_IN if base is not None else inches
    return violation(
        message=(
            f"{heater.label} stands {number_text(measured)} in above the garage floor; "
            "its flame must "
            f"be {limit.value:g} in above it."
        ),
        remedy=(
            f"Set the heater on a stand so that its flame is {limit.value:g} in above the "
            "floor, or take one listed as resistant to ignition of flammable vapors."
        ),
        measured=Measure(measured, "in"),
        required=Measure(limit.value, "in", "at least"),
        steps=(limit_step(context.code, key, "Flame above the floor, at least"),),
        clause=limit.clause,
    )


@rule(
    title="Heater in a garage protected from vehicles",
    subject=Heater,
    clauses={"upc": "507.13.1", "ipc": "IFGC 305.4", "irc": "P2801.7"},
    severity=Severity.HIGH,
)
def heater_vehicles(heater: Heater, context: Context) -> Answer:
    """A car that rolls into a gas heater breaks its pipe.

    A bollard or wheel stop close to a heater in a garage, by name. Where the model draws some, and
    none that is close, that is an advisory: the heater may stand out of the way of any car.
    """
    garage = in_garage(heater.element)
    if garage is None:
        return unverified(
            f"Whether {heater.label} stands in a garage is not known.",
            "Contain the heater in its space (IfcSpace), named.",
        )
    if not garage:
        return NOT_APPLICABLE
    if near(heater.element, context, *BARRIER_WORDS):
        return PASS
    return missing(
        BARRIERS,
        message=f"No bollard or wheel stop is drawn before {heater.label}.",
        remedy="Draw the bollard or wheel stop before the heater, or set it out of the vehicles' "
        "way.",
        wrong=Outcome.ADVISORY,
    )


@derived
def _named(context: Context, words: tuple[str, ...]) -> list[Element]:
    return [e for e in context.plumbing.network.elements if says(e, *words)]


def near(element: Element, context: Context, *words: str) -> list[Element]:
    """Elements named with one of the words, close to another."""
    at = element.position
    if at is None:
        return []
    found = []
    for other in _named(context, words):
        point = other.position
        if point is None or other is element:
            continue
        if hypot(point[0] - at[0], point[1] - at[1]) <= NEAR_M and abs(point[2] - at[2]) <= 2.5:
            found.append(other)
    return found


@rule(
    title="Working space before a heater",
    subject=Heater,
    clauses={"ipc": "502.5", "irc": "M1305.1"},
)
def heater_working_space(heater: Heater, context: Context) -> Answer:
    """A heater nobody can kneel before is not relit, drained or replaced.

    A space of the code's size, level, before the side where its gas or cold water enters (its
    controls), free of walls and of other equipment.
    """
    limits = {row.text("key") for row in context.code.table("limits").rows}
    if "heater_working_space_in" not in limits:
        return NOT_APPLICABLE
    box, limit = heater.element.box, context.code.limit("heater_working_space_in")
    side = _control_side(heater.element)
    if box is None or side is None or not surroundings(context).has_walls:
        return unverified(
            f"Whether there is room to work at {heater.label} is not known.",
            "Give the heater and what stands around it shapes, and add the walls to the review.",
        )
    low, high = _before(box, side, limit.value * M_PER_IN)
    blocked = [
        o
        for o in surroundings(context).within(low, high)
        if o.kind in ("wall", "equipment") and o.guid not in _own(heater)
    ]
    if not blocked:
        return PASS
    return violation(
        message=f"{blocked[0].label} stands in the working space before {heater.label}.",
        remedy=f"Keep {limit.value:g} by {limit.value:g} in clear before the heater's controls.",
        required=Measure(limit.value, "in", "at least"),
        steps=(limit_step(context.code, "heater_working_space_in", "Clear, each way"),),
        elements=(*heater.element_ids, blocked[0].guid),
        clause=limit.clause,
    )


def _own(heater: Heater) -> set[str]:
    """What may stand before a heater because it belongs to it."""
    return {heater.key, *([heater.pan.key] if heater.pan else [])}


def _control_side(element: Element) -> tuple[int, int] | None:
    """(axis, direction) of the side where gas, else cold water, enters."""
    if element.box is None:
        return None
    low, high = element.box
    for system in (System.GAS, System.COLD_WATER):
        for end in element.ends:
            if end.system is not system or end.position is None:
                continue
            gaps = {
                (axis, sign): abs(end.position[axis] - (high if sign > 0 else low)[axis])
                for axis in (0, 1)
                for sign in (1, -1)
            }
            return min(gaps, key=lambda side: gaps[side])
    return None


def _before(box: tuple[Point, Point], side: tuple[int, int], reach_m: float) -> tuple[Point, Point]:
    """The box of a space before a side of another box, as wide as it is deep."""
    low, high = list(box[0]), list(box[1])
    axis, sign = side
    other = 1 - axis
    middle = (low[other] + high[other]) / 2
    near_side = high[axis] if sign > 0 else low[axis]
    low[other], high[other] = middle - reach_m / 2, middle + reach_m / 2
    low[axis], high[axis] = sorted((near_side + sign * 0.02, near_side + sign * reach_m))
    low[2] += 0.3
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


@rule(
    title="Heater in an attic on a platform that can be reached",
    subject=Heater,
    clauses={"upc": "508.4", "ipc": "502.3", "irc": "M1305.1.2"},
    applies=lambda h: "attic" in f"{h.element.space} {h.element.storey}".lower(),
)
def heater_attic_access(heater: Heater, context: Context) -> Answer:
    """A heater that is reached over bare joists is not looked after.

    A platform close to the heater, by name, and its size each way where it has a shape. The
    passage to it must be checked by eye.
    """
    limit = context.code.limit("heater_platform_in")
    steps = (
        limit_step(context.code, "heater_platform_in", "Platform, each way, at least"),
        limit_step(context.code, "heater_passage_ft", "Passage, at most"),
    )
    platforms = near(heater.element, context, "platform", "catwalk")
    if not platforms:
        return unverified(
            f"How {heater.label} in the attic is reached is not known.",
            "Draw the platform before the heater and the passage to it.",
            steps=steps,
        )
    sizes = [_least_side_m(p) / M_PER_IN for p in platforms if p.box is not None]
    if not sizes or max(sizes) >= limit.value - 0.05:
        return PASS
    return violation(
        message=f"The platform at {heater.label} is {number_text(max(sizes), 3)} in wide.",
        remedy=f"Make the platform {limit.value:g} in each way, or larger.",
        measured=Measure(max(sizes), "in"),
        required=Measure(limit.value, "in", "at least"),
        steps=steps,
        elements=(*heater.element_ids, *(p.guid for p in platforms)),
        clause=limit.clause,
    )


def _least_side_m(element: Element) -> float:
    assert element.box is not None
    low, high = element.box
    return min(high[0] - low[0], high[1] - low[1])


@rule(
    title="Heater held against earthquakes",
    subject=Heater,
    clauses={"upc": "507.2", "ipc": "502.4", "irc": "P2801.8"},
    severity=Severity.HIGH,
    applies=lambda heater: heater.kind != "tankless",
)
def heater_seismic(heater: Heater, context: Context) -> Answer:
    """A tank that topples breaks its gas pipe while the water mains lie in the street.

    Where the job file says that the site is seismic: two straps by name close to the heater, in
    its upper and lower thirds.
    """
    seismic = context.job.building.seismic
    if seismic is None:
        return unverified(
            "Whether heaters must be held against earthquakes here is not known.",
            "Write building.seismic = true or false into the job file.",
        )
    if not seismic:
        return NOT_APPLICABLE
    straps = near(heater.element, context, *STRAP_WORDS)
    if not straps:
        return missing(
            STRAPS,
            message=f"No seismic strap is drawn at {heater.label}.",
            remedy="Strap it in the upper and in the lower third.",
        )
    return check(
        len(straps),
        at_least=STRAPS_ASKED,
        unit="straps",
        message=f"{heater.label} is held by one strap; two are asked for.",
        remedy="Strap it in the upper and in the lower third.",
        elements=(*heater.element_ids, straps[0].guid),
    )


RULES = (
    heater_ignition_height, heater_vehicles, heater_working_space, heater_attic_access,
    heater_seismic,
)  # fmt: skip
