"""Rules about gas outside the building: bonding of tubing, meters, regulators."""

from collections.abc import Iterator

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Answer,
    Fact,
    check,
    drawn,
    due,
    each,
    given,
    known,
    not_known,
    require,
)
from ifclint.codes import Limit
from ifclint.engineering.boxes import Boxes
from ifclint.engineering.extents import apart_m
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text, feet_text
from ifclint.findings import Outcome, Severity
from ifclint.ifc.elements import Box, Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.part_kinds import OPENINGS, WALLS
from ifclint.plumbing import GasPiping
from ifclint.plumbing.gas.connectors import CSST, is_connector
from ifclint.plumbing.gas.gas_piping import is_regulator, middle_of
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.words import says
from ifclint.rules.combustion.building_shutoff import is_inside
from ifclint.rules.combustion.burners import Burner, burners
from ifclint.rules.combustion.connectors import obstacles_crossed
from ifclint.rules.combustion.section import CombustionSection

ARC_RESISTANT = ("arc resistant*",)

BONDED = Fact(
    "whether the corrugated gas tubing (CSST) is bonded to the grounding electrode system",
    "Show the bonding clamp and conductor on the gas plan, and state it in the job file "
    "(combustion.csst_bonded).",
)
STANDS = Fact("where {} stands", "Give the gas meter a place.")


@rule(
    title="CSST gas tubing bonded against lightning",
    clauses={"upc": "1211.2", "ipc": "IFGC 310.2", "irc": "G2411.2"},
    severity=Severity.HIGH,
)
def csst_bonded(piping: GasPiping, context: Context) -> Answer:
    """A stroke of lightning arcs through the thin wall of corrugated tubing and lights the gas.

    Asked once of the piping where the model has corrugated stainless tubing, by name or material,
    as models hold no bonding conductors: the job file answers. Tubing named as arc resistant is
    bonded with the rest of the piping and is excused, as is a connector of an appliance.
    """
    tubes = [e for e in piping.members if _is_csst(e)]
    stated = context.job.section(CombustionSection).csst_bonded
    if not tubes:
        return NOT_APPLICABLE
    if stated is None:
        return not_known(BONDED, elements=[e.guid for e in tubes])
    return require(
        stated,
        message="The corrugated gas tubing (CSST) is not bonded to the grounding electrode system.",
        remedy="Bond the tubing with a listed clamp and conductor where the gas enters the "
        "building, by a licensed electrician.",
        elements=[e.guid for e in tubes],
    )


def _is_csst(element: Element) -> bool:
    if element.role is not Role.PIPE or says(element, ARC_RESISTANT) or is_connector(element):
        return False
    return says(element, CSST) or element.material in ("csst", "stainless steel")


@rule(
    title="Gas meter away from flames",
    clauses={"upc": "1208.7.2", "ipc": "49 CFR 192.353", "irc": "49 CFR 192.353"},
    severity=Severity.HIGH,
)
def gas_meter_clearance(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """Meters and their regulators breathe a little gas, and a flame beside them lights it.

    The distance from each gas meter to the nearest appliance that burns fuel with no wall between
    them. Where no walls are drawn, one so near is a question. Electrical gear, which ignites gas
    too, is not read.
    """
    meters = (e for e in piping.members if e.role is Role.METER)
    return each(meters, _meter_clearance, context.code.limit("gas_meter_from_ignition_ft"), context)


def _meter_clearance(meter: Element, limit: Limit, context: Context) -> Answer:
    point = known(middle_of(meter), STANDS)
    near = [(_apart_ft(point, b), b.key, b) for b in _burning_near(point, limit.value, context)]
    too_near = sorted(n for n in near if not at_least(n[0], limit.value, "ft"))
    open_to = (n for n in too_near if not _walled(point, n[2].element.position, context))
    if (nearest := next(open_to, None)) is None:
        return PASS
    feet, _, burner = nearest
    ids = (meter.guid, *burner.element_ids)
    drawn(WALLS, context, "whether one parts {} from {}", meter, burner, elements=ids)
    return check(
        feet,
        at_least=limit,
        message=f"{meter.label} stands {apart_text(feet, limit.value, 'ft')} from {burner.label}; "
        f"{limit.value:g} ft are asked for.",
        remedy=f"Move the meter or the appliance until {limit.value:g} ft lie between, or more "
        "where the gas supplier asks for it.",
        elements=ids,
    )


def _burning_near(point: Point, feet: float, context: Context) -> list[Burner]:
    """The burners no farther off, and some that are a little."""
    placed, boxes = _burning(context)
    return [placed[i] for i in boxes.around(point, (feet * M_PER_FT,) * 3)]


@derived
def _burning(context: Context) -> tuple[list[Burner], Boxes]:
    """What burns and has a place, with its boxes."""
    burning = ((b, _box(b.element)) for b in burners(context) if b.burns)
    placed = [(b, box) for b, box in burning if box is not None]
    return [b for b, _ in placed], Boxes(box for _, box in placed)


def _box(element: Element) -> Box | None:
    """Its box, else its place."""
    at = element.position
    return element.box or (None if at is None else (at, at))


def _apart_ft(point: Point, burner: Burner) -> float:
    return apart_m((point, point), given(_box(burner.element))) / M_PER_FT


def _walled(a: Point, b: Point | None, context: Context) -> bool:
    """Whether a wall stands between two points."""
    return b is not None and any(o.kind == "wall" for o in obstacles_crossed(a, b, context))


@rule(
    title="Gas regulator outdoors vents away from openings",
    clauses={"any": "NFPA 58 6.10.1 (propane), gas suppliers' practice (natural gas)"},
)
def gas_regulator_openings(piping: GasPiping, context: Context) -> Iterator[Answer]:
    """What a torn diaphragm blows out drifts in by the window beside it.

    The distance in plan from each regulator outdoors to windows and doors of outside walls that
    reach below it. Too near is a violation for propane; for natural gas an advisory, as there the
    supplier decides. Regulators indoors are vented through pipe, which another rule follows.
    """
    limit = context.code.limit("gas_regulator_from_opening_ft")
    return each(filter(is_regulator, piping.members), _from_openings, limit, context)


def _from_openings(regulator: Element, limit: Limit, context: Context) -> Answer:
    """How far a regulator outdoors stands from the nearest window or door."""
    point = due(middle_of(regulator))
    if is_inside(point, context) is not False:
        return NOT_APPLICABLE
    drawn(OPENINGS, context, "how far {} is from them", regulator)
    openings = [o for o in _openings(context) if o.low[2] < point[2]]
    if not openings:
        return PASS
    nearest = min(openings, key=lambda o: level_distance_m(point, o.low, o.high))
    feet = level_distance_m(point, nearest.low, nearest.high) / M_PER_FT
    return check(
        feet,
        at_least=limit,
        message=f"{regulator.label} stands {apart_text(feet, limit.value, 'ft')} from "
        f"{nearest.name or nearest.kind}; {limit.value:g} ft are asked for.",
        remedy=f"Set the regulator, or carry its vent, {feet_text(limit.value - feet)} farther "
        f"from the {nearest.kind}.",
        wrong=Outcome.VIOLATION if context.job.gas.name == "propane" else Outcome.ADVISORY,
    )


@derived
def _openings(context: Context) -> list[Surface]:
    """Windows and doors that lie in the outline of the building."""
    around = context.plumbing.surroundings
    found, footprint = around.outdoor_openings, around.footprint
    if footprint is None:
        return []
    return [o for o in found if footprint.has_outer_face(o.low, o.high)]
