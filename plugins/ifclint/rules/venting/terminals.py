"""Rules about where vents end: in the open air, high and far enough, or in a valve."""

from __future__ import annotations

from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, check, unverified, violation
from ifclint.codes import Limit
from ifclint.engineering import tolerance
from ifclint.engineering.units import M_PER_FT, M_PER_IN
from ifclint.engineering.wording import feet_text, number_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.ifc.elements import Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import VentTerminal, VentTree
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.wording import limit, vent_steps

GAP_M = 0.30  # another open end so near may be the missing piece


@rule(
    title="Vent leads to the open air",
    subject=VentTree,
    clauses={"upc": "906.1", "ipc": "903.1", "irc-2021": "P3103.1"},
    severity=Severity.HIGH,
)
def vent_reaches_outdoors(tree: VentTree, context: Context) -> Answer:
    """A vent that ends inside lets sewer gas into the building; one that is closed lets no air in.

    Followed from the drain to its terminals and open ends. An end above the roof passes; an end
    below it, or none at all, does not. Where the model has no roof, or another open vent lies
    close to the end, the answer is left open. Air admittance valves have their own rule.
    """
    if not tree.joints:
        return NOT_APPLICABLE
    if tree.terminals:
        return _stray_end(tree, context)
    if not tree.is_vent:
        return NOT_APPLICABLE  # the rule about traps asks what it is
    if not tree.open_ends:
        return violation(
            message=f"{_cap(tree.label)} ends closed, and lets no air in.",
            remedy="Carry it through the roof, or join it to a vent that goes there.",
        )
    index, end = max(tree.open_ends, key=lambda e: e[1][2])
    return _open_end(tree, index, end, context)


def _cap(label: str) -> str:
    return label[0].upper() + label[1:]


def _stray_end(tree: VentTree, context: Context) -> Answer:
    """A vent with terminals may still have a pipe that leads into a room."""
    elements = context.plumbing.network.elements
    pipes = [e for e in tree.open_ends if elements[e[0]].role is Role.PIPE]
    inside = [e for e in pipes if _is_inside(e[1], context)]
    if not inside or tree.admittance_only:
        return PASS
    index, end = inside[0]
    return _open_end(tree, index, end, context)


def _is_inside(end: Point, context: Context) -> bool:
    roof = context.plumbing.venting.surroundings.roof_over(end)
    return roof is not None and end[2] < roof.high[2]


def _open_end(tree: VentTree, index: int, end: Point, context: Context) -> Answer:
    element = context.plumbing.network.elements[index]
    surroundings = context.plumbing.venting.surroundings
    roof = surroundings.roof_over(end)
    near = _open_vent_near(tree, end, context)
    where = f"{element.label} ends open at {feet_text(end[2] / M_PER_FT)}"
    if near:
        return unverified(
            f"{where}, close to {near}: a joint may be missing.",
            "Join the two ends, or end the vent where it is meant to end.",
            (element.guid,),
        )
    if roof is None and surroundings.of_kind("roof"):
        roof = max(surroundings.of_kind("roof"), key=lambda r: r.high[2])
        if end[2] < roof.high[2] and not _outside(end, context):
            return _ends_inside(tree, element.guid, where, end, roof)
    if roof is None:
        return unverified(
            (
                f"{where}, without a vent terminal, and the model has no roof to tell "
                "whether that is "
                "outdoors."
            ),
            "Model the vent terminal (IfcStackTerminal), or give the file with the roof.",
            (element.guid,),
        )
    if end[2] >= roof.high[2]:
        return PASS
    return _ends_inside(tree, element.guid, where, end, roof)


def _outside(end: Point, context: Context) -> bool:
    footprint = context.plumbing.venting.surroundings.footprint
    return footprint is not None and level_distance_m(end, *footprint) > 0


def _ends_inside(tree: VentTree, guid: str, where: str, end: Point, roof: Surface) -> Answer:
    return violation(
        message=f"{where}, inside the building.",
        remedy="Carry it through the roof, or join it to a vent that goes there.",
        measured=Measure(round((end[2] - roof.high[2]) / M_PER_FT, 2), "ft"),
        required=Measure(0.0, "ft", "at least"),
        steps=(
            *vent_steps(tree.joints[0]),
            Step("Height of its end", end[2] / M_PER_FT, "ft"),
            Step(f"Top of {roof.name or 'the roof'}", roof.high[2] / M_PER_FT, "ft"),
        ),
        elements=(guid,),
    )


