"""Rule about the hot water on the left of a fixture."""

from itertools import islice
from math import hypot

from ifclint.checks import NOT_APPLICABLE, due, given, require
from ifclint.engineering.extents import level_m, middle, sides_m
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_IN
from ifclint.findings import Answer, Outcome, Severity
from ifclint.ifc.elements import Box, Place, Point
from ifclint.packs import Context, rule
from ifclint.plumbing import WaterFixture
from ifclint.plumbing.supply.water_fixtures import Tap

OFF_MIDDLE = 0.25  # of its side: taps nearer to the middle tell no wall. Ours, no source
STOP_WITHIN = 4  # elements before a connection that may show where its piping comes from
STOP_NEAR_M, FROM_WALL_M = 0.6, 0.05  # of the connection, seen from above. Ours, no source
AT_WALL_M = 0.05  # of a wall the face of a fixture stands at it. Ours, no source
APART_M = 1.5 * M_PER_IN  # taps nearer than this tell no side. Ours, no source


@rule(
    title="Hot on the left",
    clauses={"upc": "417.5", "ipc": "607.4", "irc": "P2722.2"},
    severity=Severity.LOW,
    applies=lambda fixture: {tap.named for tap in fixture.taps} == {"hot", "cold"},
)
def hot_on_left(fixture: WaterFixture, context: Context) -> Answer:
    """A hand reaches to the right for cold water without looking.

    The places of the connections that the model names hot and cold, seen by who faces the wall they
    come from: the side of the fixture they lie on, or where they lie about its middle, as with
    connectors, the side that the stops and pipes before both stand on. An advisory: connectors can
    cross under a sink. Left alone are fixtures whose connections lie close together, or away from
    the wall that the fixture stands at, or whose pipes come straight up.
    """
    if _is_at_wall_opposite(fixture, context):
        return NOT_APPLICABLE
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
    ends, toward = _hot_and_cold(fixture), _side_of_taps(fixture)
    if ends is None or toward is None:
        return None
    hot, cold = ends
    axis, sign = toward
    over_x, over_y, _ = sides_m(cold, hot)
    across, along = (over_y, over_x) if axis == 0 else (over_x, over_y)
    if not at_least(level_m(cold, hot), APART_M, "m") or abs(along) > abs(across):
        return None
    return sign * over_y if axis == 0 else -sign * over_x


def _hot_and_cold(fixture: WaterFixture) -> tuple[Point, Point] | None:
    """The places of its one hot and its one cold connection."""
    hot = next((t.point for t in fixture.taps if t.named == "hot"), None)
    cold = next((t.point for t in fixture.taps if t.named == "cold"), None)
    return (hot, cold) if hot and cold and len(fixture.taps) == 2 else None


def _side_of_taps(fixture: WaterFixture) -> tuple[int, int] | None:
    """The axis along which its connections lie off the middle of a fixture, and which way; None
    where they lie about the middle, or toward a corner."""
    ends, box = _hot_and_cold(fixture), fixture.element.box
    if ends is None or box is None:
        return None
    to, size = sides_m(middle(*box), middle(*ends)), sides_m(*box)
    share = [abs(to[k]) / max(size[k], 1e-6) for k in (0, 1)]
    axis = 0 if share[0] >= share[1] else 1
    if share[axis] < OFF_MIDDLE or share[1 - axis] > share[axis] / 2:
        return None
    return axis, 1 if to[axis] > 0 else -1


def _is_at_wall_opposite(fixture: WaterFixture, context: Context) -> bool:
    """Whether a fixture stands at a wall, and its connections lie on the side away from that."""
    box, toward = fixture.element.box, _side_of_taps(fixture)
    if box is None or toward is None:
        return False
    axis, sign = toward
    return _is_at_wall(box, axis, -sign, context) and not _is_at_wall(box, axis, sign, context)


def _is_at_wall(box: Box, axis: int, sign: int, context: Context) -> bool:
    low, high = [*box[0]], [*box[1]]
    face = high[axis] if sign > 0 else low[axis]
    low[axis], high[axis] = face - AT_WALL_M, face + AT_WALL_M
    low[1 - axis] += AT_WALL_M  # without the walls beside it
    high[1 - axis] -= AT_WALL_M
    (x, y, z), (u, v, w) = low, high
    found = context.plumbing.surroundings.within((x, y, z), (u, v, w))
    return any(obstacle.kind == "wall" for obstacle in found)


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
