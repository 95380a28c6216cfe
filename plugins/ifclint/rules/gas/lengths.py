"""The length by which every run of gas pipe is sized.

By longest length, that from the source to the most remote appliance of all (or capped outlet whose
load the job file tells); hybrid, that from where the zone of one pressure begins to its farthest
appliance, outlet or regulator; by branch length, the same for the runs on that path, and for the
others that to their own most remote end.
"""

from collections.abc import Mapping

from ifclint.checks import given
from ifclint.engineering.arithmetic import largest
from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.elements import Element
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.gas_piping import GasOutlet, GasZone
from ifclint.plumbing.gas.inputs import outlet_inputs

METHODS = {
    "longest-length": "longest length", "branch-length": "branch length",
    "hybrid": "hybrid pressure",
}  # fmt: skip
AS_TEE = frozenset({"tee", "cross", "wye"})
AS_QUARTER = frozenset({"bend", "quarter-bend", "long-sweep", "short-sweep"})


def method_of(context: Context) -> str:
    """The method of the job file; else longest length, which behind a regulator is hybrid."""
    piping = context.plumbing.gas
    stated = context.job.gas.method
    if stated:
        return stated
    return "hybrid" if piping and piping.regulators else "longest-length"


def lengths_of(context: Context, extra: Mapping[GasSegment, float]) -> dict[GasSegment, float]:
    """The length each run is sized by, with the fittings on the path where they count."""
    piping, method = given(context.plumbing.gas), method_of(context)
    if method == "longest-length":
        ends: list[GasAppliance | GasOutlet] = [*piping.appliances, *outlet_inputs(context)]
        lengths = [_far(e.length_m, e.segments, extra) for e in ends if e.length_m is not None]
        return dict.fromkeys(piping.segments, largest(lengths))
    made: dict[GasSegment, float] = {}
    for zone in piping.zones:
        paths = sorted(_paths(zone, extra, context), key=lambda path: path[0])
        for length, segments in paths:  # the longest through a run comes last
            made.update(dict.fromkeys(segments, paths[-1][0] if method == "hybrid" else length))
    for segment in piping.segments:  # those that lead to no known load, by where they end
        made.setdefault(segment, _far(segment.end_m - segment.zone.start_m, (segment,), extra))
    return made


def _paths(
    zone: GasZone, extra: Mapping[GasSegment, float], context: Context
) -> list[tuple[float, tuple[GasSegment, ...]]]:
    """Every path through a zone, to an appliance, an outlet whose load is told or the next
    regulator: its length and runs."""
    ends = [(a.length_m, a.segments) for a in zone.appliances if a.length_m is not None]
    told = (o for o in outlet_inputs(context) if o.segment is not None and o.segment.zone is zone)
    ends += [(o.length_m, o.segments) for o in told]
    ends += [(r.at_m, r.segment.from_source if r.segment else ()) for r in zone.regulators]
    mine = [(at, tuple(r for r in segments if r.zone is zone)) for at, segments in ends]
    return [(_far(at - zone.start_m, segments, extra), segments) for at, segments in mine]


def _far(
    length_m: float, segments: tuple[GasSegment, ...], extra: Mapping[GasSegment, float]
) -> float:
    return length_m + sum(extra[segment] for segment in segments)


def fitting_lengths(segments: list[GasSegment], context: Context) -> dict[GasSegment, float]:
    """The equivalent length of the fittings of each run; 0 where the job file does not ask."""
    if not context.job.gas.fittings:
        return dict.fromkeys(segments, 0.0)
    return {
        segment: sum(_fitting_m(f, segment, context) for f in segment.fittings)
        for segment in segments
    }


def _fitting_m(fitting: Element, segment: GasSegment, context: Context) -> float:
    kind = fitting.kind
    name = "tee" if kind in AS_TEE else "quarter-bend" if kind in AS_QUARTER else kind
    table = context.code.table("gas_fitting_lengths")
    row = table.one(fitting=name, size_in=segment.size_in) if segment.size_in is not None else None
    return row.number("length_ft") * M_PER_FT if row is not None else 0.0
