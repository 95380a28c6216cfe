"""Rules about what holds pipe: hangers close enough, and room to lengthen."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise, product
from math import dist, inf

from ifclint.checks import NOT_APPLICABLE, PASS, Answer, Change, against, missing
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.directions import foot
from ifclint.engineering.extents import middle
from ifclint.engineering.near import NearPlaces
from ifclint.engineering.tolerance import at_most, lies_below
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text, feet_text, of_size
from ifclint.findings import PartKind, Severity
from ifclint.ifc.elements import DRAINAGE, WATER_SUPPLY, Element, Point, Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.flow.subject import OfElement
from ifclint.rules.roughin.pipes import Straight, straights
from ifclint.rules.roughin.standing import never

SHORT_M = 1.0  # a shorter pipe of no known material is not asked about; no source
NEAR_M = 0.3  # a hanger is drawn at its middle: within this of the pipe it holds it; no source
EXPANDS = ("pvc", "abs")
EXPANSION_WORDS = ("expansion", "dilatation*", "dilatacion*", "dehnungs*", "expansie*")

SHOW = "Show the hangers and straps, or their spacing by material in the specification."
DRAIN_HANGERS = PartKind(
    "hangers of drains and vents", drawn=lambda context: _some_hang(context, True), remedy=SHOW
)
WATER_HANGERS = PartKind(
    "hangers of water pipe", drawn=lambda context: _some_hang(context, False), remedy=SHOW
)
MATERIALS = PartKind(
    "material of pipes that hang",
    drawn=never,
    remedy="Give the pipes a material named in trade words (PVC, copper, PEX, cast iron).",
    lack="does not tell the",
)


@derived
def _hangers_near(context: Context) -> dict[str, list[Point]]:
    """The hangers that may hold each straight pipe, by its key."""
    network, pipes = context.plumbing.network, straights(context)
    placed = (network.elements[i].position for i in network.of_kinds("hanger"))
    hangers = [place for place in placed if place is not None]
    reach = [pipe.length_m / 2 + 2 * NEAR_M for pipe in pipes]
    near = NearPlaces(hangers).around([middle(pipe.a, pipe.b) for pipe in pipes], reach)
    return {p.key: [hangers[i] for i in found] for p, found in zip(pipes, near, strict=True)}


def _some_hang(context: Context, drains: bool) -> bool:
    """Whether a hanger is drawn at some drain or vent, or at some water pipe: those of ducts and
    trays tell nothing."""
    hangers = _hangers_near(context)
    return any(
        _foot_m(pipe, hanger) is not None
        for pipe in straights(context)
        if (pipe.element.system in DRAINAGE) is drains
        for hanger in hangers[pipe.key]
    )


@derived
def _expansion_joints(context: Context) -> list[Point]:
    """Where expansion joints of drains and vents stand: their places and ends."""
    joints = (
        e
        for e in context.plumbing.saying(EXPANSION_WORDS)
        if e.system in DRAINAGE and e.role is not Role.TANK
    )
    places = (p for e in joints for p in (e.position, *(end.position for end in e.ends)))
    return [p for p in places if p is not None]


@dataclass(eq=False)
class SupportedRun(OfElement):
    """Pipe of one segment that runs on level, or on upright, without a change of either."""

    element: Element
    pipes: list[Straight]
    is_upright: bool
    service = None
    sized_by = DRAINAGE | WATER_SUPPLY | {System.RELIEF}

    @property
    def element_ids(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(pipe.element.guid for pipe in self.pipes))

    @property
    def label(self) -> str:
        return f'{of_size(self.element.size_in)}pipe "{self.element.label}"'

    @property
    def length_m(self) -> float:
        return sum(pipe.length_m for pipe in self.pipes)

    @property
    def straight_m(self) -> float:
        """The longest part of it that goes on in one direction."""
        longest = now = 0.0
        for before, pipe in zip([None, *self.pipes], self.pipes, strict=False):
            goes_on = before is not None and before.axis == pipe.axis is not None
            now = now + pipe.length_m if goes_on else pipe.length_m
            longest = max(longest, now)
        return longest

    def widest_m(self, hangers: Mapping[str, list[Point]]) -> float:
        """The longest stretch of it without a hanger."""
        held, along = [0.0], 0.0
        for pipe in self.pipes:
            near = (_foot_m(pipe, hanger) for hanger in hangers[pipe.key])
            held += [along + at for at in near if at is not None]
            along += pipe.length_m
        return max(b - a for a, b in pairwise([*sorted(held), along]))


def _foot_m(pipe: Straight, hanger: Point) -> float | None:
    """How far along a pipe a hanger holds it; None where it hangs elsewhere."""
    at, share = foot(hanger, pipe.a, pipe.b)
    return share * pipe.length_m if dist(at, hanger) <= NEAR_M else None


def _parted(before: Straight, pipe: Straight, joints: list[Point]) -> bool:
    """Whether an expansion joint stands where one pipe follows another."""
    ends = min(product((before.a, before.b), (pipe.a, pipe.b)), key=lambda pair: dist(*pair))
    return any(dist(end, joint) <= NEAR_M for end in ends for joint in joints)


@derived
def runs(context: Context) -> list[SupportedRun]:
    """Every run of pipe above the lowest floor or in its crawl space, in order, by segments and
    expansion joints."""
    by_key = {pipe.element.key: pipe for pipe in straights(context)}
    plumbing, found = context.plumbing, list[SupportedRun]()
    joints = _expansion_joints(context)
    segments = (*plumbing.segments, *plumbing.supply.segments)
    floors = plumbing.surroundings.floors
    lowest = min((f.level_m for f in floors.likely), default=-inf)
    crawl_spaces = floors.crawl_spaces
    for segment in segments:
        run: SupportedRun | None = None
        for element in segment.pipe_elements:
            pipe = by_key.get(element.key)
            if pipe is None or not (
                not lies_below(max(pipe.a[2], pipe.b[2]), lowest)
                or (crawl_spaces.holds(pipe.a) and crawl_spaces.holds(pipe.b))
            ):
                run = None
                continue
            upright = pipe.axis == 2
            parted = bool(joints) and run is not None and _parted(run.pipes[-1], pipe, joints)
            if run is None or parted or run.is_upright is not upright:
                run = SupportedRun(element, [], upright)
                found.append(run)
            run.pipes.append(pipe)
    return found


def _spacing(run: SupportedRun, context: Context) -> Limit | None:
    """The code's spacing for its material and size; None where it lists none."""
    size = or_zero(run.element.size_in)
    column = "vertical_ft" if run.is_upright else "horizontal_ft"
    for row in context.code.table("pipe_supports").where(material=run.element.material.lower()):
        low, high = row.number_or_none("size_from_in"), row.number_or_none("size_to_in")
        if (low is None or size >= low) and (high is None or size <= high):
            return row.limit(column, "ft") if row.number_or_none(column) is not None else None
    return None


