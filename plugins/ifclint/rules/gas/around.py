"""Rules about where gas pipe runs and what it is made of."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, unverified, violation
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import feet_text, number_text
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived
from ifclint.plumbing import GasRegulator, GasSegment
from ifclint.plumbing.facts import fact
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.heaters.discharge import DischargeLine, follow, neighbours
from ifclint.plumbing.surroundings.obstacles import Surroundings
from ifclint.rules.gas.appliances import says
from ifclint.rules.gas.caution import gas_rule

ALLOWED = ("steel", "copper", "brass", "aluminum", "aluminium", "ductile iron", "polyethylene")
REFUSED = ("pvc", "cpvc", "abs", "pex", "polypropylene", "cast iron", "lead", "clay", "concrete")
PLASTIC = ("polyethylene",)
SLEEVE_WORDS = ("sleeve", "conduit", "casing", "encased")
JOINTS_TO_REACH = ("union", "compression", "swing", "right and left", "flare nut")
NEAR_M = 0.3  # a sleeve or hanger within this of the pipe is its own
HANGER_WORDS = ("hanger", "clevis", "pipe clamp", "pipe strap", "pipe support")


@derived
def surroundings(context: Context) -> Surroundings:
    return Surroundings(context.plumbing.network.model)


def _level(context: Context) -> float | None:
    """The lowest floor: the ground as far as a model tells it."""
    storeys = [s.elevation_m for s in context.plumbing.network.model.storeys]
    return min(storeys, default=None)


def _points(element: Element) -> list[Point]:
    return [end.position for end in element.ends if end.position is not None]


def is_inside(point: Point, context: Context) -> bool | None:
    """Whether a point lies within the building; None where no wall or slab tells."""
    print_ = surroundings(context).footprint
    if print_ is None:
        return None
    return all(print_[0][k] <= point[k] <= print_[1][k] for k in (0, 1))


def is_within(pipe: Element, context: Context) -> bool | None:
    """Whether part of a pipe lies within the building; None where nothing tells."""
    points = _points(pipe)
    middle = middle_of(pipe)
    said = [is_inside(p, context) for p in (*points, *((middle,) if middle else ()))]
    return None if not said or None in said else any(said)


@gas_rule(
    title="Gas pipe of a material allowed for gas",
    subject=GasSegment,
    clauses={"upc": "1208.6", "ipc": "IFGC 403", "irc": "G2414"},
)
def gas_material(segment: GasSegment, context: Context) -> Answer:
    """Gas attacks some materials, and fire opens others.

    Steel, wrought iron, copper, brass, aluminum, listed corrugated stainless steel, and
    polyethylene where it may lie; no other plastic, and no cast iron pipe. Fittings too, where
    their material is told.
    """
    if not segment.material:
        return unverified(
            f"The material of {segment.label} is not known.",
            "Give the pipe a material (IfcMaterial on the pipe or its type).",
            segment.lacking("material"),
        )
    material = segment.material.lower()
    refused = next((word for word in REFUSED if word in material), None)
    wrong = [f for f in segment.fittings if _refused_fitting(f)]
    if refused is None and wrong:
        return violation(
            message=(
                f"{wrong[0].label} in {segment.label} is of {wrong[0].material}, which is "
                "not allowed for "
                "fuel gas."
            ),
            remedy="Use fittings of the pipe's material, made for fuel gas.",
            elements=tuple(f.guid for f in wrong),
        )
    if refused is None and any(word in material for word in ALLOWED):
        return PASS
    if refused is None:
        return unverified(
            f"Whether {segment.material} is allowed for gas ({segment.label}) is not known here.",
            "Name the material in trade words, or show its listing for fuel gas.",
        )
    return violation(
        message=f"{segment.label} is of {segment.material}, which is not allowed for fuel gas.",
        remedy="Use steel pipe, or another material that the code allows for fuel gas.",
    )


def _refused_fitting(fitting: Element) -> bool:
    """Whether a fitting is of a material that gas pipe may not be; large ones are of cast iron."""
    material = fitting.material.lower()
    if any(word in material for word in ALLOWED):
        return False
    return any(word in material for word in REFUSED if word != "cast iron")


@gas_rule(
    title="Plastic gas pipe outdoors and under ground only",
    subject=GasSegment,
    clauses={"upc": "1210.1.7", "ipc": "IFGC 404.17.1", "irc": "G2415.17.1"},
    applies=lambda segment: any(word in (segment.material or "") for word in PLASTIC),
)
def gas_plastic_place(segment: GasSegment, context: Context) -> Answer:
    """Polyethylene burns through in minutes: it may lie only in the ground, outside the building.

    The height of each plastic pipe against the lowest floor, and its place against the outline of
    walls and slabs.
    """
    level = _level(context)
    places = [(pipe, p) for pipe in segment.pipes for p in _points(pipe)]
    if level is None or not places:
        return unverified(
            f"Whether {segment.label} lies in the ground is not known.",
            "Give the building a storey with an elevation, and the pipe a shape or placed ports.",
        )
    above = [pipe for pipe, p in places if p[2] > level]
    within = [pipe for pipe, p in places if is_inside(p, context)]
    wrong = list(dict.fromkeys(pipe.guid for pipe in [*above, *within]))
    if not wrong:
        return PASS
    where = "above ground" if above else "under the building"
    return violation(
        message=f"{segment.label} is of {segment.material} and runs {where}.",
        remedy=(
            "Change to steel through an anodeless riser outdoors, before the pipe leaves the "
            "ground or comes to the building."
        ),
        elements=tuple(wrong),
    )


@gas_rule(
    title="No gas pipe in the ground under the building",
    subject=GasSegment,
    clauses={"upc": "1210.1.6", "ipc": "IFGC 404.14", "irc": "G2415.14"},
)
def gas_under_building(segment: GasSegment, context: Context) -> Answer:
    """Gas that leaks under a slab rises into the rooms, unseen, through every crack.

    Pipe below the lowest floor and within the outline of walls and slabs, unless a conduit is
    drawn around it, which must then be seen to be vented outdoors.
    """
    level = _level(context)
    places = [(pipe, p) for pipe in segment.pipes for p in _points(pipe)]
    if level is None or not places:
        return unverified(
            f"Whether {segment.label} runs under the building is not known.",
            "Give the building a storey with an elevation, and the pipe a shape or placed ports.",
        )
    low = [(pipe, p) for pipe, p in places if p[2] < level - 0.05]
    if not low:
        return PASS
    inside = [(pipe, p) for pipe, p in low if is_inside(p, context)]
    if surroundings(context).footprint is None:
        return unverified(
            f"Whether {segment.label}, which runs below the lowest floor, is under the building is "
            "not known.",
            "Add walls or slabs to the model, or the architect's file to the review.",
        )
    if not inside:
        return PASS
    pipes = tuple(dict.fromkeys(pipe.guid for pipe, _ in inside))
    if any(_sleeves_near(p, context) for _, p in inside):
        return unverified(
            (
                f"Whether the conduit of {segment.label} under the building is vented "
                "outdoors is not "
                "known."
            ),
            "Show that the conduit is gastight, ends outdoors and is vented there.",
            pipes,
        )
    return violation(
        message=f"{segment.label} runs in the ground under the building.",
        remedy="Run the pipe above the floor, or in a gastight conduit vented outdoors.",
        elements=pipes,
    )


@gas_rule(
    title="Gas pipe in the ground covered deep enough",
    subject=GasSegment,
    clauses={"upc": "1210.1.1", "ipc": "IFGC 404.12", "irc": "G2415.12"},
)
def gas_burial(segment: GasSegment, context: Context) -> Answer:
    """A spade reaches a foot deep.

    The depth of pipe outside the building under the lowest floor, as the ground is seldom drawn
    and seldom above it: too shallow there is too shallow; deep enough there must still be shown
    against the ground.
    """
    level, limit = _level(context), context.code.limit("gas_burial_in")
    points = [p for pipe in segment.pipes for p in _points(pipe) if not is_inside(p, context)]
    low = [p for p in points if level is not None and p[2] < level - 0.05]
    if not low or level is None:
        return NOT_APPLICABLE
    horizontal = [p for p in low if sum(abs(p[2] - q[2]) < 0.02 for q in low) > 1]
    cover = min((level - p[2] for p in horizontal), default=None)
    if cover is None:
        return NOT_APPLICABLE
    inches = cover / M_PER_IN
    if inches < limit.value:
        return violation(
            message=(
                f"{segment.label} lies {number_text(inches)} in below the lowest floor; "
                f"{limit.value:g} in of cover are asked for."
            ),
            remedy=f"Lay the pipe under {limit.value:g} in of cover or more.",
            measured=Measure(inches, "in"),
            required=Measure(limit.value, "in", "at least"),
            clause=limit.clause,
        )
    stated = segment.first.properties.get("cover_m")
    if isinstance(stated, float) and stated / M_PER_IN >= limit.value:
        return PASS
    return unverified(
        f"How much ground covers {segment.label} is not known.",
        f"State the cover over buried gas pipe; {limit.value:g} in are asked for.",
    )


def _in_wall(point: Point, context: Context) -> Surface | None:
    walls = surroundings(context).of_kind("wall")
    return next((w for w in walls if all(w.low[k] < point[k] < w.high[k] for k in range(3))), None)


@gas_rule(
    title="No union or valve of gas pipe concealed in a wall",
    subject=GasSegment,
    clauses={"upc": "1210.3.2", "ipc": "IFGC 404.5", "irc": "G2415.5"},
)
def gas_concealed_joint(segment: GasSegment, context: Context) -> Answer:
    """A joint that may loosen must be where its leak is smelt and a wrench can reach it.

    Unions, compression and swing joints and valves of the run, by name, against the boxes of the
    walls. Threaded, welded and brazed fittings may be concealed.
    """
    suspects = [f for f in segment.fittings if f.role is Role.VALVE or says(f, JOINTS_TO_REACH)]
    if not surroundings(context).has_walls:
        return unverified(
            f"Whether joints of {segment.label} are concealed is not known.",
            "Add the walls to the model, or the architect's file to the review.",
        )
    hidden = [f for f in suspects if (p := middle_of(f)) is not None and _in_wall(p, context)]
    if not hidden:
        return PASS
    return violation(
        message=f"{hidden[0].label} lies concealed in a wall.",
        remedy="Set unions, valves and compression joints where they can be reached.",
        elements=tuple(f.guid for f in hidden),
    )


@derived
def _named(context: Context, words: tuple[str, ...]) -> list[Point]:
    """The places of all elements whose names say one of the words."""
    found = (e for e in context.plumbing.network.elements if says(e, words))
    return [p for e in found if (p := middle_of(e)) is not None]


def _sleeves_near(point: Point, context: Context) -> bool:
    return _near(point, _named(context, SLEEVE_WORDS))


def _near(point: Point, places: list[Point]) -> bool:
    return any(all(abs(point[k] - p[k]) <= NEAR_M for k in range(3)) for p in places)


@gas_rule(
    title="Gas pipe sleeved where it passes a slab or an outside wall",
    subject=GasSegment,
    clauses={"upc": "1210.1.5", "ipc": "IFGC 404.6", "irc": "G2415.6"},
    severity=Severity.MEDIUM,
)
def gas_sleeve(segment: GasSegment, context: Context) -> Answer:
    """Concrete corrodes steel and shears it when the house settles.

    Where a pipe passes the outline of the building through a wall, or passes a slab on the
    ground. Sleeves are seldom drawn: one that is not is unverified, and an advisory where the
    model draws others.
    """
    crossings = list(_crossings(segment, context))
    if not crossings:
        return NOT_APPLICABLE
    bare = [(pipe, wall) for pipe, wall, point in crossings if not _sleeves_near(point, context)]
    if not bare:
        return PASS
    wall = bare[0][1]
    return Answer(
        Outcome.ADVISORY if _named(context, SLEEVE_WORDS) else Outcome.UNVERIFIED,
        f'No sleeve is drawn where {segment.label} passes "{wall.name or wall.kind}".',
        remedy="Show the sleeve where gas pipe passes an outside wall or a slab.",
        elements=tuple(dict.fromkeys(pipe.guid for pipe, _ in bare)),
    )


def _crossings(segment: GasSegment, context: Context) -> list[tuple[Element, Surface, Point]]:
    """Where pipes pass from one side of an outer wall or ground slab to the other."""
    around = surroundings(context)
    if around.footprint is None:
        return []
    level = _level(context)
    found = []
    for pipe in segment.pipes:
        points = _points(pipe)
        if len(points) < 2:
            continue
        a, b = points[0], points[-1]
        for surface in around.of_kind("wall", "slab"):
            axis = _axis(surface, level)
            if axis is not None and _passes(a, b, surface, axis):
                found.append((pipe, surface, _middle(surface, a, b, axis)))
    return [
        c
        for c in found
        if c[1].kind == "slab"
        or is_inside(c[0].ends[0].position or c[2], context)
        != is_inside(c[0].ends[-1].position or c[2], context)
    ]


def _axis(surface: Surface, level: float | None) -> int | None:
    """Across which axis a surface is passed; None for a floor above the ground."""
    if surface.kind == "slab":
        return 2 if level is not None and surface.high[2] <= level + 0.3 else None
    return 0 if surface.high[0] - surface.low[0] < surface.high[1] - surface.low[1] else 1


def _passes(a: Point, b: Point, surface: Surface, axis: int) -> bool:
    low, high = sorted((a[axis], b[axis]))
    if low > surface.low[axis] + 0.01 or high < surface.high[axis] - 0.01:
        return False
    others = [k for k in range(3) if k != axis]
    middle = _middle(surface, a, b, axis)
    return all(surface.low[k] <= middle[k] <= surface.high[k] for k in others)


def _middle(surface: Surface, a: Point, b: Point, axis: int) -> Point:
    """The point of a line at the middle of a surface's thickness."""
    at = (surface.low[axis] + surface.high[axis]) / 2
    share = (at - a[axis]) / (b[axis] - a[axis]) if b[axis] != a[axis] else 0.5
    x, y, z = (a[k] + share * (b[k] - a[k]) for k in range(3))
    return (x, y, z)


