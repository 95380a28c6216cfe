"""The rule on the connector between gas piping and an appliance."""

from collections.abc import Iterator
from math import dist

from ifclint.checks import PASS, Answer, Fact, check, not_known, require
from ifclint.engineering.extents import box_around, grown, passed, sides_m
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import feet_text
from ifclint.findings import Severity
from ifclint.ifc.elements import Element, Point, Role
from ifclint.packs import Context, rule
from ifclint.plumbing import GasAppliance
from ifclint.plumbing.gas.connectors import is_connector, is_flexible
from ifclint.plumbing.surroundings.obstacles import Obstacle

SKIN_M = 0.01  # boxes of walls are drawn to the centimetre
LENGTH = Fact("length", "Give the appliance connector a shape, or a Length quantity.")
TUBING = Fact(
    "{} Whether it is an appliance connector or corrugated tubing (CSST) is not known.",
    "Name the element for what it is: appliance connector, or CSST.",
)


@rule(
    title="Appliance connector short, and in one room",
    clauses={"upc": "1212.3", "ipc": "IFGC 411.1.3", "irc": "G2422.1.2"},
    severity=Severity.HIGH,
)
def gas_connector(appliance: GasAppliance, context: Context) -> Iterator[Answer]:
    """A thin flexible connector chafes and breaks where it passes a wall, and nobody sees it.

    The flexible connectors on the appliance's own branch, by name: the length of each, and that it
    passes no wall, slab or roof. What is called flex and no more may be corrugated tubing, and is a
    question where a connector would be wrong. None drawn is nothing asked: another rule asks for
    the union.
    """
    limit = context.code.limit("gas_connector_length_ft")
    for connector in (e for e in appliance.own if e.role is not Role.VALVE and is_flexible(e)):
        points = connector.places
        length = connector.length_m
        if length is None and len(points) == 2:
            length = dist(*points)
        clicked = (connector.guid, *appliance.element_ids)
        if length is None:
            yield not_known(LENGTH, connector, about=connector.guid)
        else:
            answer = check(
                length / M_PER_FT,
                at_most=limit,
                message=f"{connector.label} of {appliance.label} is "
                f"{feet_text(length / M_PER_FT)} long; {limit.value:g} ft is the most.",
                remedy="Carry rigid pipe or tubing closer to the appliance.",
                elements=clicked,
                about=connector.guid,
            )
            yield _unless_tubing(answer, connector)
        if len(points) == 2:
            yield _through(appliance, context, connector, points, clicked)


def _through(
    appliance: GasAppliance,
    context: Context,
    connector: Element,
    points: list[Point],
    clicked: tuple[str, ...],
) -> Answer:
    """Whether a connector passes a wall or floor."""
    crossed = obstacles_crossed(points[0], points[1], context)
    answer = require(
        not crossed,
        message=f"{connector.label} of {appliance.label} passes "
        f'"{crossed[0].label if crossed else ""}".',
        remedy="Pass the wall or floor with rigid pipe, and fit the connector in the room "
        "of the appliance.",
        elements=clicked,
        about=f"{connector.guid} passes",
    )
    return _unless_tubing(answer, connector)


def _unless_tubing(answer: Answer, connector: Element) -> Answer:
    """The answer; a question where it is wrong only if this is a connector."""
    if answer is PASS or is_connector(connector):
        return answer
    return not_known(TUBING, answer.message, elements=answer.elements, about=answer.about)


def obstacles_crossed(a: Point, b: Point, context: Context) -> list[Obstacle]:
    """The walls, slabs and roofs that a line passes from face to face."""
    around = context.plumbing.surroundings.within(*grown(*box_around((a, b)), SKIN_M))
    return [o for o in around if o.kind in ("wall", "slab", "roof") and _passes(a, b, o)]


def _passes(a: Point, b: Point, obstacle: Obstacle) -> bool:
    """Whether a line passes through the thickness of an obstacle, within its other sides."""
    low, high = obstacle.low, obstacle.high
    sides = sides_m(low, high)
    return passed(a, b, low, high, sides.index(min(sides)), SKIN_M) is not None
