"""The rule about gas meters where vehicles pass."""

from __future__ import annotations

from collections.abc import Iterator

from ifclint.checks import PASS, each, known, missing
from ifclint.engineering.tolerance import at_most
from ifclint.findings import Answer, PartKind, Severity
from ifclint.ifc.elements import Element, Point, Role, Surface
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import GasPiping
from ifclint.plumbing.gas.gas_piping import middle_of
from ifclint.plumbing.surroundings.obstacles import level_distance_m
from ifclint.plumbing.words import says_text
from ifclint.rules.combustion.outside import STANDS

BESIDE_M = 1.0  # so near to where vehicles pass a meter may be hit. Ours, no source
DRIVES = (
    "driveway", "drive aisle", "parking", "parking lot", "alley", "loading dock", "roadway",
    "access road", "garage apron", "einfahrt", "zufahrt", "stellplatz", "allee carrossable",
    "estacionamiento", "oprit", "parkeerplaats",
)  # fmt: skip
GUARDS = ("bollard*", "guard post*", "vehicle barrier", "guardrail", "pipe guard", "poller")
BOLLARDS = PartKind(
    "bollards",
    drawn=lambda context: bool(context.plumbing.saying(GUARDS)),
    remedy="Draw the bollards before the gas meter, or set it out of the way of vehicles.",
)


@rule(
    title="Gas meter guarded where vehicles pass",
    subject=GasPiping,
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
    guards = (g for e in context.plumbing.saying(GUARDS) if (g := middle_of(e)) is not None)
    if drive is None or any(_is_near(at, g, g) for g in guards):
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


RULES = (gas_meter_guarded,)
