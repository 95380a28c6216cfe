"""Rules about where vents end: in the open air, and high and far enough."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from math import dist, inf

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    drawn,
    due,
    given,
    known,
    not_known,
    violation,
)
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import IN_PER_FT, M_PER_FT, M_PER_IN
from ifclint.engineering.wording import (
    above_or_below,
    apart_text,
    feet_text,
    number_text,
    tape_text,
    trade_size,
)
from ifclint.findings import Answer, Change, Severity, Step
from ifclint.ifc.elements import Element, Point, Role, Surface, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import OPENINGS, WALLS
from ifclint.plumbing import VentTerminal, VentTree
from ifclint.plumbing.surroundings.obstacles import Obstacle, level_distance_m
from ifclint.plumbing.surroundings.roofs import RoofOver
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.through_walls import ends_at_wall
from ifclint.rules.venting.wording import feet, sentence, vent_steps

GAP_M = 0.30  # another open end so near may be the missing piece
ABOVE_M = 1.0  # a wall that begins higher above a terminal is not beside it
OUT = "Carry the vent through the roof, or join it to a vent that goes there."
SAY_FREEZING = "Give building.freezing in the job file."
OpenEnd = tuple[int, Point]  # the element that ends open, and where
JOINT = Fact(
    "{}, close to {}: a joint may be missing.",
    "Join the two ends, or end the vent where it is meant to end.",
)
NO_ROOF = Fact(
    "{}, without a vent terminal, and the model has no roof to tell whether that is outdoors.",
    "Model the vent terminal (IfcStackTerminal), or give the file with the roof.",
)
INTAKE = Fact(
    "whether {} takes air in, and how far that is from {}, is not known.",
    "Name intakes and exhausts so, each drawn by itself.",
)
ROOF = Fact(
    "the model has no roof under {}.",
    "Review together with the file that has the roof (IfcRoof, or IfcSlab, ROOF).",
)
VALLEY = Fact(
    "how high {} ends above {} is not known: the roof has a valley, and where the terminal stands "
    "its shape does not tell.",
    "Model each plane of the roof as a slab of its own (IfcSlab, ROOF).",
)
FROST = Fact(
    "{} ends {} in above {}: too low where frost closes vents, and whether it freezes here the job "
    "file does not say.",
    SAY_FREEZING,
)
STRANGE = Fact(
    'The vent leads at {} to "{}", which is not understood.',
    "Give {1} its IFC class, name it in trade words, or tell its words in the job file "
    "([[reading.vocabulary.element]]).",
)
FREEZES = Fact("Whether it freezes here, the job file does not say.", SAY_FREEZING)


@rule(
    title="Vent leads to the open air",
    subject=VentTree,
    clauses={"upc": "906.1", "ipc": "903.1", "irc-2021": "P3103.1"},
    severity=Severity.HIGH,
    follows=(System.VENT,),
)
def vent_reaches_outdoors(tree: VentTree, context: Context) -> Iterator[Answer]:
    """A vent that ends inside lets sewer gas into the building; one that is closed lets no air in.

    Followed from the drain to its terminals and open ends. An end above the roof passes; an end
    below it, or none at all, does not; nor does a further pipe that leads into a room. Where the
    model has no roof, or another open vent lies close to the end, the answer is left open. Air
    admittance valves have their own rule, and so has a pipe of which nothing tells that it is a
    vent.
    """
    if not tree.joints or not (tree.terminals or tree.is_vent):
        return
    if not tree.terminals and not tree.open_ends:
        yield violation(
            message=f"{sentence(tree.label)} ends closed, and lets no air in.", remedy=OUT
        )
        return
    highest = max(tree.open_ends, key=lambda e: e[1][2], default=None)
    if not tree.terminals and highest is not None:
        answer = _open_end(tree, highest, "", context)
        yield answer
        if answer is not PASS:
            return
    if not tree.admittance_only:
        for end in _inside(tree, context):
            yield _open_end(tree, end, tree.piping.elements[end[0]].guid, context)
    yield PASS


def _inside(tree: VentTree, context: Context) -> list[OpenEnd]:
    """The pipes that end open under a roof."""
    surroundings, elements = context.plumbing.venting.surroundings, tree.piping.elements
    roofs = [(end, surroundings.roof_over(end[1])) for end in tree.open_ends]
    return [
        end
        for end, roof in roofs
        if elements[end[0]].role is Role.PIPE and roof is not None and end[1][2] < roof.top_m
    ]


def _open_end(tree: VentTree, end: OpenEnd, about: str, context: Context) -> Answer:
    """Whether an open end lies above the roof, as far as the model tells."""
    element, z = tree.piping.elements[end[0]], end[1][2]
    where = f"{element.label} ends open at {feet_text(feet(z))}"
    near, roof = _open_vent_near(tree, end[1], context), _roof_of(end[1], context)
    strange = context.plumbing.network.model.leads_elsewhere.get(element.guid)
    if strange is not None:
        return not_known(
            STRANGE, element, strange or "something", elements=(element.guid,), about=about
        )
    if near:
        return not_known(JOINT, where, near, elements=(element.guid,), about=about)
    if roof is None:
        return not_known(NO_ROOF, where, elements=(element.guid,), about=about)
    return check(
        round(feet(z - roof.top_m), 2),
        at_least=0.0,
        unit="ft",
        message=f"{where}, inside the building.",
        remedy=OUT,
        steps=lambda: (
            *vent_steps(tree.joints[0]),
            Step("Height of its end", feet(z), "ft"),
            Step(f"Top of {roof.name or 'the roof'}", feet(roof.top_m), "ft"),
        ),
        elements=(element.guid,),
        about=about,
    )


def _roof_of(end: Point, context: Context) -> RoofOver | None:
    """The roof over a point; where none is, the highest, but for a point beside the building."""
    surroundings = context.plumbing.venting.surroundings
    over, footprint = surroundings.roof_over(end), surroundings.footprint
    if over is not None or (footprint is not None and not footprint.holds(end)):
        return over
    highest = max(surroundings.of_kind("roof"), key=lambda roof: roof.high[2], default=None)
    if highest is None:
        return None
    return RoofOver(highest.name, highest.low[2], highest.high[2], False)


def _open_vent_near(tree: VentTree, end: Point, context: Context) -> str:
    """The name of an open end of other vent piping close by; "" where there is none."""
    x, y, z = (int(c // GAP_M) for c in end)
    ends = _open_vent_ends(context)
    around = ((x + i, y + j, z + k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1))
    for cell in around:
        for other, index, point in ends.get(cell, ()):
            if other is not tree and at_most(dist(point, end), GAP_M, "m"):
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
    roof is in use or it freezes, and against the height the job file gives. Where the job file does
    not say whether it freezes, a height between the two is a question. A vent that ends in a wall
    has its own rule.
    """
    top = given(terminal.top)
    if ends_at_wall(terminal, context):
        return NOT_APPLICABLE
    roof = known(context.plumbing.venting.surroundings.roof_over(top), ROOF)
    least, words = max(_least_heights(context), key=lambda demand: demand[0].value)
    height, name = (top[2] - roof.top_m) / M_PER_IN, roof.name or "the roof"
    if not roof.is_exact and not at_least(height, least.value, "in"):
        return not_known(VALLEY, terminal, name)
    frost = context.code.limit_or_none("vent_frost_above_roof_in")
    unstated = context.job.building.freezing is None and at_least(height, least.value, "in")
    if frost is not None and unstated and not at_least(height, frost.value, "in"):
        return not_known(FROST, terminal, number_text(height, 3), name)
    return check(
        round(height, 2),
        at_least=least,
        message=f"{terminal.label} ends {apart_text(height, least.value, 'in')} above {name}.",
        remedy=f"Carry the vent {tape_text((least.value - height) / IN_PER_FT)} higher.",
        steps=(
            Step("Top of the terminal", top[2] / M_PER_IN, "in"),
            Step(f"Top of {name}", roof.top_m / M_PER_IN, "in"),
        ),
        limit_step=words,
    )


