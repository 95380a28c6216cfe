"""The calculation summary for the permit: one printed page of loads and sizes with their sources.

Every figure is taken from the schedules of the review; what no schedule holds is said to be so.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ifclint.codes import load
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.units import slope_from_in_per_ft
from ifclint.engineering.wording import number_text, slope_text, trade_size
from ifclint.errors import InputError
from ifclint.findings import Column, Outcome, Review, Schedule
from ifclint.ifc.elements import without_number
from ifclint.report.arrange import counting, numbered, plain, with_outcome
from ifclint.report.exchange.sources import SourceLines

Row = dict[str, object]
CAPACITY = {  # part of the drainage -> the table of what it may carry, where several are printed
    **dict.fromkeys(
        ("building sewer", "building drain", "branch of the building drain"),
        "building_drain_capacity",
    ),
    **dict.fromkeys(("stack", "horizontal branch"), "branch_and_stack_capacity"),
}
HEATERS_SHOWN = 6  # kinds
STEP_CHARACTERS = 110
JOB_WATER = ("static_pressure", "residual_pressure", "flow_at_residual", "meter_loss")
JOB_GAS = ("delivery_pressure", "allowed_drop", "heating_value", "specific_gravity")


@dataclass(frozen=True)
class SummaryLine:
    """One figure: what it is of, the figure, what the code allows or asks, and where from."""

    item: str
    figure: str
    allowed: str = ""
    source: str = ""


@dataclass(frozen=True)
class SummaryPart:
    title: str
    lines: tuple[SummaryLine, ...]
    short: bool = False  # its lines stand in two columns


@dataclass(frozen=True)
class FixtureLine:
    kind: str
    count: int
    dfu: float
    wsfu: float
    unknown: frozenset[str] = frozenset()  # of these, what is not known of any


def summary_bytes(review: Review, _: SourceLines) -> bytes:
    from ifclint.report.pages import environment

    page = environment(Path(__file__).parents[1] / "templates").get_template("summary.html.j2")
    items = counting(numbered(review))
    text = page.render(
        review=review,
        parts=parts(review),
        fixtures=fixture_lines(review),
        units=unit_columns(review),
        corrections=_many(len(review.corrections), "correction"),
        questions=_many(len(with_outcome(items, Outcome.UNVERIFIED)), "question"),
        variances=[v for v in review.variances if v.status == "applied"],
        plain=plain,
        number=number_text,
    )
    return text.encode("utf-8", "replace")


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def parts(review: Review) -> list[SummaryPart]:
    """Drainage, vents, water, its pressure, gas and heaters, as far as the review has them."""
    made = [
        ("Building drain and sewer", _drains(review), False),
        ("Vents", _vents(review), False),
        ("Water service", _water(review), False),
        ("Pressure budget of the critical fixture", _budget(review), True),
        ("Fuel gas", _gas(review), False),
        ("Water heaters", _heaters(review), False),
    ]
    none = (SummaryLine("Nothing in the model, or not reviewed", ""),)
    return [SummaryPart(title, tuple(lines) or none, short) for title, lines, short in made]


def fixture_lines(review: Review) -> list[FixtureLine]:
    """Fixtures by kind with the sums of their units, then all."""
    kinds: dict[str, list[Row]] = {}
    for row in _rows(review, "fixtures"):
        kinds.setdefault(plain(str(row.get("fixture", ""))), []).append(row)
    lines = [
        FixtureLine(
            kind,
            _count(rows),
            _sum(rows, "dfu"),
            _sum(rows, "wsfu"),
            frozenset(key for key in ("dfu", "wsfu") if _none_known(rows, key)),
        )
        for kind, rows in kinds.items()
    ]
    everything = FixtureLine(
        "all, each by itself", sum(f.count for f in lines), sum(f.dfu for f in lines),
        sum(f.wsfu for f in lines),
    )  # fmt: skip
    return [*lines, everything] if lines else []


def unit_columns(review: Review) -> list[tuple[str, str]]:
    """The columns of units that a pack of this review fills, each with its title."""
    shown = {column.key for column in _columns(review, "fixtures")}
    return [(key, key.upper()) for key in ("dfu", "wsfu") if key in shown]


def _count(rows: Sequence[Row]) -> int:
    """How many fixtures rows of one kind are: a standpipe and the washer that hangs in it, of which
    one drains and the other takes water, are one."""
    drain = {n for n, row in enumerate(rows) if row.get("dfu", "") != ""}
    takes = {n for n, row in enumerate(rows) if row.get("wsfu", "") != ""}
    return max(len(drain), len(takes)) if not drain & takes else len(rows)


def _none_known(rows: Sequence[Row], key: str) -> bool:
    """Whether a column is for such rows, and no number is known in it."""
    values = [row.get(key, "") for row in rows]
    return None in values and _sum(rows, key) == 0


def _drains(review: Review) -> Iterator[SummaryLine]:
    rows = _rows(review, "drains")
    for name in CAPACITY:
        of_part = [row for row in rows if _is_of(str(row.get("part")), name)]
        if not of_part:
            if name == "building sewer" and rows:
                yield SummaryLine("Building sewer", "not told apart in the model")
            continue
        row = max(
            of_part, key=lambda r: (or_zero(_number(r, "dfu")), -or_zero(_number(r, "size_in")))
        )
        slope = _number(row, "slope_in_per_ft")
        fall = (
            ""
            if name == "stack" or slope is None
            else f" at {slope_text(slope_from_in_per_ft(slope))}"
        )
        capacity = _number(row, "capacity_dfu")
        yield SummaryLine(
            f"{name.capitalize()}, the most loaded",
            f"{_size(row)}{fall}; {_amount(row, 'dfu', 'DFU')}",
            f"{number_text(capacity)} DFU" if capacity is not None else "",
            _model_and(review, "drain_capacity", CAPACITY[name]),
        )


def _is_of(part: str, name: str) -> bool:
    """Whether a row's part is one, or holds some of it: "building drain and sewer"."""
    if name.startswith("building"):
        return part.startswith("building") and name.removeprefix("building ") in part
    return part == name


