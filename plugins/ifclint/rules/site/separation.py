"""The rule about water service and building sewer beside and over each other in the ground."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby
from math import hypot

from ifclint.checks import PASS, Fact, against, missing, not_known, violation
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.directions import foot
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import above_or_below, number_text
from ifclint.findings import Answer, Measure, Outcome, PartKind, Severity, Step
from ifclint.ifc.elements import Point
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import WaterService
from ifclint.rules.site.outside import (
    Buried,
    approved_inside,
    bare_sewers,
    buried_service,
    buried_sewers,
)
from ifclint.rules.site.section import SiteSection

Line = tuple[Point, Point]
EVEN = 1e-9
FARTHER_IN = 12.0  # pipes whose axes lie so much farther apart than asked are far. Ours, no source
GRAVEST = (Outcome.VIOLATION, Outcome.UNVERIFIED, Outcome.PASS)
SLEEVE = ("sleeve", "casing", "encasement", "fourreau", "schutzrohr", "mantelbuis")
TRENCH = Fact(
    "whether {}, {} in beside {} and not above it, lies in one trench with it",
    "Say so in the job file (site.separate_trenches = true or false).",
)
APART = Fact(
    "how far {} lies from {} is not known: the size of one is not.",
    "Give both pipes a nominal diameter.",
)
MATERIAL = Fact(
    "{} lies near {}; whether that is pipe that may lie in a building is not known.",
    "Give the sewer a material that tells: PVC schedule 40 or DWV, PVC SDR 35, cast iron, clay.",
)
OUTSIDE = Fact(
    "where {} runs beside the sewer",
    "Draw the walls or the slab of the building, so that what lies outside is known.",
)


@dataclass(frozen=True)
class Meeting:
    """Where a water pipe comes nearest to a sewer pipe; clear distances in inches.

    `apart_in` is seen from above, `above_in` from the top of the sewer to the bottom of the water
    pipe; both None where a size is not known.
    """

    water: Buried
    sewer: Buried
    crosses: bool
    apart_in: float | None
    above_in: float | None


@derived
def meetings(context: Context, service: WaterService) -> dict[str, list[Meeting]] | None:
    """Water pipe -> where it comes near each pipe of the sewer; None where the building is not
    drawn, so that nothing tells what lies outside."""
    water, sewers = buried_service(context, service), buried_sewers(context)
    if water is None or sewers is None:
        return None
    found: dict[str, list[Meeting]] = {}
    for pipe in water:
        found.setdefault(pipe.pipe.key, []).extend(_meeting(pipe, sewer) for sewer in sewers)
    return {key: near for key, near in found.items() if near}


def _meeting(water: Buried, sewer: Buried) -> Meeting:
    at_water, at_sewer, level_m = nearest((water.a, water.b), (sewer.a, sewer.b))
    if water.radius_m is None or sewer.radius_m is None:
        return Meeting(water, sewer, level_m == 0.0, None, None)
    radii = water.radius_m + sewer.radius_m
    apart, above = level_m - radii, at_water[2] - at_sewer[2] - radii
    return Meeting(water, sewer, level_m == 0.0, not_below_zero(apart) / M_PER_IN, above / M_PER_IN)


SLEEVES = PartKind(
    "sleeves of water services",
    drawn=lambda context: bool(context.plumbing.saying(SLEEVE)),
    remedy="Model the sleeve around the water service where it crosses the sewer, named so.",
)


@rule(
    title="Water service kept from the building sewer",
    clauses={"upc": "609.2 and 720.1", "ipc": "603.2", "irc": "P2906.4.1"},
    severity=Severity.HIGH,
)
def water_sewer_apart(service: WaterService, context: Context) -> Iterator[Answer]:
    """A sewer that leaks soaks the trench, and a water main that breaks draws it in.

    Outside the walls and slabs, where each pipe of the sewer comes nearest to the water service,
    also where a drawing of the site shows no fixture that either serves: clear distance beside it,
    and clear height of the water pipe above it; once for a run of its pipes. Sewer pipe of which
    drains in buildings may be made (cast iron, PVC of schedule 40) may lie in one trench with it.
    Else, UPC: in one trench the water lies 12 in above and 12 in beside, on a shelf, and 12 in
    above where they cross; whether nearer than 3 ft is one trench the job file says
    (site.separate_trenches). IPC and IRC: 5 ft beside, or 12 in above, or a sleeve where they
    cross.
    """
    found = meetings(context, service)
    if found is None:
        drains = context.plumbing.building_drains or bare_sewers(context)
        if drains and service.source_known:
            yield not_known(OUTSIDE, service)
        return
    kept = ([_kept(meeting, context) for meeting in near] for near in found.values())
    worst = (min(answers, key=lambda answer: GRAVEST.index(answer.outcome)) for answers in kept)
    for _, run in groupby(worst, key=lambda answer: (answer.outcome, answer.remedy)):
        yield from _as_one([*run])


def _as_one(run: list[Answer]) -> list[Answer]:
    """What is wrong alike with pipes of the service one after another: one answer, of the nearest
    place."""
    nearest_by = [a.measured.value for a in run if a.outcome is Outcome.VIOLATION and a.measured]
    if len(nearest_by) < 2 or len(nearest_by) < len(run):
        return run
    worst = run[nearest_by.index(min(nearest_by))]
    ids = (guid for answer in (worst, *run) for guid in answer.elements)
    message = f"{worst.message} So it is with {len(run) - 1} more of its pipes, one after another."
    return [replace(worst, message=message, elements=tuple(dict.fromkeys(ids)))]


def _kept(meeting: Meeting, context: Context) -> Answer:
    approved = approved_inside(meeting.sewer.pipe)
    if approved is True:
        return PASS
    about = meeting.water.pipe.key
    if meeting.apart_in is None or meeting.above_in is None:
        if _surely_far(meeting, context):
            return PASS
        return not_known(APART, meeting.water.pipe, meeting.sewer.pipe, about=about)
    answer = _by_place(meeting, meeting.apart_in, meeting.above_in, context)
    if approved is None and answer is not PASS:
        return not_known(MATERIAL, meeting.water.pipe, meeting.sewer.pipe, about=about)
    return answer


def _surely_far(meeting: Meeting, context: Context) -> bool:
    """Whether their axes alone lie a foot farther apart than any limit asks."""
    most = context.code.limit("same_trench_in").value + FARTHER_IN
    ends = (meeting.water.a, meeting.water.b), (meeting.sewer.a, meeting.sewer.b)
    return nearest(*ends)[2] / M_PER_IN > most


def _by_place(meeting: Meeting, apart: float, above: float, context: Context) -> Answer:
    beside = context.code.limit("water_sewer_apart_in")
    over, trench = context.code.limit("water_sewer_above_in"), context.code.limit("same_trench_in")
    is_over = at_least(above, over.value, "in")
    is_apart = not meeting.crosses and at_least(apart, beside.value, "in")
    if context.code.family == "upc":
        if at_least(apart, trench.value, "in") or (is_over and (is_apart or meeting.crosses)):
            return PASS
        separate = context.job.section(SiteSection).separate_trenches
        if is_apart and separate is not False:
            return PASS if separate else _one_trench(meeting, apart)
        return _too_near(meeting, apart, above, over if not is_over else beside)
    if is_apart or is_over:
        return PASS
    if meeting.crosses:
        return missing(
            SLEEVES,
            message=f"{meeting.water.pipe.label} crosses {meeting.sewer.pipe.label} without a "
            f"sleeve, {_height(above)}.",
            remedy=f"Raise the water service to {number_text(over.value)} in above the sewer, or "
            "sleeve it 5 ft to either side.",
            **against(above, over, "at least"),
            elements=(meeting.water.pipe.guid, meeting.sewer.pipe.guid),
            about=meeting.water.pipe.key,
        )
    return _too_near(meeting, apart, above, beside)


def _one_trench(meeting: Meeting, apart: float) -> Answer:
    water, sewer = meeting.water.pipe, meeting.sewer.pipe
    return not_known(TRENCH, water, number_text(apart, 3), sewer, about=water.key)


def _too_near(meeting: Meeting, apart: float, above: float, limit: Limit) -> Answer:
    vertical = limit.key == "water_sewer_above_in"
    where = "crosses" if meeting.crosses else f"lies {number_text(apart, 3)} in beside"
    beside = "above" if vertical else "beside"
    return violation(
        message=f"{meeting.water.pipe.label} {where} {meeting.sewer.pipe.label}, {_height(above)}.",
        remedy=f"Lay the water service {number_text(limit.value)} in {beside} the sewer, clear, or "
        "the sewer in pipe that may lie in a building.",
        steps=(
            Step("Clear distance, seen from above", apart, "in"),
            Step("Bottom of the water pipe above the top of the sewer", above, "in"),
            limit.step("Asked for"),
        ),
        measured=Measure(above if vertical else apart, "in"),
        required=Measure(limit.value, "in", "at least"),
        elements=(meeting.water.pipe.guid, meeting.sewer.pipe.guid),
        about=meeting.water.pipe.key,
        clause=limit.clause,
        provenance=limit.provenance,
    )


def _height(above_in: float) -> str:
    side = above_or_below(above_in)
    return f"its bottom {number_text(abs(above_in), 3)} in {side} the top of the sewer"


def nearest(one: Line, other: Line) -> tuple[Point, Point, float]:
    """A point on each of two lines where they are nearest in plan, and how far apart that is (m).

    Lines that cross meet at distance 0. Of parallel ones the place is an end of either.

    >>> nearest(((0.0, 0.0, 1.0), (2.0, 0.0, 1.0)), ((1.0, -1.0, 0.0), (1.0, 1.0, 0.0)))
    ((1.0, 0.0, 1.0), (1.0, 0.0, 0.0), 0.0)
    """
    crossing = _crossing(one, other)
    if crossing is not None:
        return _at(one, crossing[0]), _at(other, crossing[1]), 0.0
    found = [(_at(one, k), _at(other, _share(other, _at(one, k)))) for k in (0.0, 1.0)]
    found += [(_at(one, _share(one, _at(other, k))), _at(other, k)) for k in (0.0, 1.0)]
    pairs = ((a, b, hypot(a[0] - b[0], a[1] - b[1])) for a, b in found)
    return min(pairs, key=lambda pair: (round(pair[2], 6), pair[0][2] - pair[1][2]))


def _crossing(one: Line, other: Line) -> tuple[float, float] | None:
    """The shares of both lines at which they cross; None where they do not."""
    (a, b), (c, d) = one, other
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    turn = ux * vy - uy * vx
    if abs(turn) < EVEN:
        return None
    s = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / turn
    t = ((c[0] - a[0]) * uy - (c[1] - a[1]) * ux) / turn
    return (s, t) if 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0 else None


def _share(line: Line, point: Point) -> float:
    """How far along a line the point next to another lies, from 0 to 1."""
    (a, b, _), (u, v, _), (x, y, _) = *line, point
    return foot((x, y, 0.0), (a, b, 0.0), (u, v, 0.0))[1]


def _at(line: Line, share: float) -> Point:
    x, y, z = (line[0][k] + share * (line[1][k] - line[0][k]) for k in range(3))
    return (x, y, z)
