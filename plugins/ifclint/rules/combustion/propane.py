"""The rule on propane containers: far enough from the building they serve."""

from dataclasses import dataclass

from ifclint.checks import PASS, Answer, Fact, check, drawn, known, not_known
from ifclint.codes import Limit, Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.extents import level_apart_m
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M3_PER_US_GAL, M_PER_FT
from ifclint.engineering.wording import apart_text, feet_text, number_text, tape_text
from ifclint.findings import Severity
from ifclint.ifc.elements import Box, Element, Role, Surface, System
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import WALLS
from ifclint.plumbing.flow.subject import OfElement

PROPANE = (
    "propane tank", "propane container", "propane cylinder", "lp tank", "lp gas tank", "lpg tank",
    "lp gas container", "flussiggastank", "flüssiggastank", "propaantank",
)  # fmt: skip
TABLE = "propane_containers"
PLACE = Fact("where {} stands", "Give the tank a shape.")
HOLDS = Fact(
    "how much {} holds is not known; it stands {} from a wall.",
    "State its water capacity (StorageCapacity), or say it in its name.",
)
BURIED = Fact(
    "whether {} is buried is not known; that decides how near it may be.",
    "Give the ground in the job file (building.grade_elevation).",
)


@dataclass(eq=False)
class PropaneTank(OfElement):
    """A container of propane that stays where it is."""

    element: Element
    service = System.GAS
    sized_by = frozenset[System]()  # no size bears on it

    @property
    def gallons(self) -> float | None:
        """Its water capacity, by its properties or its name."""
        stated = self.element.properties.number("storage_volume_m3")
        return stated / M3_PER_US_GAL if stated else None


@derived
def propane_tanks(context: Context) -> list[PropaneTank]:
    """The tanks called so, in the order of the model."""
    named = context.plumbing.saying(PROPANE)
    return [PropaneTank(e) for e in named if e.role is Role.TANK]


@rule(
    title="Propane tank far enough from the building",
    clauses={"any": "NFPA 58 Table 6.4.1.1"},
    severity=Severity.HIGH,
)
def propane_tank_distance(tank: PropaneTank, context: Context) -> Answer:
    """A fire in the house must not reach the tank before the firefighters do.

    From the box of a tank called a propane tank to the nearest wall, in plan, against the distance
    for its water capacity (StorageCapacity or the name), above ground or buried as the ground tells
    (building.grade_elevation, or the terrain). Walls count as those of an important building.
    """
    drawn(WALLS, context, "how far {} is from the building", tank)
    around, box = context.plumbing.surroundings, known(tank.element.box, PLACE)
    feet = min(_apart_m(box, wall) for wall in around.of_kind("wall")) / M_PER_FT
    rows = context.code.table(TABLE).rows
    if at_least(feet, max(row.number("building_ft") for row in rows), "ft"):
        return PASS
    gallons = known(tank.gallons, HOLDS, tank, feet_text(feet))
    lies = _buried(box, context)
    limits = [_limit(gallons, buried, context) for buried in lies]
    answers = [_answer(tank, feet, limit) for limit in limits]
    if len({answer is PASS for answer in answers}) > 1:
        return not_known(BURIED, tank)
    return answers[0]


def _limit(gallons: float, buried: str, context: Context) -> Limit:
    listed = context.code.table(TABLE).where(buried=buried)
    rows = [r for r in listed if r.number("from_gal") <= gallons]  # "501" is more than 500
    row: Row = max(rows, key=lambda r: r.number("from_gal"))
    is_alone = len(propane_tanks(context)) == 1 and row.number_or_none("alone_ft") is not None
    return row.limit("alone_ft" if is_alone else "building_ft", "ft")


def _answer(tank: PropaneTank, feet: float, limit: Limit) -> Answer:
    return check(
        feet,
        at_least=limit,
        message=f"{tank.label}, {number_text(or_zero(tank.gallons))} gal, stands "
        f"{apart_text(feet, limit.value, 'ft')} from the building; {limit.value:g} ft are asked "
        "for.",
        remedy=f"Set the tank {tape_text(limit.value - feet)} farther from the building.",
    )


def _buried(box: Box, context: Context) -> tuple[str, ...]:
    """Whether a tank lies underground: both, where nothing tells."""
    ground = context.ground
    below = ground.is_below(box[1][2]) if ground is not None else None
    return ("yes", "no") if below is None else ("yes",) if below else ("no",)


def _apart_m(box: Box, wall: Surface) -> float:
    """Between two boxes, in plan."""
    return level_apart_m(box, (wall.low, wall.high))