@rule(
    title="Pipe hung close enough",
    clauses={"upc": "Table 313.3", "ipc": "308.5", "irc": "P2605.1"},
    severity=Severity.LOW,
)
def pipe_hung(run: SupportedRun, context: Context) -> Answer:
    """Pipe that sags holds water where it should run off, and opens its joints.

    The longest stretch between the hangers, straps and clamps drawn at a run, and from them to its
    ends, against the spacing for its material and size, level and upright apart. Pipe below the
    lowest floor lies in the ground. Where a model draws hangers at no drain, or at no water pipe,
    they are left out of the drawing, and that is one question. Gas pipe is judged by the rules for
    gas.
    """
    most = _spacing(run, context)
    hangers = DRAIN_HANGERS if run.element.system in DRAINAGE else WATER_HANGERS
    if most is None:
        is_short = at_most(run.length_m, SHORT_M, "m") or run.element.material
        if is_short or not hangers.is_drawn(context):
            return NOT_APPLICABLE
        return missing(MATERIALS, message=f"how {run.label} is to be hung.")
    if at_most(run.length_m / M_PER_FT, most.value, "ft"):
        return PASS
    widest = run.widest_m(_hangers_near(context)) / M_PER_FT
    if at_most(widest, most.value, "ft"):
        return PASS
    text = f"Hang the pipe every {feet_text(most.value)}."
    return missing(
        hangers,
        message=f"{run.label} runs {apart_text(widest, most.value, 'ft')} without a hanger.",
        remedy=Change("part", run.element_ids, "hanger", text),
        **against(widest, most, "at most"),
    )


EXPANSION = PartKind(
    "expansion joints",
    drawn=lambda context: bool(_expansion_joints(context)),
    remedy="Show the expansion joints or offsets of long plastic pipe, or note them.",
)


@rule(
    title="Long plastic drains and vents free to lengthen",
    clauses={"upc": "Table 313.3", "ipc": "", "irc": ""},
    severity=Severity.LOW,
    applies=lambda run: run.element.system in DRAINAGE and run.element.material.lower() in EXPANDS,
)
def plastic_may_expand(run: SupportedRun, context: Context) -> Answer:
    """PVC lengthens by a third of an inch for every ten feet and thirty degrees.

    The longest part of a run of PVC or ABS above the lowest floor that goes on in one direction,
    against the length after which the code asks for an expansion joint or an offset, where none is
    drawn in the run. A model that draws no such joint is asked once.
    """
    most = context.code.limit("expansion_every_ft")
    straight = run.straight_m / M_PER_FT
    if at_most(straight, most.value, "ft"):
        return PASS
    return missing(
        EXPANSION,
        message=f"{run.label} runs straight on for {feet_text(straight)}.",
        remedy=Change("part", run.element_ids, "expansion joint", "Add an expansion joint."),
        **against(straight, most, "at most"),
    )