def _least_heights(context: Context) -> Iterator[tuple[Limit, str]]:
    """Least heights above the roof, in inches, and what asks for them."""
    code, section = context.code, context.job.section(VentingSection)
    yield code.limit("vent_above_roof_in"), "above the roof, at least"
    if section.roof_in_use:
        used = code.limit("vent_above_used_roof_ft")
        yield _in_inches(used), "above a roof in use, at least"
    frost = code.limit_or_none("vent_frost_above_roof_in")
    if context.job.building.freezing and frost is not None:
        yield frost, "above the roof where it freezes, at least"
    if section.above_roof is not None:
        words = "job file, venting.above_roof"
        yield Limit("above_roof", section.above_roof / M_PER_IN, "in", "", words), words


def _in_inches(limit: Limit) -> Limit:
    return replace(limit, value=limit.value * IN_PER_FT, unit="in")


@rule(
    title="Vent terminal large enough not to freeze shut",
    subject=VentTerminal,
    clauses={"upc": "906.7", "ipc": "903.2", "irc-2021": "P3103.2"},
    needs=("vent_size_in",),
    applies=_outdoor,
)
def terminal_frost_size(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """Damp air from the drains freezes in a small terminal until it is closed.

    The nominal size of the terminal against the least where it freezes, as the job file says; one
    of that size will do anywhere. And, where the vent is enlarged for it, how far below the roof.
    """
    freezing, size = context.job.building.freezing, given(terminal.vent_size_in)
    least = context.code.limit("vent_frost_in")
    if freezing is None and not at_least(size, least.value, "in"):
        yield not_known(FREEZES)
        return
    if freezing is False:
        yield NOT_APPLICABLE
        return
    text = f"Enlarge the vent to {trade_size(least.value)}, from a foot below the roof on."
    yield check(
        size,
        at_least=least,
        message=f"{terminal.label} is {trade_size(size)}, where vents freeze.",
        remedy=Change("size", terminal.element_ids, least.value, text),
        limit_step="Where it freezes, at least",
    )
    if freezing and at_least(size, least.value, "in"):
        yield _enlarged(terminal, least.value, context)


def _enlarged(terminal: VentTerminal, least_in: float, context: Context) -> Answer:
    """Where a vent grows to the size that frost asks for, it does so far enough below the roof."""
    wide, narrow = _wide_to_the_end(terminal, least_in)
    heights = [p[2] for i in wide for p in given(terminal.tree).piping.ends(i)]
    if not narrow or not heights:
        return NOT_APPLICABLE
    top = known(terminal.top, "top", terminal, about="enlarged")
    roof = due(context.plumbing.venting.surroundings.roof_over(top))
    below = round((roof.underside_m - min(heights)) / M_PER_IN, 2)
    limit = context.code.limit("vent_frost_enlarge_in")
    if any(e.size_in is None for e in narrow) and not at_least(below, limit.value, "in"):
        return not_known("size_in", narrow[0], about="enlarged")
    return check(
        below,
        at_least=limit,
        message=f"The vent of {terminal.label} is enlarged {apart_text(below, limit.value, 'in')} "
        "below the roof, where vents freeze.",
        remedy="Enlarge the vent lower down.",
        limit_step="Enlarged below the roof, at least",
        about="enlarged",
    )


def _wide_to_the_end(terminal: VentTerminal, least_in: float) -> tuple[list[int], list[Element]]:
    """The pipes of a size and larger that lead to a terminal one after another, and the smaller
    ones, or ones of unknown size, that come into them."""
    tree, wide, narrow = due(terminal.tree), [], []
    before: dict[int, list[int]] = defaultdict(list)
    for index, following in tree.toward.items():
        before[following].append(index)
    front = [terminal.index]
    while front:
        index = front.pop()
        element, is_pipe = tree.piping.elements[index], tree.piping.is_pipe(index)
        if is_pipe and not at_least(or_zero(element.size_in), least_in, "in"):
            narrow.append(element)
            continue
        wide += [index] if is_pipe else []
        front += before[index]
    return wide, narrow


@rule(
    title="Vent terminal far from windows, doors and air intakes",
    subject=VentTerminal,
    clauses={"upc": "906.2", "ipc": "903.5", "irc-2021": "P3103.5"},
    severity=Severity.HIGH,
    needs=("top",),
    applies=_outdoor,
)
def terminal_from_openings(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """Sewer gas must not blow in at a window, nor be drawn in by a fan.

    The horizontal distance from the terminal to every window and door but those of inner walls, and
    to every air intake, unless the terminal stands high enough above its top. Every window and door
    is taken as openable. Of a rooftop unit, air handler or louver outdoors that is not said to be
    an intake it is asked.
    """
    around = context.plumbing.surroundings
    top, reach = given(terminal.top), context.code.limit("vent_from_opening_ft").value * M_PER_FT
    for kind in ("air intake", "air unit"):
        for intake in around.of_kind_around(kind, top, (reach, reach, inf)):
            yield _clear_of(intake, terminal, context)
    drawn(OPENINGS, context, "how far {} ends from them", terminal)
    yield PASS
    for opening in around.outdoor_openings_around(top, reach):
        yield _clear_of(opening, terminal, context)


def _clear_of(opening: Surface, terminal: VentTerminal, context: Context) -> Answer:
    """Far enough beside an opening, or high enough above it."""
    away = context.code.limit("vent_from_opening_ft")
    above, top = context.code.limit("vent_above_opening_ft"), given(terminal.top)
    higher, name = feet(top[2] - opening.high[2]), opening.name or opening.kind
    if at_least(higher, above.value, "ft"):
        return PASS
    beside = feet(level_distance_m(top, opening.low, opening.high))
    if opening.kind == "air unit" and not at_least(beside, away.value, "ft"):
        return _by_unit(opening, terminal, context)
    return check(
        round(beside, 2),
        at_least=away,
        message=lambda: (
            f"{terminal.label} ends {feet_text(beside)} from {name} and "
            f"{feet_text(abs(higher))} {above_or_below(higher)} its top."
        ),
        remedy=lambda: (
            f"Move the terminal {number_text(away.value)} ft away, or carry it "
            f"{number_text(above.value)} ft above the opening."
        ),
        steps=lambda: (
            Step(f"Distance from {name}", beside, "ft"),
            away.step("at least"),
            Step("Height above its top", higher, "ft"),
            above.step("or at least"),
        ),
        elements=(*terminal.element_ids, opening.guid),
        about=opening.guid,
    )


def _by_unit(unit: Surface, terminal: VentTerminal, context: Context) -> Answer:
    """Beside a unit outdoors that draws air in somewhere."""
    (x, y, _), (u, v, top) = unit.low, unit.high
    if context.plumbing.surroundings.is_outdoors(((x + u) / 2, (y + v) / 2, top)) is False:
        return PASS
    ids = (*terminal.element_ids, unit.guid)
    name = unit.name or unit.kind
    return not_known(INTAKE, name, terminal, elements=ids, about=unit.guid)


@rule(
    title="Vent terminal clear of walls",
    subject=VentTerminal,
    clauses={"upc": "906.1"},
    severity=Severity.LOW,
    needs=("top",),
    applies=_outdoor,
)
def terminal_from_walls(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """A terminal against a wall is blown back into.

    UPC: the horizontal distance from the terminal to every wall that rises above it; not of one
    that ends outside a wall below the roof, which is to go through that.
    """
    if ends_at_wall(terminal, context):
        yield NOT_APPLICABLE
        return
    least, top = context.code.limit("vent_from_wall_in"), given(terminal.top)
    drawn(WALLS, context, "how far {} ends from them", terminal)
    reach = least.value * M_PER_IN
    low = (top[0] - reach, top[1] - reach, top[2])
    high = (top[0] + reach, top[1] + reach, top[2] + ABOVE_M)
    for wall in context.plumbing.venting.surroundings.within(low, high):
        if wall.kind == "wall":
            yield _from_wall(terminal, wall, least)
    yield PASS


def _from_wall(terminal: VentTerminal, wall: Obstacle, least: Limit) -> Answer:
    inches = level_distance_m(given(terminal.top), wall.low, wall.high) / M_PER_IN
    return check(
        round(inches, 2),
        at_least=least,
        message=f"{terminal.label} ends {apart_text(inches, least.value, 'in')} from {wall.label}.",
        remedy=f"Move the terminal {number_text(least.value)} in from the wall, or carry it above.",
        limit_step="From any vertical surface",
        elements=(*terminal.element_ids, wall.guid),
        about=wall.guid,
    )


RULES = (
    vent_reaches_outdoors, terminal_above_roof, terminal_frost_size, terminal_from_openings,
    terminal_from_walls,
)  # fmt: skip
