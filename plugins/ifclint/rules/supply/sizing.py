"""Larger pipe: the fewest lines whose next sizes let a fixture have its pressure."""

from __future__ import annotations

from dataclasses import dataclass

from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import trade_size
from ifclint.findings import Change
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap
from ifclint.rules.supply.losses import listed_sizes, loss
from ifclint.rules.supply.pressure_model import Solution, solve

STEPS_UP = 3  # sizes larger that are tried


@dataclass(frozen=True)
class Upsizing:
    segment: WaterSegment
    size_in: float
    saves_pa: float


def upsizings(solved: Solution, tap: Tap, short_pa: float) -> list[Upsizing] | None:
    """The fewest lines to make larger, each no larger than needed; None where no pipe is enough.

    What a line saves does not depend on the others, so taking those that save most first gives the
    fewest; then each is made as small as the shortage allows.
    """
    if tap.segment is None:
        return None
    options = [_options(solved, segment) for segment in tap.segment.to_source]
    ranked = sorted((o for o in options if o), key=lambda o: -o[-1].saves_pa)
    chosen: list[list[Upsizing]] = []
    saved = 0.0
    for option in ranked:
        if saved >= short_pa:
            break
        chosen.append(option)
        saved += option[-1].saves_pa
    if saved < short_pa:
        return None
    changes = [option[-1] for option in chosen]
    for place, option in enumerate(chosen):
        for smaller in option:
            rest = sum(c.saves_pa for k, c in enumerate(changes) if k != place)
            if rest + smaller.saves_pa >= short_pa:
                changes[place] = smaller
                break
    made = solve(solved.context, {c.segment.number: c.size_in for c in changes})
    before, after = solved.at(tap).residual_pa, made.at(tap).residual_pa
    if before is None or after is None or after - before < short_pa - PA_PER_PSI * 1e-6:
        return None  # a regulator takes away what larger pipe before it saves
    return sorted(changes, key=lambda c: c.segment.number)


def _options(solved: Solution, segment: WaterSegment) -> list[Upsizing]:
    """Larger sizes of a line, ascending, with what each saves."""
    size, flow = segment.size_in, solved.demand.flow_m3_per_s[segment.number]
    if size is None or flow is None or not segment.pipes or solved.loss[segment.number].unknown:
        return []
    listed = listed_sizes(segment.material, solved.context.job.water.copper_type)
    larger = [s for s in listed if s > size]
    now = solved.loss[segment.number].total_pa
    found = [
        Upsizing(segment, s, now - loss(segment, flow, solved.context, s).total_pa)
        for s in larger[:STEPS_UP]
    ]
    return [c for c in found if c.saves_pa > 0]


def as_remedy(changes: list[Upsizing], also: str) -> Change | str:
    """ "Make 1/2 in cold water line "…" 3/4 in and …": a change where all become of one size."""
    sizes = "; ".join(f"{c.segment.label} {trade_size(c.size_in)}" for c in changes)
    text = f"Make {sizes} (the fewest lines that do).{also}"
    if len({c.size_in for c in changes}) > 1:
        return text
    return Change(
        "size", tuple(e for c in changes for e in c.segment.element_ids), changes[0].size_in, text
    )
