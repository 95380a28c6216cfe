"""The UPC's table of meters and supplies: what a supply may carry by pressure and length."""

from __future__ import annotations

from ifclint.codes import Row
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import NOT_APPLICABLE, PASS, Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.missing import unverified
from ifclint.rules.supply.pressure_model import psi, setting_pa, solution
from ifclint.rules.supply.shutoff import first_lines


def table_pressure_psi(
    static_psi: float, rise_ft: float, psi_per_ft: float, setting_psi: float | None, share: float
) -> float:
    """What the table calls available: static, or the share of a regulator's setting, less height.

    >>> table_pressure_psi(70.0, 20.0, 0.5, None, 0.8)
    60.0
    """
    source = static_psi if setting_psi is None else min(static_psi, share * setting_psi)
    return source - psi_per_ft * rise_ft


def table_row(
    context: Context, pressure_psi: float, meter_in: float, supply_in: float
) -> Row | None:
    """The row of a range of pressure, a meter and a supply; None where the table has none."""
    for row in context.code.table("meter_and_supply").rows:
        to = row.number_or_none("pressure_to_psi")
        in_range = row.number("pressure_from_psi") <= round(pressure_psi) and (
            to is None or round(pressure_psi) <= to
        )
        if in_range and row.number("meter_in") == meter_in and row.number("supply_in") == supply_in:
            return row
    return None


def table_units(row: Row, length_ft: float) -> tuple[float, float] | None:
    """(length of the column, fixture units): the column of the next longer length."""
    columns = sorted(
        float(name.removeprefix("wsfu_").removesuffix("_ft"))
        for name in row.values
        if name.startswith("wsfu_")
    )
    column = next((c for c in columns if c >= length_ft - 1e-6), None)
    return None if column is None else (column, row.number(f"wsfu_{column:g}_ft"))


@rule(
    title="Supply within the table of meters and supplies",
    subject=WaterService,
    clauses={"upc": "Table 610.4"},
    severity=Severity.LOW,
    needs=("source_known",),
)
def supply_by_table(service: WaterService, context: Context) -> Answer:
    """The simple way to size a supply, beside the calculation of every pipe.

    The fixture units of the building against what the table lets its meter and supply carry at
    the pressure left after height (80 % of a regulator's setting) and the length to the most
    remote fixture. The calculation is accepted in its place, so what does not pass here is said as
    advice.
    """
    made, solved, supply = demand(context), solution(context), service.supply
    segments = first_lines(service)
    sizes = [
        segment.size_in for segment in segments if segment.size_in is not None and segment.pipes
    ]
    meter = next(
        (e for segment in segments for e in segment.elements if e.role is Role.METER), None
    )
    if not segments or not supply.fixtures:
        return NOT_APPLICABLE
    if solved.main_pa is None:
        return unverified(
            "The supply cannot be looked up in the table", solved, "water.static_pressure",
            click=service.element_ids,
        )  # fmt: skip
    if meter is None or meter.size_in is None or not sizes:
        return Answer(
            Outcome.UNVERIFIED,
            "The table needs the nominal sizes of meter and building supply.",
            remedy="Model the meter, and give meter and supply a nominal size.",
            elements=(meter.guid if meter is not None else service.element.guid,),
        )
    table = context.code.table("meter_and_supply")
    setting = _setting_psi(service, context)
    share = context.code.limit("supply_regulated_share")
    head = context.code.limit("head_psi_per_ft_table")
    high = max(solved.at(t).elevation_m for f in supply.fixtures for t in f.taps)
    rise = (high - solved.main_z_m) / M_PER_FT
    available = table_pressure_psi(psi(solved.main_pa), rise, head.value, setting, share.value)
    length = max((t.connection.length_m or 0.0) for f in supply.fixtures for t in f.taps) / M_PER_FT
    units = sum(made.wsfu[x.number] for x in supply.segments if x.above is None)
    supply_in = max(sizes)  # the table's size is that behind the meter
    row = table_row(context, available, meter.size_in, supply_in)
    found = table_units(row, length) if row is not None else None
    steps = [
        Step("Static pressure of the main", psi(solved.main_pa), "psi", "job file"),
        *([Step(f"{share.value:.0%} of the regulator's setting", share.value * setting, "psi",
                share.clause)] if setting is not None else []),
        Step(f"less {head.value:g} psi a foot for {rise:.1f} ft: available", available, "psi",
             head.clause),
        Step("Developed length to the most remote fixture", length, "ft"),
        Step("Fixture units of the building", units, "WSFU"),
    ]  # fmt: skip
    if row is None or found is None:
        return Answer(
            Outcome.ADVISORY,
            f"The table lists no {trade_size(meter.size_in)} meter with {trade_size(supply_in)} "
            f"supply at {available:.0f} psi and {length:.0f} ft; the calculation alone speaks.",
            Measure(units, "WSFU"), None,
            "Rely on the calculated pressures, or choose a meter and supply of the table.",
            tuple(steps),
        )  # fmt: skip
    column, most = found
    steps.append(Step(
        f"{trade_size(meter.size_in)} meter, {trade_size(supply_in)} supply, column of "
        f"{column:.0f} ft", most, "WSFU", table.clause,
    ))  # fmt: skip
    if units <= most:
        return PASS
    return Answer(
        Outcome.ADVISORY,
        f"By the table this supply carries {number_text(most)} WSFU; the building has "
        f"{number_text(units)}.",
        Measure(units, "WSFU"), Measure(most, "WSFU", "at most"),
        _remedy(context, available, length, units), tuple(steps), clause=row.clause,
    )  # fmt: skip


def _setting_psi(service: WaterService, context: Context) -> float | None:
    """The setting of the first regulator; None where there is none, or it is not told."""
    elements = (service.supply.elements[i] for i in service.supply.distribution.order)
    settings = [setting_pa(e, context) for e in elements if e.kind == "pressure-reducing"]
    return next((psi(s) for s in settings if s is not None), None)


def _remedy(context: Context, available: float, length: float, units: float) -> str:
    """The smallest meter and supply of the table that carry the load."""
    rows = sorted(
        context.code.table("meter_and_supply").rows,
        key=lambda r: (r.number("supply_in"), r.number("meter_in")),
    )
    for row in rows:
        fits = table_row(context, available, row.number("meter_in"), row.number("supply_in"))
        found = table_units(row, length) if fits is row else None
        if found is not None and found[1] >= units:
            return (
                f"By the table, a {trade_size(row.number('meter_in'))} meter with a "
                f"{trade_size(row.number('supply_in'))} supply; or rely on the pressures "
                "calculated."
            )
    return "Rely on the calculated pressures: the table lists nothing large enough."


RULES = (supply_by_table,)
