"""Rules about where lines run: frost, and under the slab."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Outcome
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.surroundings.obstacles import Surroundings

COLD_PLACES = ("attic", "crawl", "garage", "unheated", "unconditioned", "exterior", "outdoor")
NO_JOINT = frozenset({"cap"})
UNSURE = "not told to be interior or exterior"


def _ends(element: Element) -> list[Point]:
    return [e.position for e in element.ends if e.position is not None]


def _middle(element: Element) -> Point | None:
    ends = _ends(element)
    if len(ends) < 2:
        return element.position
    a, b = ends[0], ends[-1]
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2)


def _pipes(segment: WaterSegment) -> Iterator[Element]:
    for index in segment.pipes:
        yield segment.distribution.elements[index]


@rule(
    title="Water pipe kept from freezing",
    subject=WaterSegment,
    clauses={"upc": "312.6", "ipc": "305.4", "irc": "P2603.5"},
    applies=lambda segment: bool(segment.pipes),
)
def frost_protection(segment: WaterSegment, context: Context) -> Answer:
    """A pipe that freezes in an outside wall floods the house when it thaws.

    Where the job file says it freezes: pipe whose middle lies in an exterior wall, or in a space
    named attic, crawl space, garage or the like, and that is not told to be insulated. Where the
    job file does not say, every such pipe is left open.
    """
    freezing = context.job.building.freezing
    if freezing is False:
        return NOT_APPLICABLE
    exposed = [(e, where) for e in _pipes(segment) if (where := _cold_place(e, context))]
    if not exposed:
        return PASS
    bare = [(e, where) for e, where in exposed if e.properties.get("insulated") is not True]
    if not bare:
        return PASS
    element, where = bare[0]
    stated = element.properties.get("insulated")
    if freezing is None or stated is None or where.endswith(UNSURE):
        missing = "whether it freezes there" if freezing is None else "its insulation"
        remedy = (
            "Give the job file [building] freezing = true or false."
            if freezing is None
            else "Give the pipe its insulation (IfcCovering, or an insulation thickness), or move "
            "it into heated space."
        )
        return Answer(
            Outcome.UNVERIFIED,
            f"{segment.label} runs in {where}; {missing} is not told.",
            remedy=remedy, elements=tuple(e.guid for e, _ in bare),
        )  # fmt: skip
    return Answer(
        Outcome.VIOLATION,
        f"{segment.label} runs bare in {where}, where it freezes.",
        remedy="Move it into heated space, or insulate it and keep it from freezing.",
        elements=tuple(e.guid for e, _ in bare),
    )


def _cold_place(element: Element, context: Context) -> str:
    """Where it is cold around a pipe, "" where it is not."""
    space = element.space.lower()
    if any(word in space for word in COLD_PLACES):
        return element.space
    point = _middle(element)
    walls, around = _walls(context)
    if point is None or not walls:
        return ""
    for obstacle in around.within(point, point):
        wall = walls.get(obstacle.guid)
        if wall is not None:
            unsure = "" if wall.exterior else UNSURE
            return f'the wall "{wall.name}", {"exterior" if wall.exterior else ""}{unsure}'
    return ""


@derived
def _walls(context: Context) -> tuple[dict[str, Surface], Surroundings]:
    """The walls that are, or may be, exterior."""
    model = context.plumbing.network.model
    found = {s.guid: s for s in model.surfaces if s.kind == "wall" and s.exterior is not False}
    return found, Surroundings(model)


def _slabs(context: Context) -> list[Surface]:
    """Slabs on the ground: those at the lowest storey."""
    model = context.plumbing.network.model
    slabs = [s for s in model.surfaces if s.kind == "slab"]
    if not slabs:
        return []
    lowest = min(s.high[2] for s in slabs)
    return [s for s in slabs if s.high[2] <= lowest + 0.5]


def _below(point: Point, slab: Surface) -> bool:
    level = all(slab.low[k] <= point[k] <= slab.high[k] for k in (0, 1))
    return level and point[2] < slab.low[2]


@rule(
    title="No joint in water pipe below the slab",
    subject=WaterSegment,
    clauses={"upc": "609.3", "any": "common practice, no clause"},
    applies=lambda segment: bool(segment.pipes),
)
def joint_below_slab(segment: WaterSegment, context: Context) -> Answer:
    """A leak below the slab is found when the floor is wet, and mended by breaking it.

    Fittings and couplings of a line that lie below a slab on the ground, and pipe that comes up
    through it: the sleeve is hardly ever modelled and is asked for. The UPC wants copper without
    joints there, or brazed ones of wrought fittings; a model does not tell how joints are made, so
    they are said as advice.
    """
    slabs = _slabs(context)
    elements = segment.distribution.elements
    under = [i for i in segment.indexes if _is_under(elements[i], slabs)]
    crossing = [e for e in _pipes(segment) if _crosses(e, slabs)]
    if not under and not crossing:
        return PASS if slabs else NOT_APPLICABLE
    joints = [
        elements[i]
        for i in under
        if elements[i].role is Role.FITTING and elements[i].kind not in NO_JOINT
    ]
    if joints:
        return Answer(
            Outcome.ADVISORY,
            f"{len(joints)} fitting(s) of {segment.label} lie below the slab.",
            remedy="Lay the pipe below the slab in one piece; where a joint cannot be avoided, "
            "braze wrought fittings.",
            elements=tuple(e.guid for e in joints),
        )
    if crossing:
        return Answer(
            Outcome.UNVERIFIED,
            f"{segment.label} passes the slab; whether it is sleeved there is not told.",
            remedy="Model the sleeve, or note it on the drawing: two sizes larger, and sealed.",
            elements=tuple(e.guid for e in crossing),
        )
    return PASS


def _is_under(element: Element, slabs: list[Surface]) -> bool:
    point = _middle(element) if element.role is Role.PIPE else element.position
    return point is not None and any(_below(point, slab) for slab in slabs)


def _crosses(element: Element, slabs: list[Surface]) -> bool:
    """Whether a pipe passes from below a slab to above it."""
    ends = _ends(element)
    if len(ends) < 2:
        return False
    low, high = min(ends, key=lambda p: p[2]), max(ends, key=lambda p: p[2])
    return any(_below(low, s) and high[2] > s.low[2] + 1e-6 for s in slabs)


RULES = (frost_protection, joint_below_slab)
