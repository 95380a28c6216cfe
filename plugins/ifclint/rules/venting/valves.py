"""Rules about air admittance valves: whether they are allowed, how high, and within reach."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, advise, check, unverified, violation
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import VentTerminal
from ifclint.rules.venting.airflow import airflow
from ifclint.rules.venting.section import VentingSection
from ifclint.rules.venting.wording import limit, method_row

NEAR_M = 0.01  # what is so near the valve is around it


def _is_valve(terminal: VentTerminal) -> bool:
    return terminal.admits_only


@rule(
    title="Air admittance valve allowed here",
    subject=VentTerminal,
    clauses={"upc": "301.3", "ipc": "918.1", "irc-2021": "P3114.1"},
    severity=Severity.HIGH,
    applies=_is_valve,
)
def admittance_valve_allowed(terminal: VentTerminal, context: Context) -> Answer:
    """A valve that sticks leaves a trap without a vent, or lets sewer gas in.

    The IPC allows them where the authority does not forbid it; the UPC takes the authority's
    approval. The job file tells: venting.air_admittance_valves_allowed.
    """
    row = method_row(context, "air admittance valve")
    if row is None:
        return NOT_APPLICABLE
    stated = context.job.section(VentingSection).air_admittance_valves_allowed
    if stated is True or (stated is None and row.text("allowed") == "yes"):
        return PASS
    why = "the authority forbids them" if stated is False else f"only where {row.text('condition')}"
    return violation(
        message=f"{terminal.label} is an air admittance valve: {why}.",
        remedy=(
            "Carry the vent to the open air; or have the valve approved, and say so in the job "
            "file (venting.air_admittance_valves_allowed)."
        ),
        steps=(Step(f"air admittance valve: {row.text('allowed')}", source=row.clause),),
        clause=row.clause,
    )


@rule(
    title="Air admittance valve high enough above its drain",
    subject=VentTerminal,
    clauses={"upc": "common practice, no clause", "ipc": "918.4", "irc-2021": "P3114.4"},
    applies=_is_valve,
)
def admittance_valve_height(terminal: VentTerminal, context: Context) -> Answer:
    """Waste that backs up must not reach the valve.

    Its height above the drain it vents: 4 in above a branch or fixture drain, 6 in above the
    highest rim where it ends a stack. In the UPC the values are those of the IPC, where the code
    sets none and the authority approves the valve: an advisory.
    """
    tree, point = terminal.tree, terminal.point
    joints = [j for j in tree.joints if j.point is not None] if tree is not None else []
    if not joints or point is None:
        return NOT_APPLICABLE
    of_stack = [j for j in joints if j in airflow(context).stack_of]
    least = limit(context, "aav_stack_above_rim_in" if of_stack else "aav_above_branch_in")
    if least is None:
        return NOT_APPLICABLE
    base = (
        _highest_rim(terminal, context) if of_stack else max(j.point[2] for j in joints if j.point)
    )
    if base is None:
        return unverified(
            f"The rims that {terminal.label} must stand above are not known.",
            "Give the fixtures shapes.",
        )
    height = (point[2] - base) / M_PER_IN
    what = "the highest rim on its stack" if of_stack else "the drain it vents"
    return check(
        round(height, 2),
        at_least=least,
        message=f"{terminal.label} stands {number_text(height, 3)} in above {what}.",
        remedy=f"Raise the valve to {number_text(least.value)} in above {what}.",
        limit_step=f"Above {what}, at least",
    )


def _highest_rim(terminal: VentTerminal, context: Context) -> float | None:
    venting, air = context.plumbing.venting, airflow(context)
    joints = terminal.tree.joints if terminal.tree is not None else []
    fixtures = [f for j in joints for f in air.fixtures_of.get(j, [])]
    return max((rim[0] for f in fixtures if (rim := venting.rim_m(f)) is not None), default=None)


@rule(
    title="Air admittance valve where it can be reached, and breathe",
    subject=VentTerminal,
    clauses={"upc": "common practice, no clause", "ipc": "918.5", "irc-2021": "P3114.5"},
    severity=Severity.LOW,
    needs=("point",),
    applies=_is_valve,
)
def admittance_valve_access(terminal: VentTerminal, context: Context) -> Answer:
    """A valve shut in a wall gets no air and is never changed.

    Whether the valve stands inside a wall or slab of the model; a recessed box with a grille is
    accepted, but the model must show it.
    """
    surroundings, point = context.plumbing.venting.surroundings, terminal.point
    assert point is not None
    if not surroundings.has_walls:
        return unverified(
            f"The model has no walls to tell whether {terminal.label} is in one.",
            "Review together with the architectural file.",
        )
    low = tuple(c - NEAR_M for c in point)
    high = tuple(c + NEAR_M for c in point)
    found = surroundings.within((low[0], low[1], low[2]), (high[0], high[1], high[2]))
    inside = [o for o in found if o.kind in ("wall", "slab")]
    if not inside:
        return PASS
    return advise(
        f"{terminal.label} stands inside {inside[0].label}.",
        "Set it in a recessed box with a grille, or where air and a hand can reach it.",
        elements=(*terminal.element_ids, inside[0].guid),
    )


RULES = (admittance_valve_allowed, admittance_valve_height, admittance_valve_access)