def _vents(review: Review) -> Iterator[SummaryLine]:
    rows = _rows(review, "vents")
    if not rows:
        return
    source = _model_and(review, "vent_capacity", "stack_vent_length")
    sizes: dict[float, float] = {}
    for row in rows:
        size = _number(row, "size_in")
        if size is not None:
            sizes[size] = sizes.get(size, 0.0) + 1
    listed = ", ".join(f"{trade_size(s)} ({n:g})" for s, n in sorted(sizes.items(), reverse=True))
    yield SummaryLine("Vents by size (runs)", listed, "", "model")
    for title, key in (("serving most", "dfu"), ("longest", "length_ft")):
        row = max(rows, key=lambda r: or_zero(_number(r, key)))
        figure = f"{_size(row)}; {_amount(row, 'dfu', 'DFU')}, {_amount(row, 'length_ft', 'ft')}"
        yield SummaryLine(f"Vent {title}", figure, "", source)


def _water(review: Review) -> Iterator[SummaryLine]:
    rows = _rows(review, "water-lines")
    if not rows:
        return
    most = max(or_zero(_number(row, "wsfu")) for row in rows)
    service = [row for row in rows if or_zero(_number(row, "wsfu")) == most]
    source = _model_and(review, "water_supply_fixture_units")
    yield SummaryLine("Load of the building", f"{number_text(most)} WSFU", "", source)
    flows = [c.key for c in _columns(review, "water-lines") if c.unit == "gpm"]
    for key in flows:
        title = next(c.title for c in _columns(review, "water-lines") if c.key == key)
        if _number(service[0], key) is not None:
            curve = _tables(review, "demand" if key == "curve_gpm" else "low_demand")
            yield SummaryLine(
                f"Demand, {title.lower()}", _amount(service[0], key, "gpm"), "", curve
            )
    yield from _meters(review, "water")
    for row in service[:3]:
        figure = f"{_size(row)} {plain(str(row.get('material', '')))}, "
        figure += f"{_amount(row, 'length_ft', 'ft')}, {_amount(row, 'velocity_ft_per_s', 'ft/s')}"
        yield SummaryLine("Building supply", figure, "", "model")
    if stated := _stated(review, "water", JOB_WATER):
        yield stated


def _meters(review: Review, service: str) -> Iterator[SummaryLine]:
    rows = [row for row in _rows(review, "meters") if row.get("service") == service]
    sizes = Counter(_size(row) for row in rows)
    told = ", ".join(f"{size} ({n})" if n > 1 else size for size, n in sizes.items())
    yield SummaryLine(f"{service.capitalize()} meter", told or "none in the model", "", "model")


def _stated(review: Review, section: str, keys: Sequence[str]) -> SummaryLine | None:
    """What the job file states of a service, on one line; None where it states nothing."""
    job = review.job.get(section)
    told = [(k, job[k]) for k in keys if k in job] if isinstance(job, dict) else []
    if not told:
        return None
    names = ", ".join(key.replace("_", " ") for key, _ in told).capitalize()
    return SummaryLine(names, ", ".join(plain(str(value), 24) for _, value in told), "", "job file")


def _budget(review: Review) -> Iterator[SummaryLine]:
    """The steps in their order; those of one source that follow one another as one."""
    waiting: list[Row] = []
    for row in [*_rows(review, "pressure-budget"), None]:
        source = row.get("source") if row is not None else None
        if waiting and (row is None or not source or source != waiting[0].get("source")):
            yield _budget_line(waiting)
            waiting = []
        if row is not None:
            waiting.append(row)


