"""Schedules of the permit set: fixture units, lines, the pressure budget, hot water."""

from ifclint.engineering.friction import velocity_m_per_s
from ifclint.engineering.units import M3_PER_S_PER_GPM, M_PER_FT
from ifclint.findings import Column, Schedule
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.rules.supply.budget import METHODS, budget, critical, needed
from ifclint.rules.supply.demand import counted, demand, flows, units_text
from ifclint.rules.supply.heads import governing_m
from ifclint.rules.supply.hot import wait
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.solved_supply import psi
from ifclint.rules.supply.units import gives

CONNECTIONS = (
    Column("tag", "Tag"), Column("fixture", "Fixture"), Column("storey", "Storey"),
    Column("space", "Space"), Column("cold_in", "Cold", "in"), Column("hot_in", "Hot", "in"),
    Column("wsfu", "Water", "WSFU"),
)  # fmt: skip
FIXTURES = (
    Column("fixture", "Fixture"), Column("storey", "Storey"), Column("space", "Space"),
    Column("cold_wsfu", "Cold", "WSFU"), Column("hot_wsfu", "Hot", "WSFU"),
    Column("wsfu", "Total", "WSFU"), Column("branch_in", "Branch", "in"),
    Column("static_psi", "Static", "psi"), Column("residual_psi", "Residual", "psi"),
    Column("needed_psi", "Needs", "psi"), Column("basis", "Basis"),
)  # fmt: skip
SEGMENTS = (
    Column("line", "Line"), Column("service", "Service"), Column("storey", "Storey"),
    Column("size_in", "Size", "in"), Column("material", "Material"),
    Column("length_ft", "Length", "ft"), Column("equivalent_ft", "With fittings", "ft"),
    Column("wsfu", "Load", "WSFU"),
)  # fmt: skip
METERS = (
    Column("meter", "Meter"), Column("service", "Service"), Column("storey", "Storey"),
    Column("size_in", "Size", "in"),
)  # fmt: skip
FLOWING = Column("velocity_ft_per_s", "Velocity", "ft/s"), Column("loss_psi", "Loss", "psi")
BUDGET = Column("step", "Step"), Column("psi", "Pressure", "psi"), Column("source", "Source")
HOT_WATER = (
    Column("fixture", "Fixture"), Column("storey", "Storey"), Column("source", "From"),
    Column("length_ft", "Length", "ft"), Column("volume_gal", "Water in pipe", "gal"),
    Column("wait_s", "Wait", "s"),
)  # fmt: skip


def connection_schedule(context: Context) -> Schedule:
    """What every fixture is joined to; goes into the schedule of fixtures."""
    clause = context.code.table("water_supply_fixture_units").clause
    rows = tuple(_connection_row(f, context) for f in context.plumbing.supply.fixtures)
    note = f"Water supply fixture units by {clause}."
    return Schedule("fixtures", "Fixtures", CONNECTIONS, rows, note)


def _connection_row(fixture: WaterFixture, context: Context) -> dict[str, object]:
    return {
        "element_id": fixture.element.guid,
        "tag": fixture.element.mark,
        "fixture": fixture.kind.replace("-", " ") or fixture.element.label,
        "storey": fixture.element.storey,
        "space": fixture.element.space,
        "cold_in": _connection(fixture, COLD),
        "hot_in": _connection(fixture, HOT),
        "wsfu": counted(context).get(fixture),
    }


def _connection(fixture: WaterFixture, service: str) -> float | str | None:
    """The size of a connection; empty where the fixture has none of that service."""
    tap = fixture.tap(service)
    if tap is None:
        return ""
    return None if tap.segment is None else tap.segment.size_in


def fixture_schedule(context: Context) -> Schedule:
    """Every fixture that takes water: units, and the pressures at it."""
    clause = context.code.table("water_supply_fixture_units").clause
    return Schedule(
        "water-fixtures",
        "Water pressure at the fixtures",
        FIXTURES,
        tuple(_fixture_row(f, context) for f in context.plumbing.supply.fixtures),
        f"Fixture units by {clause}; residual pressures at the probable demand. A blank pressure "
        "is not known.",
    )


def _fixture_row(fixture: WaterFixture, context: Context) -> dict[str, object]:
    made, want = demand(context), needed(fixture, context)
    units, basis = made.units[fixture], "joined to no water piping, and counted in no pipe"
    found: dict[str, object] = dict.fromkeys(column.key for column in FIXTURES)
    if fixture.joined:
        basis = units_text(fixture, made)
        tap, at = solution(context).worst(fixture)
        sides = {t.service: gives(fixture, t, units) for t in fixture.fed if units is not None}
        found |= {
            "cold_wsfu": sides.get(COLD, "" if fixture.tap(COLD) is None else None),
            "hot_wsfu": sides.get(HOT, "" if fixture.tap(HOT) is None else None),
            "branch_in": None if tap.segment is None else tap.segment.size_in,
            "static_psi": None if at.static_missing else at.static_psi,
            "residual_psi": None if at.missing else at.residual_psi,
        }
    return {
        **found,
        "element_id": fixture.element.guid,
        "fixture": fixture.label,
        "storey": fixture.element.storey,
        "space": fixture.element.space,
        "wsfu": counted(context).get(fixture),
        "needed_psi": None if want is None else want.psi,
        "basis": basis,
    }


LOOPED = " In loops what passes at the most, both paths around losing the same."


