"""Schedules of the permit set: fixtures with their units, drains with their loads."""

from ifclint.engineering.units import M_PER_FT, in_per_ft_from_slope
from ifclint.findings import Column, Schedule
from ifclint.packs import Context
from ifclint.plumbing import DrainSegment, Fixture
from ifclint.plumbing.drainage.loads import Loads, loads
from ifclint.plumbing.drainage.segments import Part
from ifclint.rules.drainage.capacity import capacity

INTEGRAL = "integral"  # the trap of a fixture that is one with it
FIXTURE_COLUMNS = (
    Column("tag", "Tag"), Column("fixture", "Fixture"), Column("storey", "Storey"),
    Column("space", "Space"), Column("trap_in", "Trap", "in"), Column("drain_in", "Waste", "in"),
    Column("dfu", "Drainage", "DFU"), Column("basis", "Drainage counted"),
)  # fmt: skip
DRAIN_COLUMNS = (
    Column("drain", "Drain"), Column("part", "Part"), Column("storey", "Storey"),
    Column("size_in", "Size", "in"), Column("slope_in_per_ft", "Slope", "in/ft"),
    Column("length_ft", "Length", "ft"), Column("fixtures", "Fixtures"),
    Column("dfu", "Load", "DFU"), Column("capacity_dfu", "May carry", "DFU"),
)  # fmt: skip


def fixture_schedule(context: Context) -> Schedule:
    """Every draining fixture: kind, place, trap, drain and drainage fixture units."""
    made = loads(context)
    return Schedule(
        "fixtures",
        "Fixtures",
        FIXTURE_COLUMNS,
        tuple(_fixture_row(f, made) for f in context.plumbing.fixtures),
        f"Drainage fixture units by {context.code.table('drainage_fixture_units').clause}.",
    )


def _fixture_row(fixture: Fixture, made: Loads) -> dict[str, object]:
    units = made.units[fixture]
    known = units is not None and units.dfu is not None
    basis = "; ".join(units.basis) if units else "not listed, and no trap to load it by"
    if known and units is not None and made.gives[fixture] != units.dfu:
        basis = "counted with the sink whose trap it shares"
    return {
        "element_id": fixture.element.guid,
        "tag": fixture.element.mark,
        "fixture": fixture.kind.replace("-", " ") or fixture.label,
        "storey": fixture.element.storey,
        "space": fixture.element.space,
        "trap_in": INTEGRAL if _is_integral(fixture) else fixture.trap_size_in,
        "drain_in": fixture.drain_size_in,
        "dfu": made.gives[fixture] if known else None,
        "basis": basis,
    }


def _is_integral(fixture: Fixture) -> bool:
    return fixture.trap is not None and fixture.trap.integral


def drain_schedule(context: Context) -> Schedule:
    """Every drain: what it is, its size, slope, length, load and capacity."""
    return Schedule(
        "drains",
        "Drains",
        DRAIN_COLUMNS,
        tuple(_drain_row(segment, context) for segment in context.plumbing.drains),
        "Trap arms are not in the capacity tables. Stacks under the IPC are judged by branch "
        "intervals.",
    )


def _drain_row(segment: DrainSegment, context: Context) -> dict[str, object]:
    made, allowed = loads(context), capacity(segment, context)
    length = segment.length_m
    return {
        "element_id": segment.first.guid,
        "drain": segment.first.label,
        "part": _part(segment, context),
        "storey": segment.first.storey,
        "size_in": segment.size_in,
        "slope_in_per_ft": _slope_in_per_ft(segment),
        "length_ft": None if length is None else length / M_PER_FT,
        "fixtures": int(made.fixtures[segment]),
        "dfu": made.carried[segment],
        "capacity_dfu": allowed.least if allowed and segment.is_drain else None,
    }


def _part(segment: DrainSegment, context: Context) -> str:
    """What a drain is to the building; pipe of the building drain that neither begins nor ends
    within the walls is sewer."""
    footprint = context.plumbing.surroundings.footprint
    if segment.part is not Part.BUILDING_DRAIN or footprint is None:
        return segment.part.value
    places = [[end.position for end in pipe.ends] for pipe in segment.pipe_elements]
    outside = [bool(p) and not any(at is None or footprint.holds(at) for at in p) for p in places]
    if outside and all(outside):
        return "building sewer"
    return "building drain and sewer" if any(outside) else segment.part.value


def _slope_in_per_ft(segment: DrainSegment) -> float | str | None:
    """Empty of upright pipe, None where it is not known."""
    if segment.vertical:
        return ""
    known = segment.vertical is False and segment.slope is not None
    return in_per_ft_from_slope(segment.slope) if known and segment.slope is not None else None
