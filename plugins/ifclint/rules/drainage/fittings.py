"""Rules about fittings: the right pattern for each change of direction."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, advise, unverified, violation
from ifclint.codes import Row
from ifclint.engineering.trade_sizes import TRADE_SIZES
from ifclint.engineering.wording import trade_size
from ifclint.findings import Answer, Outcome, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import ChangeOfDirection, Inflow
from ifclint.plumbing.drainage.loads import loads

TURNS_DEG = {"quarter-bend": 90, "long-sweep": 90, "short-sweep": 90, "sixth-bend": 60,
             "eighth-bend": 45, "sixteenth-bend": 22.5}  # fmt: skip
ANGLE_ERROR_DEG = 15
BEND_OF_UNKNOWN_SWEEP = frozenset({"bend", "elbow"})
TOLD_BY_ANGLE = frozenset({"angle of its ends", "bend angle property"})  # bases of a kind
PATTERNS = {  # that look alike to an angle
    "tee": ["sanitary-tee", "combination", "tee"],
    "cross": ["double-sanitary-tee", "double-combination", "cross"],
    "quarter-bend": ["quarter-bend", "long-sweep"],
}


@rule(
    title="Drainage fitting right for the change of direction",
    subject=ChangeOfDirection,
    clauses={"upc": "706", "ipc": "706.3 and Table 706.3"},
    applies=lambda turn: any(inflow.change for inflow in turn.inflows),
)
def fitting_for_direction(turn: ChangeOfDirection, context: Context) -> Answer:
    """Water must be led round a corner, or it piles up and solids drop.

    The change of direction each inflow makes (horizontal to vertical and so on, from the ends of
    the fitting) against what the code allows that pattern of fitting: a sanitary tee only from
    horizontal into vertical, a double one only with room, a sharp quarter bend only there or on
    a small fixture drain. Fittings whose pattern the model does not tell are unverified where it
    matters.
    """
    if not turn.drawn:
        return unverified(
            f"At {turn.label} pipes meet at an angle and no fitting is modelled.",
            "Model the fitting where pipes turn or join, and name it in trade words.",
        )
    answers = [_judge(turn, inflow, context) for inflow in turn.inflows if inflow.change]
    ranked = (Outcome.VIOLATION, Outcome.UNVERIFIED, Outcome.ADVISORY, Outcome.PASS)
    for outcome in ranked:
        for answer in answers:
            if answer.outcome is outcome:
                return answer
    return NOT_APPLICABLE


def _judge(turn: ChangeOfDirection, inflow: Inflow, context: Context) -> Answer:
    turns = TURNS_DEG.get(turn.element.kind)
    if turns is not None and inflow.angle_deg > turns + ANGLE_ERROR_DEG:
        return _not_as_named(turn, inflow)
    kinds = _possible_kinds(turn, inflow, context)
    rows = [row for kind in kinds if (row := _row(kind, inflow.change, context)) is not None]
    if not rows:
        return _untold(turn, inflow)
    allowed = [_allowed(row, turn, inflow, context) for row in rows]
    if all(a is True for a in allowed):
        return PASS
    if len(rows) > 1:  # which of the patterns it is decides
        return _untold(turn, inflow) if True in allowed else _wrong(turn, inflow, rows[0])
    if allowed[0] is None:
        return _on_approval(turn, inflow, rows[0])
    return _wrong(turn, inflow, rows[0])


def _possible_kinds(turn: ChangeOfDirection, inflow: Inflow, context: Context) -> list[str]:
    """The patterns a fitting may be: one where the model tells, by its angle where it is a bend.

    A closet bend is one under its closet; anywhere else it is a quarter bend. A kind that was
    told by an angle alone may be any pattern with that angle.
    """
    kind = turn.element.kind
    if turn.element.basis.get("kind") in TOLD_BY_ANGLE:
        return PATTERNS.get(kind, [kind])
    if kind == "closet-bend" and not _under_a_closet(inflow, context):
        return ["quarter-bend"]
    if kind not in BEND_OF_UNKNOWN_SWEEP and not (kind == "" and len(turn.inflows) == 1):
        return [kind]
    if inflow.angle_deg > 75:
        return ["quarter-bend", "long-sweep"]
    return ["sixth-bend"] if inflow.angle_deg > 50 else ["eighth-bend"]


def _under_a_closet(inflow: Inflow, context: Context) -> bool:
    made = loads(context)
    return inflow.segment is None or (
        made.closets[inflow.segment] == made.fixtures[inflow.segment] == 1
    )


def _not_as_named(turn: ChangeOfDirection, inflow: Inflow) -> Answer:
    return unverified(
        (
            f"{turn.element.label} is named a {_named(turn.element.kind)}, but its ends "
            "turn the flow "
            f"by {inflow.angle_deg:.0f} degrees."
        ),
        "Name the fitting as it is, or draw it as it is named.",
    )


def _row(kind: str, change: str, context: Context) -> Row | None:
    return context.code.table("fittings_for_direction").one(fitting=kind, change=change)


def _allowed(row: Row, turn: ChangeOfDirection, inflow: Inflow, context: Context) -> bool | None:
    """Whether the row allows it; None where that is for the authority to say."""
    if row.text("allowed") != "conditional":
        return row.text("allowed") == "yes"
    largest, least = row.number_or_none("fixture_drain_up_to_in"), row.number_or_none("minimum_in")
    if largest is not None or least is not None:
        alone = _is_fixture_drain(inflow, context)
        small = largest is not None and alone and _at_most(inflow, largest)
        large = least is not None and (inflow.size_in or 0.0) >= least
        return small or large
    if row.text("fitting") == "double-sanitary-tee":
        return _double_tee_allowed(turn, context)
    return None


def _at_most(inflow: Inflow, size: float) -> bool:
    return inflow.size_in is not None and inflow.size_in <= size


def _is_fixture_drain(inflow: Inflow, context: Context) -> bool:
    return inflow.segment is not None and loads(context).fixtures[inflow.segment] == 1


def _double_tee_allowed(turn: ChangeOfDirection, context: Context) -> bool:
    """UPC: a barrel two pipe sizes larger than the inlets. IPC: no closets back to back."""
    sides = [i for i in turn.inflows if i.change]
    if context.code.family == "ipc":
        closets = loads(context).closets
        return sum(1 for i in sides if i.segment is not None and closets[i.segment]) < 2
    inlet = max((i.size_in or 0.0 for i in sides), default=0.0)
    if turn.size_in not in TRADE_SIZES or inlet not in TRADE_SIZES:
        return False
    larger = context.code.limit("double_sanitary_tee_sizes_larger").value
    return TRADE_SIZES.index(turn.size_in) - TRADE_SIZES.index(inlet) >= larger


def _change(inflow: Inflow) -> str:
    return inflow.change.replace("-to-", " to ")


def _named(kind: str) -> str:
    return kind.replace("-", " ")


def _wrong(turn: ChangeOfDirection, inflow: Inflow, row: Row) -> Answer:
    condition = f" ({row.text('condition')})" if row.text("condition") else ""
    return violation(
        message=(
            f"{turn.element.label}, a {_named(row.text('fitting'))}, turns the flow from "
            f"{_change(inflow)}, where it is not allowed{condition}."
        ),
        remedy=_better(inflow, len(turn.inflows)),
        steps=(
            Step(f"{trade_size(inflow.size_in)}, {_change(inflow)}", inflow.angle_deg, "deg"),
            Step(f"{_named(row.text('fitting'))}: {row.text('allowed')}", source=row.clause),
        ),
        clause=row.clause,
    )


def _better(inflow: Inflow, inflows: int) -> str:
    if inflows > 1:
        return "Use a wye with an eighth bend, or a combination wye and eighth bend."
    return "Use a long sweep, or two eighth bends."


def _on_approval(turn: ChangeOfDirection, inflow: Inflow, row: Row) -> Answer:
    return advise(
        (
            f"{turn.element.label}, a {_named(row.text('fitting'))}, turns the flow from "
            f"{_change(inflow)}; the code allows it where {row.text('condition')}."
        ),
        f"{_better(inflow, len(turn.inflows))} Or have the pattern approved.",
        steps=(Step(_named(row.text("fitting")), source=row.clause),),
        clause=row.clause,
    )


def _untold(turn: ChangeOfDirection, inflow: Inflow) -> Answer:
    return unverified(
        (
            f"The pattern of {turn.element.label}, which turns the flow from {_change(inflow)}, is "
            "not told."
        ),
        (
            "Name the fitting or its type in trade words (sanitary tee, wye, combination, long "
            "sweep, quarter bend)."
        ),
    )


RULES = (fitting_for_direction,)