def segment_schedule(context: Context) -> Schedule:
    """Every line: load, flow by both methods where the code has both, velocity and loss."""
    made = demand(context)
    both = "low_demand" in context.code.tables
    methods = [("curve_gpm", "By the curve", flows(made, "hunter"))]
    if both:
        methods.append(("low_demand_gpm", "Low-demand", flows(made, "low-demand")))
    chosen = context.job.water.demand_method
    fallback = (
        " The adopted code has no low-demand method: the curve was used."
        if chosen == "low-demand" and not both
        else ""
    )
    return Schedule(
        "water-lines",
        "Water lines",
        (*SEGMENTS, *(Column(key, title, "gpm") for key, title, _ in methods), *FLOWING),
        tuple(
            _segment_row(segment, context, {key: found for key, _, found in methods})
            for segment in context.plumbing.supply.segments
        ),
        f"Velocity and loss at the demand by {_method_words(chosen if both else 'hunter')}; "
        f"friction by {METHODS[context.job.water.friction]}, copper tube that does not "
        f"tell its type as type {context.job.water.copper_type}.{fallback}"
        + (LOOPED if solution(context).looped else ""),
    )


def meter_schedule(context: Context) -> Schedule:
    """The water meters, with those of gas one schedule."""
    meters = [e for e in context.plumbing.supply.elements if e.role is Role.METER]
    water = (e for e in meters if e.system in (System.COLD_WATER, None) and e.kind != "gas")
    return Schedule("meters", "Meters", METERS, tuple(_meter_row(e) for e in water))


def _meter_row(meter: Element) -> dict[str, object]:
    return {
        "element_id": meter.guid, "meter": meter.label, "service": "water",
        "storey": meter.storey, "size_in": meter.size_in,
    }  # fmt: skip


def _method_words(method: str) -> str:
    return "the low-demand method" if method == "low-demand" else "the code's curve"


def _segment_row(
    segment: WaterSegment, context: Context, methods: dict[str, list[float | None]]
) -> dict[str, object]:
    made, solved = demand(context), solution(context)
    found, flow = solved.loss[segment.number], solved.flow_m3_per_s[segment.number]
    length = segment.length_m
    speed = (
        velocity_m_per_s(flow, found.inside_m) / M_PER_FT
        if flow is not None and found.inside_m is not None
        else None
    )
    return {
        "element_id": segment.first.guid,
        "line": segment.first.label,
        "service": segment.service,
        "storey": segment.first.storey,
        "size_in": segment.size_in,
        "material": segment.material,
        "length_ft": None if length is None else length / M_PER_FT,
        "equivalent_ft": None if found.inside_m is None else found.equivalent_m / M_PER_FT,
        "wsfu": made.wsfu[segment.number],
        **{
            key: None if (q := values[segment.number]) is None else q / M3_PER_S_PER_GPM
            for key, values in methods.items()
        },
        "velocity_ft_per_s": speed,
        "loss_psi": None if found.unknown is not None or flow is None else psi(found.total_pa),
    }


def budget_schedule(context: Context) -> Schedule:
    """The pressure from the main to the critical fixture, step by step."""
    worst = critical(context)
    if worst is None:
        note = "No pressure of the main is given, so nothing can be set against the losses."
        return Schedule("pressure-budget", "Pressure budget", BUDGET, (), note)
    fixture, tap, spare = worst.fixture, worst.tap, worst.spare_psi
    want = needed(fixture, context)
    steps = budget(tap, solution(context).at(tap), want, context)
    rows: tuple[dict[str, object], ...] = tuple(
        {"element_id": fixture.element.guid, "step": s.text, "psi": s.value, "source": s.source}
        for s in steps
    )
    per_length = _per_length(context)
    return Schedule(
        "pressure-budget", "Pressure budget", BUDGET, rows,
        f"Critical is the {tap.service} connection of {fixture.label}, with {spare:.1f} psi to "
        f"spare.{per_length}",
    )  # fmt: skip


def _per_length(context: Context) -> str:
    """The friction that may be lost on each 100 ft of the way to the critical fixture."""
    worst, solved = critical(context), solution(context)
    if worst is None or worst.tap.segment is None:
        return ""
    spare, losses = worst.spare_psi, list[Loss]()
    for segment, _, lost in solved.to_source(worst.tap.segment):
        losses.append(lost)
        if governing_m(solved, segment) is not None:
            losses.clear()  # what is lost before a regulator that governs takes nothing away
    feet = sum(lost.equivalent_m for lost in losses) / M_PER_FT
    friction = sum(psi(lost.friction_pa) for lost in losses)
    if feet <= 0:
        return ""
    return (
        f" Available for friction: {(spare + friction) / feet * 100:.2f} psi on each 100 ft of the "
        f"{feet:.0f} ft of pipe and fittings on its way; used: {friction / feet * 100:.2f}."
    )


def hot_schedule(context: Context) -> Schedule:
    """How far, how much water and how long to wait, for every hot connection."""
    rows: list[dict[str, object]] = []
    for fixture in context.plumbing.supply.fixtures:
        tap = fixture.tap(HOT)
        found = wait(tap, context) if tap is not None else None
        if found is None:
            continue
        rows.append(
            {
                "element_id": fixture.element.guid,
                "fixture": fixture.label,
                "storey": fixture.element.storey,
                "source": found.source,
                "length_ft": found.length_m / M_PER_FT,
                "volume_gal": found.volume_gal,
                "wait_s": found.seconds,
            }
        )
    groups = context.plumbing.supply.heater_groups
    elements = context.plumbing.supply.elements
    said = "; ".join(f"{elements[i].label} {how}" for i, how in groups.items())
    return Schedule(
        "hot-water",
        "Hot water",
        HOT_WATER,
        tuple(rows),
        f"Wait at the flow of the fixture, or 1.5 gpm. Heaters: {said or 'none modelled'}.",
    )
