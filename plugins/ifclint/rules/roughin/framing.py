"""Rules about pipe through studs and joists: what is bored and notched, and what shields it."""

import re

from ifclint.checks import NOT_APPLICABLE, PASS, Answer, Change, against, check, given, missing
from ifclint.checks import violation as wrong
from ifclint.engineering.arithmetic import not_below_zero, or_zero
from ifclint.engineering.extents import holds, middle, sides_m, thin_axis
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.findings import PartKind, Severity, Step
from ifclint.ifc.elements import Element, Point, Surface, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.gas.connectors import CSST
from ifclint.plumbing.words import says, says_text
from ifclint.rules.roughin.bores import Bore
from ifclint.rules.roughin.clearances import inches
from ifclint.rules.roughin.standing import never

NEAR_M = 0.15  # a plate is drawn at its middle: within this of the hole it is its own; no source
BEARS = ("bearing", "load bearing", "tragend*", "porteur", "portante", "dragend*")
BEARS_NOT = (
    "non bearing", "nonbearing", "not bearing", "non load bearing", "not load bearing",
    "nicht tragend*", "nichttragend*", "non porteur", "no portante", "niet dragend*",
)  # fmt: skip
NOT_SAWN = re.compile(
    r"i-?joist|tji|bci|lvl|lsl|psl|glu-?lam|truss|open.?web|steel|metal|cfs|light.?gauge|concrete|"
    r"precast|beton|stahl|acero|acier|\b(?:w|hss|ipe|he[abm]|upn|ub|uc)[ -]?\d|\b\d+(?:k|lh)\d+\b",
    re.I,
)
ENGINEERED = PartKind(
    "what their makers allow of holes in engineered or steel framing",
    drawn=never,
    remedy="Have the holes checked against the maker's tables.",
    lack="does not tell",
)
THICKNESS = PartKind(
    "outside diameter of the pipes through its framing",
    drawn=never,
    remedy="Give the pipes a material named in trade words (PVC, ABS, copper, PEX).",
    lack="does not tell the",
)
BEARING = PartKind(
    "which of its stud walls bear",
    drawn=never,
    remedy="State whether the walls bear (Pset_WallCommon.LoadBearing), or have the framer confirm "
    "that the wall bears nothing, or that the studs are doubled.",
    lack="does not tell",
)
PLATES = PartKind(
    "nail plates",
    drawn=lambda context: any(
        element.kind == "nail-plate" for element in context.plumbing.network.elements
    ),
    remedy="Show the nail plates, or note them on the drawing: steel, over every pipe that lies so "
    "close to the face of the framing.",
)
FRAMING = "Frame around the pipe, or move the pipe; a carpenter may head off or double the member."


def _unsure(bore: Bore) -> Answer | None:
    """Why a member is not judged by the rules for sawn lumber."""
    if NOT_SAWN.search(bore.member.name) or bore.member.outline:
        return missing(ENGINEERED, message=f"{bore.where} is bored by {bore.label}.")
    if bore.hole_m is None:
        return missing(THICKNESS, message=f"{bore.label} passes {bore.where}.")
    return None


def _share(bore: Bore, cut_m: float, key: str, context: Context, what: str) -> Answer:
    """A hole or notch against the share of the member's depth that it may take."""
    limit = context.code.limit(key)
    return check(
        cut_m / bore.depth_m,
        at_most=limit,
        message=f"{bore.label} {what} {inches(cut_m)} of {bore.where}, which is "
        f"{inches(bore.depth_m)} deep.",
        remedy=FRAMING,
        steps=(Step("Pipe, outside", or_zero(bore.hole_m) / M_PER_IN, "in"),),
        limit_step="Most of the depth",
    )


def _edge(bore: Bore, key: str, context: Context) -> Answer:
    """The wood left between a hole and the nearer edge of the member."""
    return check(
        bore.left_m / M_PER_IN,
        at_least=context.code.limit(key),
        message=f"{bore.label} leaves {inches(bore.left_m)} of {bore.where} at its edge.",
        remedy=FRAMING,
        limit_step="Wood left at the edge",
    )


@rule(
    title="Studs not bored or notched too far",
    clauses={"upc": "IBC 2308.5.9", "ipc": "IBC 2308.5.9", "irc": "R602.6"},
    applies=lambda bore: bore.member.kind == "stud",
)
def stud_not_cut(bore: Bore, context: Context) -> Answer:
    """A stud that is cut too far buckles, and the wall with it.

    The outside of every pipe that passes through the thickness of a stud, by the stud's box: as a
    hole where wood is left on both sides, else as a notch. What only a wall that bears nothing may
    have is judged by the wall around it, where that, or its name, says whether it bears, and is
    else a question. Engineered and steel framing are their makers' matter.
    """
    unsure = _unsure(bore)
    if unsure is not None:
        return unsure
    cut = bore.cut_m if bore.is_notch else given(bore.hole_m)
    kind, does = ("notch", "cuts") if bore.is_notch else ("hole", "bores")
    bears = _bears(bore.member, context)
    sure = _share(bore, cut, f"stud_{kind}_share", context, does)
    bearing = _share(bore, cut, f"stud_{kind}_bearing_share", context, does)
    if bears and bearing is not PASS:
        return bearing
    if sure is PASS and not bore.is_notch:
        sure = _edge(bore, "stud_edge_in", context)
    if sure is not PASS or bearing is PASS or bears is False:
        return sure
    return missing(BEARING, message=bearing.message)


