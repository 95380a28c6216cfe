"""The rule about the size of a grease interceptor: by what drains into it."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, Fact, check, known, not_known
from ifclint.codes.tables import Row
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M3_PER_S_PER_GPM
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.site.interceptors import LEAST_BY_GRAVITY, Interceptor, takes_any, told_of
from ifclint.rules.site.ratings import Rating, rating_of
from ifclint.rules.site.section import InterceptorData
from ifclint.rules.site.wastes import kind_of

SIZE = (
    'Tell its volume or its certified flow in its name or property sets ("1000 gal", "50 gpm"), '
    "or in the job file (site.interceptors)."
)
FLOW = "Give the peak flow into it in the job file (site.interceptors, flow)."
CERTIFIED = Fact("the certified flow of {}, too small to work by gravity, is not known.", SIZE)
UNITS = Fact(
    "the fixture units of {}, which drains into {}, are not known.",
    "Name the fixture in trade words.",
)
BEYOND = Fact(
    "the table of the code ends below the {} DFU of {}.",
    "Have the interceptor sized by its designer.",
)
NEITHER = Fact("Neither volume nor flow of {} is known.", SIZE)
FLOWS_IN = Fact(
    "what flows into {} is not known: the size of a drain that leads in is not, or the table of "
    "the code does not hold it.",
    "Give the drain a nominal diameter.",
)
PEAK = Fact("the peak flow into {} is not known.", FLOW)


@rule(
    title="Grease interceptor large enough",
    clauses={"upc": "1014.2.1 and 1014.3.6", "ipc": "1003.3.5 and 1003.3.7", "irc": ""},
    applies=lambda interceptor: kind_of(interceptor.element) == "grease",
    of_load=True,
)
def grease_interceptor_size(interceptor: Interceptor, context: Context) -> Iterator[Answer]:
    """Too small, it is passed before the grease has risen, and the sewer gets it all.

    UPC: a gravity interceptor's volume against the fixture units that drain into it, a smaller,
    hydromechanical one's certified flow against the full flow of the drains that lead in, with two
    minutes to drain (one minute asks for more; the authority says which). IPC: a gravity
    interceptor holds the peak flow of 30 minutes; the grease that a hydromechanical one must hold
    follows from its certified flow, which is no less than the peak flow. The IPC's peak flow is the
    designer's: job file, site.interceptors.
    """
    if not takes_any(interceptor):
        return
    told = told_of(interceptor, context)
    rating = rating_of(interceptor.element, told)
    if rating.volume_gal is None and rating.flow_gpm is None:
        yield not_known(NEITHER, interceptor)
    elif "grease_interceptor_volume" in context.code.tables:
        yield _by_fixtures_or_pipe(interceptor, rating, context)
    else:
        yield from _by_flow(interceptor, rating, told, context)


def _by_fixtures_or_pipe(interceptor: Interceptor, rating: Rating, context: Context) -> Answer:
    least = context.code.limit(LEAST_BY_GRAVITY).value
    if rating.volume_gal is not None and at_least(rating.volume_gal, least, "gal"):
        return _volume_by_units(interceptor, rating.volume_gal, context)
    if rating.flow_gpm is not None:
        return _flow_by_pipe(interceptor, rating.flow_gpm, context)
    return not_known(CERTIFIED, interceptor)


def _volume_by_units(interceptor: Interceptor, volume_gal: float, context: Context) -> Answer:
    made = loads(context)
    carried = context.plumbing.drainage.accumulate({f.index: u for f, u in made.gives.items()})
    unstated = [f for f in interceptor.takes if made.units[f] is None]
    if unstated:
        ids = (interceptor.element.guid, unstated[0].element.guid)
        return not_known(UNITS, unstated[0], interceptor, elements=ids)
    units = carried[interceptor.index]
    table = context.code.table("grease_interceptor_volume")
    row = known(table.next_row("max_dfu", units), BEYOND, number_text(units), interceptor)
    return check(
        volume_gal,
        at_least=row.limit("volume_gal", "gal"),
        message=f"{interceptor.label} holds {number_text(volume_gal)} gal; "
        f"{number_text(units)} DFU drain into it.",
        remedy=f"Set an interceptor of at least {number_text(row.number('volume_gal'))} gal.",
        steps=(Step("Fixture units that drain into it", units, "DFU"),),
        limit_step=f"Volume for up to {number_text(row.number('max_dfu'))} DFU",
    )


def _flow_by_pipe(interceptor: Interceptor, flow_gpm: float, context: Context) -> Answer:
    rows: list[Row] = []
    for size in _inlets_in(interceptor, context):
        table = context.code.table("grease_interceptor_flow")
        row = None if size is None else table.next_row("size_in", size)
        rows.append(known(row, FLOWS_IN, interceptor))
    if not rows:
        return NOT_APPLICABLE
    needed = sum(row.number("two_minute_gpm") for row in rows)
    return check(
        flow_gpm,
        at_least=needed,
        unit="gpm",
        message=f"{interceptor.label} is rated {number_text(flow_gpm)} gpm; what the drains into "
        f"it carry asks for {number_text(needed)} gpm.",
        remedy=f"Set an interceptor rated at least {number_text(needed)} gpm.",
        steps=[
            Step(f"{number_text(r.number('size_in'))} in drain, full", r.number("full_gpm"), "gpm")
            for r in rows
        ],
        limit_step="Certified flow, drained in two minutes, at least",
        clause=rows[0].clause,
    )


def _inlets_in(interceptor: Interceptor, context: Context) -> list[float | None]:
    """The size of each drain that leads in."""
    piping, found = context.plumbing.venting.piping, []
    for index in piping.wet_above[interceptor.index]:
        while piping.elements[index].role is not Role.PIPE and piping.wet_above[index]:
            index = piping.wet_above[index][0]
        found.append(piping.elements[index].size_in)
    return found


def _by_flow(
    interceptor: Interceptor, rating: Rating, told: InterceptorData | None, context: Context
) -> Iterator[Answer]:
    peak = told.flow / M3_PER_S_PER_GPM if told and told.flow else None
    if rating.flow_gpm is not None:
        yield from _grease_held(interceptor, rating, context)
        peak = known(peak, PEAK, interceptor, about="flow")
        yield check(
            rating.flow_gpm,
            at_least=peak,
            unit="gpm",
            message=f"{interceptor.label} is rated {number_text(rating.flow_gpm)} gpm; "
            f"{number_text(peak)} gpm flow into it.",
            remedy=f"Set an interceptor rated at least {number_text(peak)} gpm.",
            about="flow",
        )
        return
    assert rating.volume_gal is not None
    minutes = context.code.limit("gravity_interceptor_min")
    peak = known(peak, PEAK)
    yield check(
        rating.volume_gal / peak,
        at_least=minutes,
        message=f"{interceptor.label} holds {number_text(rating.volume_gal)} gal, "
        f"{number_text(rating.volume_gal / peak)} min of its peak flow.",
        remedy=f"Set an interceptor of at least {number_text(minutes.value * peak)} gal.",
        steps=(
            Step("Volume", rating.volume_gal, "gal"),
            Step("Peak flow", peak, "gpm", "job file, site.interceptors"),
        ),
        limit_step="Retention, at least",
    )


def _grease_held(interceptor: Interceptor, rating: Rating, context: Context) -> Iterator[Answer]:
    """The grease it holds, where its name tells, against that asked for at its flow."""
    if rating.flow_gpm is None or rating.grease_lb is None:
        return
    row = context.code.table("grease_retention").next_row("rating_gpm", rating.flow_gpm)
    if row is not None:
        yield check(
            rating.grease_lb,
            at_least=row.limit("retention_lb", "lb"),
            message=f"{interceptor.label} holds {number_text(rating.grease_lb)} lb of grease.",
            remedy="Set an interceptor that holds at least "
            f"{number_text(row.number('retention_lb'))} lb of grease.",
            limit_step=f"At {number_text(row.number('rating_gpm'))} gpm, at least",
            about="grease",
        )
