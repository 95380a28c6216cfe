"""The UPC's table of meters and supplies: what a supply may carry by pressure and length."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ifclint.checks import NOT_APPLICABLE, Fact, advise, check, not_known
from ifclint.codes import Row
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Measure, Outcome, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import WaterService
from ifclint.rules.supply.beginnings import setting_pa
from ifclint.rules.supply.demand import demand, is_counted
from ifclint.rules.supply.heads import NO_STATIC
from ifclint.rules.supply.missing import left_open
from ifclint.rules.supply.pressure_model import solution
from ifclint.rules.supply.shutoff import before_branches
from ifclint.rules.supply.solved_supply import psi
from ifclint.rules.supply.static_pressure import regulators


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
    series = row.series("wsfu")
    column = next((c for c in sorted(series) if at_most(length_ft, c, "ft")), None)
    return None if column is None else (column, series[column])


SIZES = Fact(
    "The table needs the nominal sizes of meter and building supply.",
    "Model the meter, and give meter and supply a nominal size.",
)


@rule(
    title="Supply within the table of meters and supplies",
    clauses={"upc": "Table 610.4"},
    severity=Severity.LOW,
    needs=("source_known",),
    of_load=True,
)
def supply_by_table(service: WaterService, context: Context) -> Answer:
    """The simple way to size a supply, beside the calculation of every pipe.

    The fixture units of all that one meter feeds against what the table lets it and its supply
    carry at the pressure left after height (80 % of a regulator's setting) and the length to the
    most remote fixture of these that is counted; where the piping of two meters meets, each is
    looked up with all that both feed. The calculation is accepted in its place, so what does not
    pass here is said as advice. A private source has no meter and no street to enter the table
    with.
    """
    solved, first = solution(context), before_branches(service)
    if not first or not _taps(service, service.supply.fixtures, context) or service.is_private:
        return NOT_APPLICABLE
    if solved.main_pa is None:
        message = "The supply cannot be looked up in the table"
        return left_open(message, NO_STATIC, context, service.element_ids)
    meter = next((e for e in first if e.role is Role.METER), None)
    sizes = [e.size_in for e in first if e.role is Role.PIPE and e.size_in is not None]
    if meter is None or meter.size_in is None or not sizes:
        return not_known(SIZES, elements=[(meter or service.element).guid])
    entry = _entry(service, context, solved.main_pa, meter.size_in, max(sizes))
    return _by_row(context, entry)


def _by_row(context: Context, entry: TableEntry) -> Answer:
    """The fixture units that a supply feeds against the row and column of the table."""
    row = table_row(context, entry.pressure_psi, entry.meter_in, entry.supply_in)
    found = table_units(row, entry.length_ft) if row is not None else None
    sized = f"{trade_size(entry.meter_in)} meter"
    units = Measure(entry.units, "WSFU")
    if row is None or found is None:
        return advise(
            f"The table lists no {sized} with {trade_size(entry.supply_in)} supply at "
            f"{entry.pressure_psi:.0f} psi and {entry.length_ft:.0f} ft; the calculation alone "
            "speaks.",
            "Rely on the calculated pressures, or choose a meter and supply of the table.",
            steps=entry.steps, measured=units,
        )  # fmt: skip
    column, most = found
    column_words = f"{sized}, {trade_size(entry.supply_in)} supply, column of {column:.0f} ft"
    return check(
        entry.units,
        at_most=row.limit(f"wsfu_{column:g}_ft", "WSFU"),
        message=f"By the table this supply carries {number_text(most)} WSFU; it feeds "
        f"{number_text(entry.units)}.",
        remedy=lambda: _remedy(context, entry),
        steps=entry.steps,
        limit_step=column_words,
        wrong=Outcome.ADVISORY,
    )


@dataclass(frozen=True)
class TableEntry:
    """What the table is entered with, and the arithmetic that led there."""

    meter_in: float
    supply_in: float  # the table's size is that behind the meter
    pressure_psi: float
    length_ft: float
    units: float
    steps: tuple[Step, ...]


def _entry(
    service: WaterService, context: Context, main_pa: float, meter_in: float, supply_in: float
) -> TableEntry:
    share = context.code.limit("supply_regulated_share")
    head = context.code.limit("head_psi_per_ft_table")
    setting = _setting_psi(service, context)
    highest_m, length_m, units = _remotest(service, context)
    rise = (highest_m - solution(context).main_z_m) / M_PER_FT
    available = table_pressure_psi(psi(main_pa), rise, head.value, setting, share.value)
    length = length_m / M_PER_FT
    regulated = [] if setting is None else [
        Step(f"{share.value:.0%} of the regulator's setting", share.value * setting, "psi",
             share.clause)
    ]  # fmt: skip
    steps = (
        Step("Static pressure of the main", psi(main_pa), "psi", "job file"),
        *regulated,
        Step(f"less {head.value:g} psi a foot for {rise:.1f} ft: available", available, "psi",
             head.clause),
        Step("Developed length to the most remote fixture", length, "ft"),
        Step("Fixture units it feeds", units, "WSFU"),
    )  # fmt: skip
    return TableEntry(meter_in, supply_in, available, length, units, steps)


def _remotest(service: WaterService, context: Context) -> tuple[float, float, float]:
    """The elevation of the highest connection and the developed length to the most remote one (m),
    of fixtures of a service that are counted, and the fixture units that it feeds."""
    supply, solved = service.supply, solution(context)
    counted = [fixture for fixture in supply.fixtures if is_counted(fixture, context)]
    taps = _taps(service, counted, context) or _taps(service, supply.fixtures, context)
    wsfu = demand(context).wsfu
    first = [line for line in supply.segments if line.above is None]
    return (
        max(solved.at(tap).elevation_m for tap in taps),
        max(or_zero(tap.connection.length_m) for tap in taps),
        sum(wsfu[line.number] for line in first if _feeds(service, line.indexes[0], context)),
    )


def _taps(service: WaterService, fixtures: Iterable[WaterFixture], context: Context) -> list[Tap]:
    """The connections of some fixtures that a service feeds."""
    taps = (tap for fixture in fixtures for tap in fixture.taps)
    return [tap for tap in taps if _feeds(service, tap.connection.up, context)]


def _feeds(service: WaterService, index: int, context: Context) -> bool:
    """Whether an element is of a service, or of another whose piping meets that of this."""
    together = _meeting(context).get(service.head, frozenset())
    return service.holds(index) or service.supply.distribution.roots[index] in together


@derived
def _meeting(context: Context) -> dict[int, frozenset[int]]:
    """The sources whose piping meets that of another, and with each all of these."""
    made = context.plumbing.supply.distribution
    found: dict[int, frozenset[int]] = {}
    for loop in made.loops:
        met = {made.roots[i] for i in (*loop.one_path, *loop.other_path, loop.meets)}
        both = met.union(*(found.get(head, ()) for head in met))
        if len(both) > 1:
            found |= dict.fromkeys(both, frozenset(both))
    return found


def _setting_psi(service: WaterService, context: Context) -> float | None:
    """The setting of the first regulator of a service; None where there is none, or it is not
    stated."""
    own = (each for each in regulators(context) if _feeds(service, each.line[0], context))
    settings = [setting_pa(each.valve, context) for each in own]
    return next((psi(s) for s in settings if s is not None), None)


def _remedy(context: Context, entry: TableEntry) -> str:
    """The smallest meter and supply of the table that carry the load."""
    rows = context.code.table("meter_and_supply").rows
    for row in sorted(rows, key=lambda r: (r.number("supply_in"), r.number("meter_in"))):
        meter, supply = row.number("meter_in"), row.number("supply_in")
        fits = table_row(context, entry.pressure_psi, meter, supply) is row
        found = table_units(row, entry.length_ft) if fits else None
        if found is not None and at_most(entry.units, found[1], "WSFU"):
            return (
                f"By the table, a {trade_size(meter)} meter with a {trade_size(supply)} supply; or "
                "rely on the pressures calculated."
            )
    return "Rely on the calculated pressures: the table lists nothing large enough."
