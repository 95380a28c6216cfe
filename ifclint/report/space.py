"""The pipe of a building in three dimensions, as the page's viewer takes it."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from markupsafe import Markup

from ifclint.drawings import Plan, PlanPipe
from ifclint.engineering.units import M_PER_IN
from ifclint.report.arrange import NumberedCorrection

MOST_PIPES = 20_000  # more would make the page too large
FARTHEST = 1e6  # m
LEAST_IN = 0.75  # pipe of unknown size is drawn as if of this
INKS = {
    "drain": "--drain", "vent": "--vent", "cold": "--vent", "hot": "--hot", "hot return": "--hot",
    "gas": "--gas",
}  # fmt: skip
OTHER = "--faint"


def pipes_json(plans: Iterable[Plan], entries: Sequence[NumberedCorrection]) -> Markup | None:
    """The data of the viewer as JSON that may stand in a script element; None without pipe.

    `pipes` has seven numbers a pipe: both ends and the radius, metres; `service` the row of its
    colour among `services`; `corrections` the pipes that each correction is about.
    """
    plans = list(plans)
    pipes = [pipe for plan in plans for pipe in plan.pipes if _can_be_drawn(pipe)]
    if not pipes or len(pipes) > MOST_PIPES:
        return None
    fittings = [pipe for plan in plans for pipe in plan.fittings if _can_be_drawn(pipe)]
    if len(pipes) + len(fittings) <= MOST_PIPES:
        pipes += fittings
    rows: dict[str, list[int]] = {}
    for row, pipe in enumerate(pipes):
        rows.setdefault(pipe.guid, []).append(row)
    inks = sorted({INKS.get(pipe.service, OTHER) for pipe in pipes})
    corrections = {
        entry.number: found
        for entry in entries
        if (found := [row for guid in _about(entry) for row in rows.get(guid, ())])
    }
    made: dict[str, Any] = {
        "pipes": [number for pipe in pipes for number in _numbers(pipe)],
        "services": inks,
        "service": [inks.index(INKS.get(pipe.service, OTHER)) for pipe in pipes],
        "corrections": corrections,
    }
    return Markup(json.dumps(made, separators=(",", ":")).replace("<", "\\u003c"))


def _can_be_drawn(pipe: PlanPipe) -> bool:
    return all(-FARTHEST < c < FARTHEST for c in (*pipe.a, *pipe.b))  # false of what is no number


def _numbers(pipe: PlanPipe) -> list[float]:
    radius_m = (pipe.size_in or LEAST_IN) * M_PER_IN / 2
    return [*(round(c, 3) for c in (*pipe.a, *pipe.b)), round(radius_m, 4)]


def _about(entry: NumberedCorrection) -> list[str]:
    guids = [*entry.correction.element_ids]
    guids += [guid for item in entry.items for guid in item.finding.element_ids]
    return list(dict.fromkeys(guids))