def _bears(stud: Surface, context: Context) -> bool | None:
    """Whether a stud is said to bear, by itself or by the walls around it; None where none says."""
    around = context.plumbing.surroundings
    guids = {o.guid for o in around.within(stud.low, stud.high) if o.kind == "wall"}
    walls = [wall for wall in around.of_kind("wall") if wall.guid in guids] if guids else []
    said = {_said_to_bear(part) for part in (stud, *walls)}
    return None if said == {None} else True in said


def _said_to_bear(part: Surface) -> bool | None:
    if part.bears is not None:
        return part.bears
    if says_text(part.name, BEARS_NOT):
        return False
    return True if says_text(part.name, BEARS) else None


@rule(
    title="Joists not bored or notched too far",
    clauses={"upc": "IBC 2308.4.2.4", "ipc": "IBC 2308.4.2.4", "irc": "R502.8.1"},
    severity=Severity.HIGH,
    applies=lambda bore: bore.member.kind == "joist",
)
def joist_not_cut(bore: Bore, context: Context) -> Answer:
    """A joist cut at its edge loses the wood that carries it.

    The outside of every pipe that passes through the thickness of a joist, by the joist's box: a
    hole by its share of the depth and its distance from the edges; a notch by its depth, and none
    in the middle third of the joist as it is drawn. Deeper notches at the ends are allowed.
    """
    unsure = _unsure(bore)
    if unsure is not None:
        return unsure
    if bore.is_notch:
        return _notch_in_joist(bore, context)
    answer = _share(bore, given(bore.hole_m), "joist_hole_share", context, "bores")
    return answer if answer is not PASS else _edge(bore, "joist_edge_in", context)


def _notch_in_joist(bore: Bore, context: Context) -> Answer:
    """A notch by where it lies along the joist."""
    low, high = bore.member.low, bore.member.high
    along = 1 - thin_axis(low, high)
    span_m = sides_m(low, high)[along]
    off_m = abs(bore.point[along] - middle(low, high)[along])
    if off_m < span_m / 6:
        return wrong(
            message=f"{bore.label} notches {bore.where} in the middle third of its length.",
            remedy=FRAMING,
        )
    is_end = at_most(span_m / 2 - off_m, bore.depth_m, "m")
    key = "joist_end_notch_share" if is_end else "joist_notch_share"
    return _share(bore, bore.cut_m, key, context, "notches")


@derived
def _plates(context: Context) -> list[Point]:
    elements = context.plumbing.network.elements
    return [e.position for e in elements if e.kind == "nail-plate" and e.position is not None]


@rule(
    title="Nail plate where pipe lies close to the face of the framing",
    clauses={"upc": "312.9", "ipc": "305.6", "irc": "P2603.2.1"},
    severity=Severity.LOW,
)
def nail_plate(bore: Bore, context: Context) -> Answer:
    """A nail through a pipe is found when the wall is wet.

    Plastic and copper pipe and corrugated tubing (CSST) through a stud or joist, less wood left
    than the code asks, and no steel plate drawn at it. Models that draw no plates are asked once.
    Steel and cast iron pipe are excused.
    """
    if _is_hard(bore.element):
        return NOT_APPLICABLE
    if bore.hole_m is None:
        return _unsure(bore) or NOT_APPLICABLE
    is_gas = bore.element.system is System.GAS
    least = context.code.limit("gas_nail_plate_in" if is_gas else "nail_plate_in")
    left = bore.left_m / M_PER_IN
    if at_least(left, least.value, "in") or any(_is_at(p, bore.point) for p in _plates(context)):
        return PASS
    behind, text = inches(not_below_zero(bore.left_m)), "Set a steel nail plate over the pipe."
    return missing(
        PLATES,
        message=f"{bore.label} lies {behind} behind the face of {bore.where}.",
        remedy=Change("part", bore.element_ids, "nail plate", text),
        **against(left, least, "at least"),
    )


def _is_hard(pipe: Element) -> bool:
    """Whether a nail glances off: pipe of iron and steel, and no thin corrugated tube."""
    material = pipe.material.lower()
    if "stainless" in material and pipe.system is System.GAS:
        return False
    return ("steel" in material or "iron" in material) and not says(pipe, CSST)


def _is_at(plate: Point, point: Point) -> bool:
    return holds(point, point, plate, NEAR_M)