def _open_vent_near(tree: VentTree, end: Point, context: Context) -> str:
    """The name of an open end of other vent piping close by; "" where there is none."""
    x, y, z = (int(c // GAP_M) for c in end)
    ends = _open_vent_ends(context)
    around = ((x + i, y + j, z + k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1))
    for cell in around:
        for other, index, point in ends.get(cell, ()):
            if other is not tree and dist(point, end) <= GAP_M:
                return context.plumbing.network.elements[index].label
    return ""


@derived
def _open_vent_ends(
    context: Context,
) -> dict[tuple[int, ...], list[tuple[VentTree, int, Point]]]:
    """The open ends of all vents, by the cell they lie in."""
    found: dict[tuple[int, ...], list[tuple[VentTree, int, Point]]] = {}
    for tree in context.plumbing.venting.trees:
        for index, point in tree.open_ends:
            cell = tuple(int(c // GAP_M) for c in point)
            found.setdefault(cell, []).append((tree, index, point))
    return found


def _outdoor(terminal: VentTerminal) -> bool:
    return not terminal.admits_only


@rule(
    title="Vent terminal high enough above the roof",
    subject=VentTerminal,
    clauses={"upc": "906.1, 906.3 and 906.7", "ipc": "903.1", "irc-2021": "P3103.1"},
    needs=("top",),
    applies=_outdoor,
)
def terminal_above_roof(terminal: VentTerminal, context: Context) -> Answer:
    """Snow and standing water close a low terminal; people on a roof breathe from it.

    The height of the terminal above the roof under it, against the code's least, more where the
    roof is in use or it freezes, and against the height the job file gives.
    """
    top = terminal.top
    assert top is not None
    roof = context.plumbing.venting.surroundings.roof_over(top)
    if roof is None:
        return _no_roof(terminal)
    least, words, clause = _least_height(context)
    height = (top[2] - roof.high[2]) / M_PER_IN
    return check(
        round(height, 2),
        at_least=least,
        unit="in",
        message=(
            f"{terminal.label} ends {number_text(height, 3)} in above {roof.name or 'the roof'}."
        ),
        remedy=f"Carry it {number_text(least - height, 3)} in higher.",
        steps=lambda: (
            Step("Top of the terminal", top[2] / M_PER_IN, "in"),
            Step(f"Top of {roof.name or 'the roof'}", roof.high[2] / M_PER_IN, "in"),
            Step(words, least, "in", clause),
        ),
        clause=clause,
    )


def _no_roof(terminal: VentTerminal) -> Answer:
    return unverified(
        f"The model has no roof under {terminal.label}.",
        "Review together with the file that has the roof (IfcRoof, or IfcSlab, ROOF).",
    )


def _least_height(context: Context) -> tuple[float, str, str]:
    """The least height in inches, what asks for it, and the clause."""
    found = []
    for key, words in _heights(context):
        value = limit(context, key)
        if value is not None:
            inches = value.value * (12 if value.unit == "ft" else 1)
            found.append((inches, words, value.clause))
    given = context.job.section(VentingSection).above_roof
    if given is not None:
        found.append((given / M_PER_IN, "job file, venting.above_roof", ""))
    return max(found)


def _heights(context: Context) -> list[tuple[str, str]]:
    keys = [("vent_above_roof_in", "above the roof, at least")]
    if context.job.section(VentingSection).roof_in_use:
        keys.append(("vent_above_used_roof_ft", "above a roof in use, at least"))
    if context.job.building.freezing:
        keys.append(("vent_frost_above_roof_in", "above the roof where it freezes, at least"))
    return keys


@rule(
    title="Vent terminal large enough not to freeze shut",
    subject=VentTerminal,
    clauses={"upc": "906.7", "ipc": "903.2", "irc-2021": "P3103.2"},
    needs=("vent_size_in",),
    applies=_outdoor,
)
def terminal_frost_size(terminal: VentTerminal, context: Context) -> Answer:
    """Damp air from the drains freezes in a small terminal until it is closed.

    The nominal size of the terminal against the least where it freezes, as the job file says.
    """
    least = limit(context, "vent_frost_in")
    if context.job.building.freezing is None:
        return unverified(
            "Whether it freezes here, the job file does not say.",
            "Give building.freezing in the job file.",
        )
    size = terminal.vent_size_in
    if least is None or size is None or not context.job.building.freezing:
        return NOT_APPLICABLE
    return check(
        size,
        at_least=least,
        message=f"{terminal.label} is {trade_size(size)}, where vents freeze.",
        remedy=f"Enlarge it to {trade_size(least.value)}, from a foot below the roof on.",
        steps=lambda: (Step("Where it freezes, at least", least.value, "in", least.clause),),
    )


@rule(
    title="Vent terminal far from windows and doors",
    subject=VentTerminal,
    clauses={"upc": "906.2", "ipc": "903.5", "irc-2021": "P3103.5"},
    severity=Severity.HIGH,
    needs=("top",),
    applies=_outdoor,
)
def terminal_from_openings(terminal: VentTerminal, context: Context) -> Answer:
    """Sewer gas must not blow in at a window.

    The horizontal distance from the terminal to every window and door of an outer wall, unless the
    terminal stands high enough above its top. Every one is taken as openable.
    """
    away, above = limit(context, "vent_from_opening_ft"), limit(context, "vent_above_opening_ft")
    top = terminal.top
    openings = context.plumbing.venting.surroundings.of_kind("window", "door")
    if away is None or above is None or top is None:
        return NOT_APPLICABLE
    if not openings:
        return unverified(
            f"The model has no windows or doors to measure {terminal.label} from.",
            "Review together with the architectural file.",
        )
    near = [o for o in openings if _too_near(o, top, away, above)]
    if not near:
        return PASS
    opening = min(near, key=lambda o: level_distance_m(top, o.low, o.high))
    beside = level_distance_m(top, opening.low, opening.high) / M_PER_FT
    higher = (top[2] - opening.high[2]) / M_PER_FT
    return violation(
        message=(
            f"{terminal.label} ends {feet_text(beside)} from {opening.name or opening.kind} and "
            f"{feet_text(higher)} above its top."
        ),
        remedy=(
            f"Move it {number_text(away.value)} ft away, or carry it {number_text(above.value)} "
            "ft above the opening."
        ),
        measured=Measure(round(beside, 2), "ft"),
        required=Measure(away.value, "ft", "at least"),
        steps=(
            Step(f"Distance from {opening.name or opening.kind}", beside, "ft"),
            Step("at least", away.value, "ft", away.clause),
            Step("Height above its top", higher, "ft"),
            Step("or at least", above.value, "ft", above.clause),
        ),
        elements=(*terminal.element_ids, opening.guid),
        clause=away.clause,
    )


def _too_near(opening: Surface, top: Point, away: Limit, above: Limit) -> bool:
    beside = level_distance_m(top, opening.low, opening.high) / M_PER_FT
    higher = (top[2] - opening.high[2]) / M_PER_FT
    return not tolerance.at_least(beside, away.value, "ft") and not tolerance.at_least(
        higher, above.value, "ft"
    )


@rule(
    title="Vent terminal clear of walls",
    subject=VentTerminal,
    clauses={"upc": "906.1"},
    severity=Severity.LOW,
    needs=("top",),
    applies=_outdoor,
)
def terminal_from_walls(terminal: VentTerminal, context: Context) -> Answer:
    """A terminal against a wall is blown back into.

    UPC: the horizontal distance from the terminal to every wall that rises above it.
    """
    least, top = limit(context, "vent_from_wall_in"), terminal.top
    surroundings = context.plumbing.venting.surroundings
    if least is None or top is None:
        return NOT_APPLICABLE
    if not surroundings.has_walls:
        return unverified(
            f"The model has no walls to measure {terminal.label} from.",
            "Review together with the architectural file.",
        )
    reach = least.value * M_PER_IN
    low = (top[0] - reach, top[1] - reach, top[2])
    high = (top[0] + reach, top[1] + reach, top[2] + 1.0)
    near = [o for o in surroundings.within(low, high) if o.kind == "wall"]
    beside = [(level_distance_m(top, o.low, o.high) / M_PER_IN, o) for o in near]
    close = [b for b in beside if not tolerance.at_least(b[0], least.value, "in")]
    if not close:
        return PASS
    inches, wall = min(close, key=lambda b: b[0])
    return violation(
        message=f"{terminal.label} ends {number_text(inches, 3)} in from {wall.label}.",
        remedy=f"Move it {number_text(least.value)} in from the wall, or carry it above.",
        measured=Measure(round(inches, 2), "in"),
        required=Measure(least.value, "in", "at least"),
        steps=(Step("From any vertical surface", least.value, "in", least.clause),),
        elements=(*terminal.element_ids, wall.guid),
        clause=least.clause,
    )


RULES = (
    vent_reaches_outdoors,
    terminal_above_roof,
    terminal_frost_size,
    terminal_from_openings,
    terminal_from_walls,
)