@gas_rule(
    title="Gas pipe supported",
    subject=GasSegment,
    clauses={"upc": "1210.2.4", "ipc": "IFGC 407.2 and Table 415.1", "irc": "G2424.1"},
    severity=Severity.LOW,
)
def gas_support(segment: GasSegment, context: Context) -> Answer:
    """Pipe that hangs on its joints opens them.

    The pipes longer than the code's spacing for their size that have no hanger, strap or clamp
    drawn close to them. Hangers are seldom drawn: a run without is unverified, and an advisory
    where the model draws others.
    """
    size = segment.size_in
    if size is None:
        known = fact("size_in")
        message = f"The {known.words} of {segment.label} is not known."
        return unverified(message, known.remedy, segment.lacking("size_in"))
    rows = context.code.table("gas_support").rows
    row = next((r for r in rows if size <= r.number("size_in")), rows[-1])
    most = row.number("spacing_ft")
    long = [p for p in segment.pipes if (p.length_m or 0.0) / M_PER_FT > most]
    hangers = _named(context, HANGER_WORDS)
    bare = [p for p in long if not any(_beside(h, p) for h in hangers)]
    if not bare:
        return PASS
    return Answer(
        Outcome.ADVISORY if hangers else Outcome.UNVERIFIED,
        f"How {segment.label} is supported is not known; a support every {most:g} ft is asked for.",
        required=Measure(most, "ft", "at most"),
        remedy="Show the hangers of gas pipe, or their spacing in the specification.",
        steps=tuple(
            Step(f'"{p.label}" is {feet_text((p.length_m or 0.0) / M_PER_FT)} long') for p in bare
        ),
        elements=tuple(p.guid for p in bare),
        clause=row.clause,
    )


