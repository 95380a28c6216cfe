"""The rule about vents that end in a wall and not above a roof."""

from collections.abc import Iterator

from ifclint.checks import PASS, Bounds, Fact, check, known, not_known, violation
from ifclint.engineering.extents import covers
from ifclint.engineering.tolerance import lies_below
from ifclint.engineering.units import feet
from ifclint.engineering.wording import feet_text, number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import VentTerminal
from ifclint.rules.venting.section import VentingSection

BESIDE_M = 0.6  # of a wall a terminal outdoors ends at it; no source
IN_IT = (0.01, 0.01, 0.0)
GROUND = Fact(
    "how high above the ground {} ends is not known.",
    "Give the height of the ground in the job file (building.grade_elevation).",
)
SOFFIT = Fact(
    "whether the overhang above {} has vents in its soffit is not known.",
    "Say so in the job file (venting.soffit_vents).",
)


def ends_at_wall(terminal: VentTerminal, context: Context) -> bool:
    """Whether a vent ends below a roof and above none, outdoors beside a wall, or comes level into
    one."""
    top, around = terminal.top, context.plumbing.venting.surroundings
    roofs, footprint = list(around.of_kind("roof")), around.footprint
    if top is None or footprint is None:
        return False
    not_above = [roof for roof in roofs if not lies_below(top[2], roof.low[2])]
    if len(not_above) == len(roofs) or any(covers(r.low, r.high, top) for r in not_above):
        return False
    if footprint.holds(top):
        return _comes_level(terminal) and bool(around.of_kind_around("wall", top, IN_IT))
    low, high = ((x + way, y + way, z) for way in (-BESIDE_M, BESIDE_M) for x, y, z in [top])
    return any(surface.kind == "wall" for surface in around.within(low, high))


def _comes_level(terminal: VentTerminal) -> bool:
    """Whether the last pipe before the terminal is horizontal."""
    tree, index = terminal.tree, terminal.index
    before = {} if tree is None else {to: i for i, to in tree.toward.items()}
    while tree is not None and index in before:
        index = before[index]
        if tree.piping.is_pipe(index):
            return tree.piping.is_horizontal(index)
    return False


@rule(
    title="Vent through a wall only high above the ground",
    clauses={"upc": "906.1", "ipc": "903.6", "irc-2021": "P3103.6"},
    severity=Severity.HIGH,
    needs=("top",),
    applies=lambda terminal: not terminal.admits_only,
)
def vent_through_wall(terminal: VentTerminal, context: Context) -> Iterator[Answer]:
    """Sewer gas low on a wall is breathed, and snow or a child's ball closes the vent.

    Terminals beside a wall or in it, below a roof and above none. UPC: a vent goes through the
    roof. IPC and IRC: the height above the ground, and no overhang above that has vents in its
    soffit, as the job file says; the distance from the lot line, which no model tells, is a step.
    """
    top = terminal.top
    if top is None or not ends_at_wall(terminal, context):
        return
    least = context.code.limit_or_none("vent_sidewall_above_grade_ft")
    if least is None:
        yield violation(
            message=f"{terminal.label} ends outside a wall, below the roof.",
            remedy="Carry the vent through the roof.",
        )
        return
    height = known(_above_ground(terminal, context), GROUND, terminal)
    away = context.code.limit("vent_sidewall_from_lot_line_ft")
    yield check(
        height,
        at_least=least,
        message=f"{terminal.label} ends outside a wall, {feet_text(height.high)} above the ground.",
        remedy=f"Carry the vent through the roof, or up the wall to {number_text(least.value)} ft.",
        steps=(Step("and from the lot line, at least", away.value, "ft", away.clause),),
        limit_step="Above the ground, at least",
    )
    yield _under_overhang(terminal, context, least.clause)


def _under_overhang(terminal: VentTerminal, context: Context, clause: str) -> Answer:
    """No overhang above takes what rises from the vent into the roof."""
    vented = context.job.section(VentingSection).soffit_vents
    top = terminal.top
    roof = None if top is None else context.plumbing.venting.surroundings.roof_over(top)
    if roof is None or vented is False:
        return PASS
    if vented is None:
        return not_known(SOFFIT, terminal, about="overhang", clause=clause)
    return violation(
        message=f"{terminal.label} ends under an overhang that has vents in its soffit.",
        remedy="Carry the vent through the roof.",
        about="overhang",
        clause=clause,
    )


def _above_ground(terminal: VentTerminal, context: Context) -> Bounds | None:
    """Feet above the ground, as far as that is known."""
    ground = context.ground
    if ground is None or terminal.top is None:
        return None
    low, high = (round(feet(terminal.top[2] - z), 2) for z in (ground.high_m, ground.low_m))
    return Bounds(GROUND, terminal, low=low, high=high)
