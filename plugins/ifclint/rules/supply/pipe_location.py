"""Rules about where lines run: frost, and under the slab."""

from collections.abc import Iterator
from math import dist
from operator import itemgetter

from ifclint.checks import PASS, Fact, advise, demanded, missing, not_known, violation
from ifclint.engineering.extents import covers
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.wording import how_many
from ifclint.findings import Answer, Change, PartKind
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.surroundings.cold import FREEZES, ColdPlace, cold_place, middle_of_pipe
from ifclint.plumbing.words import says

NO_JOINT = frozenset({"cap"})
ON_GROUND_M = 0.5  # slabs whose tops are so near to the lowest one's lie on the ground with it
NEAR_M = 0.3  # a sleeve is drawn no farther from where its pipe passes the slab
FROST_PROOF = (
    "frost proof*", "frostproof*", "frost free", "freezeless", "freeze proof*", "freezeproof*",
    "non freeze*", "anti freeze hydrant", "frostsicher*",
)  # fmt: skip
INSULATED = Fact(
    "{}; its insulation is not stated.",
    "Give the pipe its insulation (IfcCovering, or an insulation thickness), or move it into "
    "heated space.",
    asked_once=True,
)


def _pipes(segment: WaterSegment) -> list[Element]:
    return [segment.distribution.elements[index] for index in segment.pipes]


def _exposed(segment: WaterSegment) -> list[Element]:
    """Its pipes but the last where that is the stem of a frost-proof fixture."""
    pipes, taken = _pipes(segment), segment.connection
    is_stem = taken is not None and says(segment.distribution.elements[taken.element], FROST_PROOF)
    return pipes[:-1] if is_stem else pipes


@rule(
    title="Water pipe kept from freezing",
    clauses={"upc": "312.6", "ipc": "305.4", "irc": "P2603.5"},
    applies=lambda segment: bool(segment.pipes),
)
def frost_protection(segment: WaterSegment, context: Context) -> Iterator[Answer]:
    """A pipe that freezes in an outside wall floods the house when it thaws.

    Where the job file says it freezes: pipe whose middle lies in an exterior wall, or in a space
    named attic, crawl space, garage or the like, or above the roof, and that is not stated to be
    insulated. The last pipe to a hose bibb that is called frost-proof stands for its stem, and is
    excused. Where the job file does not say, every such pipe is left open.
    """
    if context.job.building.freezing is False:
        return
    yield PASS
    bare: dict[tuple[ColdPlace, bool], list[str]] = {}
    for pipe in _exposed(segment):
        place = cold_place(pipe, middle_of_pipe(pipe), context)
        insulated = pipe.properties.flag("insulated")
        if place is not None and insulated is not True:
            bare.setdefault((place, insulated is None), []).append(pipe.guid)
    for (place, is_open), guids in bare.items():
        yield _bare(segment, place, is_open or not place.is_certain, guids, context)


def _bare(
    segment: WaterSegment, place: ColdPlace, is_open: bool, guids: list[str], context: Context
) -> Answer:
    """What is said of pipe in the cold that is not insulated, or not known to be."""
    runs, about = f"{segment.label} runs in {place.words}", guids[0]
    if context.job.building.freezing is None:
        return not_known(FREEZES, runs, elements=guids, about=about)
    if is_open:
        return not_known(INSULATED, runs, elements=guids, about=about)
    return violation(
        message=f"{segment.label} runs bare in {place.words}, where it freezes.",
        remedy="Move the pipe into heated space, or insulate it and keep it from freezing.",
        elements=guids,
        about=about,
    )