def _budget_line(rows: Sequence[Row]) -> SummaryLine:
    source = plain(str(rows[0].get("source") or "")) or "model, job file"
    figure = f"{_sum(rows, 'psi'):.1f} psi"
    if len(rows) > 1:
        return SummaryLine(f"{len(rows)} lines with fittings", figure, "", source)
    step = str(rows[0].get("step", "")).partition(": ")[0]
    return SummaryLine(plain(step, STEP_CHARACTERS), figure, "", source)


def _gas(review: Review) -> Iterator[SummaryLine]:
    appliances, pipes = _rows(review, "gas-appliances"), _rows(review, "gas-pipes")
    if not appliances and not pipes:
        return
    known = [row for row in appliances if _number(row, "input_btu_h") is not None]
    missing = len(appliances) - len(known)
    unknown = f"; {missing} of unknown input" if missing else ""
    load_text = f"{number_text(_sum(known, 'input_btu_h'))} Btu/h{unknown}"
    bases = ", ".join(dict.fromkeys(_origin(str(r.get("basis", ""))) for r in known))
    yield SummaryLine(f"Connected load, {len(appliances)} appliances", load_text, "", bases)
    yield from _meters(review, "gas")
    if pipes:
        row = max(pipes, key=lambda r: or_zero(_number(r, "load")))
        unit = plain(str(row.get("unit", "")))
        figure = f"{_size(row)} {plain(str(row.get('material', '')))}; {_amount(row, 'load', unit)}"
        note = plain(_note(review, "gas-pipes").partition(";")[0], 110)
        yield SummaryLine("Gas main, at the meter", figure, _amount(row, "capacity", unit), note)
        longest = max(or_zero(_number(r, "length_ft")) for r in pipes)
        yield SummaryLine("Longest length", f"{number_text(longest)} ft", "", "model")
    if stated := _stated(review, "gas", JOB_GAS):
        yield stated


def _origin(basis: str) -> str:
    if basis.startswith("usual"):
        return "usual input by the code's table"
    return "job file" if basis.startswith("job file") else "model"


def _heaters(review: Review) -> Iterator[SummaryLine]:
    """Those that are alike on one line, counted; what there is no room for is counted too."""
    alike: dict[tuple[str, str], int] = Counter()
    for row in _rows(review, "water-heaters"):
        facts = [
            f"storage {_amount(row, 'stored_gal', 'gal')}",
            f"input {_amount(row, 'input_kbtuh', 'kBtu/h')}",
            f"relief {_size(row, 'relief_in')}",
        ]
        if row.get("energy") != "electric":
            facts.append(f"vent {_size(row, 'vent_in')}")
        name = without_number(str(row.get("heater", "")))
        alike[plain(name, 40), ", ".join(facts)] += 1
    shown = list(alike.items())
    for (name, facts_told), count in shown[:HEATERS_SHOWN]:
        label = f"{count} x {name}" if count > 1 else name
        yield SummaryLine(label, facts_told, "", "model")
    if left := sum(count for _, count in shown[HEATERS_SHOWN:]):
        yield SummaryLine(f"and {left} more", "see the report", "", "")


def _rows(review: Review, key: str) -> list[Row]:
    return [dict(row) for schedule in _schedule(review, key) for row in schedule.rows]


def _columns(review: Review, key: str) -> list[Column]:
    return [column for schedule in _schedule(review, key) for column in schedule.columns]


def _note(review: Review, key: str) -> str:
    return " ".join(schedule.note for schedule in _schedule(review, key))


def _schedule(review: Review, key: str) -> Iterable[Schedule]:
    return (schedule for schedule in review.schedules if schedule.key == key)


def _number(row: Row, key: str) -> float | None:
    value = row.get(key)
    return float(value) if isinstance(value, (int, float)) else None


def _sum(rows: Iterable[Row], key: str) -> float:
    return sum(value for row in rows if (value := _number(row, key)) is not None)


def _amount(row: Row, key: str, unit: str) -> str:
    value = _number(row, key)
    return "not known" if value is None else f"{number_text(value, 3)} {unit}"


def _size(row: Row, key: str = "size_in") -> str:
    size, needed = _number(row, key), _number(row, "needed_in")
    drawn = trade_size(size) if size is not None else "size not known"
    if needed is None or needed == size or size is None or needed < size:
        return drawn
    return f"{drawn} drawn, {trade_size(needed)} needed"


def _model_and(review: Review, *keys: str) -> str:
    return "; ".join(filter(None, ("model", _tables(review, *keys))))


def _tables(review: Review, *keys: str) -> str:
    """The tables of the adopted code by their clauses, and how many of their rows were recalled."""
    try:
        code = load(review.adopted_code.id)
    except InputError:
        return review.adopted_code.title
    clauses = []
    for key in keys:
        if key in code.tables:
            table = code.table(key)
            recalled = table.rows_from_memory
            told = f" ({recalled} of {len(table.rows)} rows from memory)" if recalled else ""
            clauses.append(f"{table.clause}{told}")
    return "; ".join(dict.fromkeys(clauses))
