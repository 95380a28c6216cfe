"""The schedule of storm drainage for the permit set."""

from ifclint.engineering.units import M_PER_FT, in_per_ft_from_slope
from ifclint.findings import Column, Schedule
from ifclint.packs import Context
from ifclint.plumbing import StormDrain
from ifclint.rules.storm.capacity import by_area, load_of, most, rows_for
from ifclint.rules.storm.section import StormSection


def storm_schedule(context: Context) -> Schedule:
    """Every leader and storm drain: size, slope, what comes down on it, what it may carry."""
    storm = context.plumbing.storm
    unit = "ft2" if by_area(context) else "gpm"
    columns = (
        Column("drain", "Leader or storm drain"), Column("storey", "Storey"),
        Column("size_in", "Size", "in"), Column("slope_in_per_ft", "Slope", "in/ft"),
        Column("length_ft", "Length", "ft"), Column("inlets", "Inlets"),
        Column("load", "Takes", unit), Column("capacity", "May take", unit),
    )  # fmt: skip
    note = "Roof areas at the rain of the job file." if unit == "ft2" else "Flows at its rain."
    rows = tuple(_row(drain, context) for drain in (storm.segments if storm else ()))
    return Schedule("storm", "Storm drainage", columns, rows, note)


def _row(drain: StormDrain, context: Context) -> dict[str, object]:
    storm, rate = context.plumbing.storm, context.job.section(StormSection).rate
    inlets = storm.through(drain) if storm else []
    load = load_of(inlets, rate, context) if rate is not None else None
    rows = rows_for(drain, inlets, context)
    row = next((r for r in rows if r.number("size_in") == drain.size_in), None)
    slope = drain.slope if drain.vertical is False else None
    return {
        "element_id": drain.first.guid,
        "drain": drain.first.label,
        "storey": drain.first.storey,
        "size_in": drain.size_in,
        "slope_in_per_ft": None if slope is None else in_per_ft_from_slope(slope),
        "length_ft": None if drain.length_m is None else drain.length_m / M_PER_FT,
        "inlets": len(inlets),
        "load": load.high if load is not None and load.is_told else None,
        "capacity": most(row, rate, context).value if row is not None and rate else None,
    }