def _beside(point: Point, pipe: Element) -> bool:
    points = _points(pipe)
    if not points:
        return False
    return all(
        min(p[k] for p in points) - NEAR_M <= point[k] <= max(p[k] for p in points) + NEAR_M
        for k in range(3)
    )


@gas_rule(
    title="Line regulator vented outdoors, or of the kind that needs no vent",
    subject=GasRegulator,
    clauses={"upc": "1208.7", "ipc": "IFGC 410.3", "irc": "G2421.3"},
    severity=Severity.MEDIUM,
)
def gas_regulator_vent(regulator: GasRegulator, context: Context) -> Answer:
    """When its diaphragm tears, a regulator blows gas out of its vent: into the room, if it may.

    A regulator outdoors needs no vent line; one inside has a vent pipe that ends outdoors, or says
    that it has a vent limiter.
    """
    element = regulator.element
    place = middle_of(element)
    if says(element, ("vent limiter", "vent limiting", "ventless")):
        return PASS
    if place is not None and is_inside(place, context) is False:
        return PASS
    line = _vent_line(regulator, context)
    ends = is_inside(line.end, context) if line is not None and line.end is not None else None
    if line is None or ends is None:
        return unverified(
            f"How {regulator.label} is vented is not known.",
            "Draw the regulator's vent line to its end outdoors, with the walls around it, or name "
            "its vent limiter.",
        )
    if not ends:
        return PASS
    return violation(
        message=f"The vent of {regulator.label} ends in the building.",
        remedy="Carry the vent line outdoors, or fit a regulator with a vent limiter.",
        elements=(line.last.guid, *regulator.element_ids),
    )


def _vent_line(regulator: GasRegulator, context: Context) -> DischargeLine | None:
    """The line from the regulator that feeds nothing."""
    network, piping = context.plumbing.network, context.plumbing.gas
    assert piping is not None
    carries = {e.guid for segment in piping.segments for e in segment.path}
    index = regulator.index
    outlets = [n for n in neighbours(network, index) if network.elements[n[0]].guid not in carries]
    return follow(network, index, outlets) if outlets else None


RULES = (
    gas_material, gas_plastic_place, gas_under_building, gas_burial, gas_concealed_joint,
    gas_sleeve, gas_support, gas_regulator_vent,
)  # fmt: skip
