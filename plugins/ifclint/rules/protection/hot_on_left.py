"""Rule about the hot water on the left of a fixture."""

from __future__ import annotations

from itertools import islice
from math import hypot

from ifclint.checks import due, given, require
from ifclint.engineering.extents import level_m, middle, sides_m
from ifclint.engineering.joined import onward
from ifclint.engineering.units import M_PER_IN
from ifclint.findings import Answer, Outcome, Severity
from ifclint.ifc.elements import Place
from ifclint.packs import Context, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.supply.water_fixtures import Tap

OFF_MIDDLE = 0.25  # of its side: taps nearer to the middle tell no wall. Ours, no source
STOP_WITHIN = 4  # elements before a connection that may show where its piping comes from
STOP_NEAR_M, FROM_WALL_M = 0.6, 0.05  # of the connection, seen from above. Ours, no source
APART_M = 1.5 * M_PER_IN  # taps nearer than this tell no side. Ours, no source


@rule(
    title="Hot on the left",
    subject=WaterFixture,
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.LOW,
    applies=lambda fixture: {tap.named for tap in fixture.taps} == {"hot", "cold"},
)
def hot_on_left(fixture: WaterFixture, context: Context) -> Answer:
    """A hand reaches to the right for cold water without looking.

    The places of the connections that the model names hot and cold, seen by who faces the wall they
    come from: the side of the fixture they lie on, or where they lie about its middle, as with
    connectors, the side that the stops and pipes before both stand on. An advisory: connectors can
    cross under a sink. Left alone are fixtures whose connections lie close together, or whose pipes
    come straight up.
    """
    by_place = _hot_left_m(fixture)
    left = due(by_place if by_place is not None else _hot_left_by_pipes_m(fixture, context))
    return require(
        left > 0,
        message=f"The hot connection of {fixture.label} lies on the right of the cold.",
        remedy="Change the places of the two, so that hot is on the left as one faces them.",
        wrong=Outcome.ADVISORY,
    )


def _hot_left_m(fixture: WaterFixture) -> float | None:
    """How far the hot connection lies to the left of the cold one; None where no side is told."""
    hot = next((t.point for t in fixture.taps if t.named == "hot"), None)
    cold = next((t.point for t in fixture.taps if t.named == "cold"), None)
    box = fixture.element.box
    if hot is None or cold is None or box is None or len(fixture.taps) != 2:
        return None
    (to_x, to_y, _), (wide, deep, _) = sides_m(middle(*box), middle(hot, cold)), sides_m(*box)
    far_x, far_y = abs(to_x) / max(wide, 1e-6), abs(to_y) / max(deep, 1e-6)
    near, far = sorted((far_x, far_y))
    if far < OFF_MIDDLE or near > far / 2:
        return None
    over_x, over_y, _ = sides_m(cold, hot)
    across, along = (over_y, over_x) if far == far_x else (over_x, over_y)
    if level_m(cold, hot) < APART_M or abs(along) > abs(across):
        return None
    return to_x * over_y if far == far_x else -to_y * over_x


def _hot_left_by_pipes_m(fixture: WaterFixture, context: Context) -> float | None:
    """The same, by where the piping of both connections comes from; None where that is not one
    side of the line between them."""
    taps = {side: [t for t in fixture.taps if t.named == side] for side in ("hot", "cold")}
    if any(len(found) != 1 or found[0].point is None for found in taps.values()):
        return None
    (hot,), (cold,) = taps["hot"], taps["cold"]
    (hot_x, hot_y, _), (cold_x, cold_y, _) = given(hot.point), given(cold.point)
    apart = hypot(hot_x - cold_x, hot_y - cold_y)
    if apart < APART_M:
        return None
    over = ((hot_x - cold_x) / apart, (hot_y - cold_y) / apart)
    sides = {_side_it_comes_from(tap, over, context) for tap in (hot, cold)}
    return apart * side if len(sides) == 1 and (side := sides.pop()) else None


def _side_it_comes_from(tap: Tap, over: Place, context: Context) -> int:
    """1 where hot lies on the left as one looks to where a connection's piping comes from, -1 where
    on the right, 0 where it comes from neither side. `over` points from cold to hot."""
    supply, (x, y, _) = context.plumbing.supply, given(tap.point)
    up = islice(onward(tap.connection.up, supply.distribution.up), STOP_WITHIN)
    for at in (supply.elements[i].position for i in up):
        if at is None or hypot(at[0] - x, at[1] - y) > STOP_NEAR_M:
            return 0
        aside = (at[0] - x) * over[1] - (at[1] - y) * over[0]
        if abs(aside) >= FROM_WALL_M:
            return 1 if aside > 0 else -1
    return 0


RULES = (hot_on_left,)