@derived
def slabs_on_ground(context: Context) -> list[Surface]:
    """Those at the level of the lowest floor; where nothing tells a floor, of the lowest slab.
    None where the lowest floor stands clear of the ground, nor one over a crawl space."""
    floors = context.plumbing.surroundings.floors
    if floors.is_raised(context.job.building.grade_elevation):
        return []
    slabs = context.plumbing.surroundings.of_kind("slab")
    lowest = min((s.high[2] for s in slabs), default=0.0)
    level = lowest if floors.lowest is None else floors.lowest.level_m
    at_level = [s for s in slabs if at_most(abs(s.high[2] - level), ON_GROUND_M, "m")]
    return [s for s in at_level if not floors.crawl_spaces.carries(s)]


@derived
def _sleeves(context: Context) -> list[Point]:
    """Where the model draws sleeves."""
    named = [
        e for e in context.plumbing.network.elements if "sleeve" in f"{e.kind} {e.called}".lower()
    ]
    return [point for e in named if (point := middle_of_pipe(e)) is not None]


SLEEVES = PartKind(
    "sleeves",
    drawn=lambda context: bool(_sleeves(context)),
    remedy="Model the sleeve, or note it on the drawing: two sizes larger, and sealed.",
)


@rule(
    title="No joint in water pipe below the slab",
    clauses={"upc": "609.3", "any": "common practice, no clause"},
    applies=lambda segment: bool(segment.pipes),
)
def joint_below_slab(segment: WaterSegment, context: Context) -> Iterator[Answer]:
    """A leak below the slab is found when the floor is wet, and mended by breaking it.

    Fittings and couplings of a line that lie below a slab on the ground, and pipe that comes up
    through it without a sleeve. The UPC wants copper without joints there, or brazed ones of
    wrought fittings; a model does not tell how joints are made, so they are said as advice.
    """
    slabs = slabs_on_ground(context)
    if not slabs:
        return
    yield PASS
    joints = [e.guid for e in segment.elements if _is_joint(e) and _is_under(e, slabs, context)]
    if joints:
        yield advise(
            f"{segment.label} has {how_many(len(joints), 'fitting')} below the slab.",
            "Lay the pipe below the slab in one piece; where a joint cannot be avoided, braze "
            "wrought fittings.",
            elements=joints,
        )
    bare = [pipe.guid for pipe in _pipes(segment) if _is_unsleeved(pipe, slabs, context)]
    if bare:
        yield missing(
            SLEEVES,
            message=f"{segment.label} passes the slab without a sleeve.",
            remedy=Change("part", tuple(bare), "sleeve", "Put a sleeve, two sizes larger, around "
                          "the pipe where it passes the slab, and seal it."),
            elements=bare,
            # UPC 312.10 asks for one (from memory), the others of this slab alone do not
            **demanded(context.code.family == "upc", "312.10"),
            about=bare[0],
        )  # fmt: skip


def _is_joint(element: Element) -> bool:
    return element.role is Role.FITTING and element.kind not in NO_JOINT


def _is_under(element: Element, slabs: list[Surface], context: Context) -> bool:
    point = element.position
    return point is not None and any(_lies_below(point, slab, context) for slab in slabs)


def _lies_below(point: Point, slab: Surface, context: Context) -> bool:
    """Whether a point lies in the ground below a slab, and does not hang in a crawl space."""
    is_below = point[2] < slab.low[2] and covers(slab.low, slab.high, point)
    return is_below and not context.plumbing.surroundings.floors.crawl_spaces.holds(point)


def _is_unsleeved(pipe: Element, slabs: list[Surface], context: Context) -> bool:
    """Whether a pipe passes from below a slab to above it where no sleeve is drawn."""
    for run in pipe.runs:
        low, high = sorted(run, key=itemgetter(2))
        for slab in slabs:
            bottom = slab.low[2]
            if _lies_below(low, slab, context) and high[2] > bottom:
                share = (bottom - low[2]) / (high[2] - low[2])
                x, y = (low[k] + share * (high[k] - low[k]) for k in (0, 1))
                if not any(at_most(dist(s[:2], (x, y)), NEAR_M, "m") for s in _sleeves(context)):
                    return True
    return False
