"""Rule about how gas pipe is held up."""

from itertools import pairwise
from math import dist

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, given, missing, not_known
from ifclint.codes import Limit
from ifclint.engineering.extents import lies_flat
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text, feet_text
from ifclint.findings import Answer, Change, Measure, PartKind, Severity, Step
from ifclint.ifc.elements import Element
from ifclint.packs import Context
from ifclint.plumbing import GasSegment
from ifclint.rules.gas.capacity import table_material
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.places import IN_FLOOR_M, is_near, named

HANGER_WORDS = ("hanger", "clevis", "pipe clamp", "pipe strap", "pipe support")
HANGERS = PartKind(
    "hangers",
    drawn=lambda context: bool(named(context, HANGER_WORDS)),
    remedy="Show the hangers of gas pipe, or their spacing in the specification.",
)
SUPPORTED = Fact(
    "the length of {} is not known, nor whether it must be supported every {} ft.",
    "Give the pipe its length, a shape or two placed ports.",
)


@gas_rule(
    title="Gas pipe supported",
    clauses={"upc": "1210.2.4", "ipc": "IFGC 407.2 and Table 415.1", "irc": "G2424.1"},
    severity=Severity.LOW,
    needs=("size_in",),
)
def gas_support(segment: GasSegment, context: Context) -> Answer:
    """Pipe that hangs on its joints opens them.

    The longest stretch of each pipe of steel between the hangers, straps and clamps drawn close to
    it, and from them to its ends, against the code's spacing for its size. Pipe in the ground lies
    on it, upright pipe is held at every floor, and tubing by its maker's instructions: these are
    excused. Where a model draws no hanger at all they are left out of the drawing, and that is
    unverified.
    """
    if table_material(segment.material) not in (None, "steel"):
        return NOT_APPLICABLE
    spacing = _spacing(segment, context)
    hung = [pipe for pipe in segment.pipes if not _is_held(pipe, context)]
    bare = [
        (pipe, feet)
        for pipe in hung
        if pipe.length_m is not None
        and not at_most(
            feet := _unheld_m(pipe, pipe.length_m, context) / M_PER_FT, spacing.value, spacing.unit
        )
    ]
    if not bare:
        unknown = tuple(pipe.guid for pipe in segment.pipes if pipe.length_m is None)
        return _length_unknown(segment, spacing, unknown) if unknown else PASS
    return _unsupported(segment, spacing, bare)


def _unsupported(segment: GasSegment, spacing: Limit, bare: list[tuple[Element, float]]) -> Answer:
    guids, longest = tuple(pipe.guid for pipe, _ in bare), max(feet for _, feet in bare)
    text = f"Hang the gas pipe every {spacing.value:g} ft."
    return missing(
        HANGERS,
        message=f"{segment.label} runs {apart_text(longest, spacing.value, 'ft')} without a "
        f"support; {spacing.value:g} ft is the most.",
        remedy=Change("part", guids, "hanger", text),
        measured=Measure(longest, spacing.unit),
        required=Measure(spacing.value, spacing.unit, "at most"),
        steps=[Step(f'"{e.label}" runs {feet_text(ft)} without one') for e, ft in bare],
        elements=guids,
        clause=spacing.clause,
    )


def _unheld_m(pipe: Element, length_m: float, context: Context) -> float:
    """The longest stretch of a pipe without a hanger, its ends taken as held."""
    points = pipe.places
    near = [h for h in named(context, HANGER_WORDS) if is_near(h, points)]
    along = sorted(min(dist(points[0], hanger), length_m) for hanger in near)
    return max(b - a for a, b in pairwise([0.0, *along, length_m]))


def _is_held(pipe: Element, context: Context) -> bool:
    """Whether a pipe lies in the ground, and not in a crawl space, or stands upright."""
    points, ground = pipe.places, context.ground
    if len(points) < 2:
        return False
    a, b = points[0], points[-1]
    is_low = ground is not None and all(ground.is_below(p[2] + IN_FLOOR_M) for p in (a, b))
    crawl_spaces = context.plumbing.surroundings.floors.crawl_spaces
    is_low = is_low and not (crawl_spaces.holds(a) and crawl_spaces.holds(b))
    return is_low or not lies_flat(a, b)


def _length_unknown(segment: GasSegment, spacing: Limit, pipes: tuple[str, ...]) -> Answer:
    need = Measure(spacing.value, spacing.unit, "at most")
    return not_known(SUPPORTED, segment, f"{spacing.value:g}", elements=pipes, required=need)


def _spacing(segment: GasSegment, context: Context) -> Limit:
    """How far apart its supports may be: the row of the next larger size holds."""
    table = context.code.table("gas_support")
    row = table.next_row("size_in", given(segment.size_in)) or table.rows[-1]
    return row.limit("spacing_ft", "ft")
