"""How far a cable gets: the rule, the schedule and the drawing."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, check
from ifclint.drawings import Riser, RiserLine, RiserMark
from ifclint.engineering.joined import by_steps
from ifclint.engineering.units import feet
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Column, Outcome, Schedule, Severity, Step
from ifclint.ifc.elements import Role, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import Cleanout, DrainLine, DrainSegment, Service
from ifclint.plumbing.cleanouts.cleanouts import covers
from ifclint.plumbing.cleanouts.rodding import Cable, Reach, rod
from ifclint.plumbing.drainage.through_air import tied_lines
from ifclint.rules.cleanouts.section import CleanoutsSection
from ifclint.rules.cleanouts.wording import (
    add_cleanout,
    for_want_of_cleanouts,
    is_above_lowest_floor,
    unknown_lowest_floor,
)

CABLE = "common practice, no source; job file, cleanouts"


@derived
def reach(context: Context) -> Reach:
    """What cables reach from all cleanouts, and what else one opens, with the job's machine."""
    job = context.job.section(CleanoutsSection)
    cable = Cable(job.cable_length, job.small_cable_length, job.smallest_pipe_in, job.turns_deg)
    piping = context.plumbing.venting.piping
    return rod(piping, [*context.plumbing.cleanouts, *covers(piping)], cable)


def _unreached_m(line: DrainLine, context: Context) -> float:
    made = reach(context)
    return sum(made.unreached_m(i) for segment in line.segments for i in segment.indexes)


@rule(
    title="Drain on or under the lowest floor reached from a cleanout",
    clauses={"upc": "common practice, no clause", "ipc": "common practice, no clause"},
    severity=Severity.LOW,
    needs=("height_m",),
    follows=(System.SANITARY,),
)
def drain_reached(line: DrainLine, context: Context) -> Answer:
    """What no cable reaches is dug up when it stops.

    The metres of a drain on or under the lowest floor that the cable of no cleanout reaches, given
    its length, the smallest pipe it passes and the turns it takes (job file, cleanouts; common
    practice by default). Drains above can be reached through the ceiling and are excused.
    """
    is_above = is_above_lowest_floor(line, context)
    if is_above or tied_lines(context).issuperset(line.segments):
        return NOT_APPLICABLE
    left = feet(_unreached_m(line, context))
    answer = check(
        left,
        at_most=context.code.limit("cleanout_unreached_ft"),
        message=f"{left:.0f} ft of {line.label} cannot be reached from any cleanout.",
        remedy=add_cleanout(line.key, "Add a cleanout at its upper end."),
        steps=(*_cable_steps(context), Step("Not reached", left, "ft")),
        wrong=Outcome.ADVISORY,
    )
    if is_above is None and answer is not PASS:
        return unknown_lowest_floor(line)
    return for_want_of_cleanouts(answer)


def _cable_steps(context: Context) -> tuple[Step, ...]:
    job = context.job.section(CleanoutsSection)
    return (
        Step("Cable, in pipe of 3 in and larger", feet(job.cable_length), "ft", CABLE),
        Step("Cable, in smaller pipe", feet(job.small_cable_length), "ft", CABLE),
        Step("All turns of one push", job.turns_deg, "deg", CABLE),
    )


COLUMNS = (
    Column("cleanout", "Cleanout"), Column("storey", "Storey"), Column("space", "Space"),
    Column("size_in", "Size", "in"), Column("pipe_in", "Pipe", "in"), Column("entry", "Opens"),
    Column("downstream_ft", "Rods downstream", "ft"), Column("upstream_ft", "Rods upstream", "ft"),
    Column("stopped_by", "Stopped by"), Column("kitchen", "Kitchen drain past its trap"),
)  # fmt: skip


def cleanout_schedule(context: Context) -> Schedule:
    """Every cleanout: its size, its place, and how far it rods each way."""
    job = context.job.section(CleanoutsSection)
    note = (
        f"Cable {number_text(feet(job.cable_length))} ft in pipe of 3 in and larger, "
        f"{number_text(feet(job.small_cable_length))} ft in smaller; down to "
        f"{trade_size(job.smallest_pipe_in)} pipe; turns up to {number_text(job.turns_deg)}° "
        f"({CABLE})."
    )
    rows = tuple(_row(c, context) for c in context.plumbing.cleanouts)
    return Schedule("cleanouts", "Cleanouts and their reach", COLUMNS, rows, note)


def _row(cleanout: Cleanout, context: Context) -> dict[str, object]:
    done = reach(context).by_cleanout[cleanout]
    return {
        "element_id": cleanout.element.guid,
        "cleanout": cleanout.label + (" (two-way)" if cleanout.two_way else ""),
        "storey": cleanout.element.storey,
        "space": cleanout.element.space,
        "size_in": cleanout.size_in,
        "pipe_in": cleanout.pipe_in,
        "entry": cleanout.piping.elements[cleanout.entry].label,
        "downstream_ft": feet(done.downstream_m),
        "upstream_ft": feet(done.upstream_m) if cleanout.leads_up else None,
        "stopped_by": done.stopped_by,
        "kitchen": "yes" if _rods_kitchen(cleanout, context) else "",
    }


def _rods_kitchen(cleanout: Cleanout, context: Context) -> bool:
    """Whether a kitchen sink drains past its entry, below the sink's trap."""
    if cleanout.on_vent:
        return False
    piping = cleanout.piping

    def above(index: int) -> list[int]:
        found = piping.wet_above[index]
        is_own = len(found) == 1 or piping.elements[index].role in (Role.TRAP, Role.FIXTURE)
        return found if is_own else []

    return not _kitchens(context).isdisjoint(by_steps([cleanout.entry], above))


@derived
def _kitchens(context: Context) -> set[int]:
    return {f.index for f in context.plumbing.fixtures if f.kind == "kitchen-sink"}


def reach_riser(context: Context) -> Riser:
    """The drains with what the cleanouts reach and, marked, what none does."""
    plumbing = context.plumbing
    lines = (line for s in plumbing.segments for line in _lines(s, context))
    marks = (
        RiserMark(c.element.guid, "cleanout", c.point, f"{c.label} · {trade_size(c.size_in)}")
        for c in plumbing.cleanouts
        if c.point is not None
    )
    levels = tuple((s.name, s.elevation_m) for s in plumbing.network.model.storeys)
    return Riser.of("cleanouts", "Cleanouts and their reach", lines, marks, levels)


def _lines(segment: DrainSegment, context: Context) -> Iterator[RiserLine]:
    """A segment as drawn: the way to a cleanout whole, a drain pipe by pipe."""
    size, label = segment.size_in, trade_size(segment.size_in)
    if segment.service is Service.CLEANOUT:
        points = tuple(p for pipe in segment.pipes for p in (pipe.up, pipe.down) if p is not None)
        yield RiserLine(segment.element_ids, points, "cleanout", "", segment.label, size)
    if segment.service is not Service.DRAIN:
        return
    made = reach(context)
    for index, pipe in zip(segment.indexes, segment.pipes, strict=True):
        if pipe.up is None or pipe.down is None:
            continue
        ids, part = (pipe.element.guid,), made.unreached_part(index)
        yield RiserLine(ids, (pipe.up, pipe.down), "drain", "", f"{label}, rodded", size)
        if part is not None and segment.vertical is False:
            words = f"{label}, not reached from any cleanout: "
            words += f"{feet(made.unreached_m(index)):.1f} ft"
            yield RiserLine(ids, part, "unreached", "", words, size)
