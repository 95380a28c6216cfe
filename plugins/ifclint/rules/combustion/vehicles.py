"""Rules about gas where vehicles pass: meters outdoors, appliances hung in garages."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, due, each, known, missing
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, PartKind, Severity
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import GasPiping
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.surroundings.rooms import is_garage
from ifclint.plumbing.words import says_text
from ifclint.rules.combustion.burners import Burner
from ifclint.rules.combustion.outside import STANDS

BESIDE_M = 1.0  # so near to where vehicles pass a meter may be hit. Ours, no source
DRIVES = (
    "driveway", "drive aisle", "parking", "parking lot", "alley", "loading dock", "roadway",
    "access road", "garage apron", "einfahrt", "zufahrt", "stellplatz", "allee carrossable",
    "estacionamiento", "oprit", "parkeerplaats",
)  # fmt: skip
GUARDS = ("bollard*", "guard post*", "vehicle barrier", "guardrail", "pipe guard", "poller")
HUNG_M = 0.6  # so far above the floor an appliance hangs, and stands on nothing. Ours, no source
ABOVE_FLOOR = Fact(
    "how high {} hangs above the floor of the garage",
    "Give the appliance a shape, and the garage its floor.",
)
BOLLARDS = PartKind(
    "bollards",
    drawn=lambda context: bool(context.plumbing.saying(GUARDS)),
    remedy="Draw the bollards before the gas meter, or set it out of the way of vehicles.",
)


@rule(
    title="Gas meter guarded where vehicles pass",
    clauses={"any": "IFC 312.1"},
    severity=Severity.HIGH,
)
def gas_meter_guarded(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """A car that backs into the meter lets all the gas of the street out.

    Gas meters beside a slab that is called a driveway, parking place, alley or the like: a bollard
    or guard post near, by name. The section is from memory.
    """
    yield PASS
    yield from each((e for e in piping.members if e.role is Role.METER), _guarded, context)


def _guarded(meter: Element, context: Context) -> Answer:
    if not _drives(context):
        return PASS
    at = known(middle_of(meter), STANDS, meter)
    drive = next((s for s in _drives(context) if _is_near(at, s.low, s.high)), None)
    if drive is None or _is_guarded(at, context):
        return PASS
    return missing(
        BOLLARDS,
        message=f'{meter.label} stands beside "{drive.name}" without a bollard.',
        remedy="Set bollards between the meter and the vehicles, 3 ft from the meter.",
        elements=(meter.guid,),
        about=meter.guid,
    )


def _is_near(at: Point, low: Point, high: Point) -> bool:
    return at_most(level_distance_m(at, low, high), BESIDE_M, "m")


@derived
def _drives(context: Context) -> list[Surface]:
    slabs = context.plumbing.surroundings.of_kind("slab", "terrain")
    return [s for s in slabs if says_text(s.name, DRIVES)]


@rule(
    title="Appliance hung in a public garage above the vehicles",
    clauses={"upc": "507.14.2", "ipc": "IFGC 305.4", "irc": ""},
    severity=Severity.HIGH,
    applies=lambda burner: burner.burns is not False and is_garage(burner.element.space),
)
def garage_appliance_height(burner: Burner, context: Context) -> Answer:
    """A truck on the lift, or its open hood, meets what hangs too low.

    The underside of gas heaters and furnaces that hang in a garage, service bay or the like, by the
    name of the room, of a building that is not private. One guarded by a bollard is excused. What
    stands on the floor or a stand is judged by its flame and its guards. The sections are from
    memory.
    """
    limit = due(context.code.limit_or_none("garage_appliance_above_floor_ft"))
    if context.job.building.use == "private":
        return NOT_APPLICABLE
    base = known(burner.element.box, ABOVE_FLOOR, burner)[0]
    floor = known(_floor_m(burner.element, base, context), ABOVE_FLOOR, burner)
    if not at_least(base[2] - floor, HUNG_M, "m") or _is_guarded(base, context):
        return NOT_APPLICABLE
    height = (base[2] - floor) / M_PER_FT
    return check(
        height,
        at_least=limit,
        message=f"{burner.label} hangs {number_text(height)} ft above the floor of "
        f'"{burner.element.space}", where vehicles pass.',
        remedy=f"Hang it {number_text(limit.value)} ft or more above the floor, or guard it from "
        "vehicles.",
        limit_step="Above the floor, at least",
    )


def _floor_m(element: Element, at: Point, context: Context) -> float | None:
    """The highest slab under a point, else the floor an element is on."""
    around = context.plumbing.surroundings
    slabs = [s.high[2] for s in around.above_or_below("slab", at) if s.high[2] <= at[2]]
    floor = around.floors.of(element)
    return max(slabs, default=floor.level_m if floor is not None else None)


def _is_guarded(at: Point, context: Context) -> bool:
    guards = (middle_of(e) for e in context.plumbing.saying(GUARDS))
    return any(g is not None and _is_near(at, g, g) for g in guards)
