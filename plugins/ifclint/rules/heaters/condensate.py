"""Rules about the condensate of cooling coils and of what burns fuel."""

from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, known, missing, not_known, violation
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Change, Outcome, Severity, Step
from ifclint.ifc.elements import Role
from ifclint.packs import Context, rule
from ifclint.plumbing import CondensateSource
from ifclint.plumbing.heaters.condensate import NEUTRALIZERS
from ifclint.rules.heaters import parts
from ifclint.rules.heaters.ends import ReliefEnd, check_air_gap, place_of_end, unknown_end
from ifclint.rules.heaters.lines import by_gravity, joins_drainage, narrow, passages, unsized

DISPOSAL = {"upc": "814.1", "ipc": "314.1", "irc": "M1411.3"}
LARGE = Fact(
    "how large the condensate drain of {} must be is not known: its coil is larger than that for "
    "which the least size is.",
    "Size the drain by the code's table of condensate drains, for the tons of the coil.",
)
STUB_M = 0.15  # of a piece that runs no farther sideways no slope is asked; ours, no source


@rule(title="Condensate led to a place where it may go", clauses=DISPOSAL)
def condensate_disposal(source: CondensateSource, context: Context) -> Answer:
    """Condensate that ends on a floor rots it, and acid condensate eats what it runs over.

    The line from everything that condenses (air conditioners, condensing heaters and furnaces,
    water heaters with a heat pump): it must be drawn, and end over a receptor through an air gap,
    in the drain of a fixture before its trap, or outdoors. What is joined to the drainage is judged
    with all lines of clear water.
    """
    if not source.line.elements:
        return missing(
            parts.CONDENSATE_DRAINS,
            message=f"Where the condensate of {source.label} goes is not known.",
        )
    if joins_drainage(source.line, context):
        return NOT_APPLICABLE
    place = place_of_end(source.line, context)
    if source.line.runs_into is not None or place.end is ReliefEnd.OUTDOORS:
        return PASS
    if place.end is ReliefEnd.RECEPTOR:
        label = f"The condensate drain of {source.label}"
        return check_air_gap(label, source.line, None, place, context)
    if place.end is ReliefEnd.UNKNOWN:
        return unknown_end(f"the condensate drain of {source.label}", place)
    return violation(
        message=f"The condensate of {source.label} ends {place.words}.",
        remedy="Lead the drain over a receptor, into a fixture's tailpiece, or outdoors.",
        elements=(source.line.last.guid, *source.element_ids),
    )


@rule(
    title="Condensate drain large enough, and not narrowed",
    clauses={"upc": "814.3", "ipc": "314.2.2", "irc": "M1411.3.2"},
    severity=Severity.LOW,
    applies=lambda source: bool(source.line.elements),
)
def condensate_size(source: CondensateSource, context: Context) -> Iterator[Answer]:
    """Slime and dust stop a thin drain, and the pan above it overflows.

    The smallest pipe of the drain, up to a pump, against the pipe with which it begins, and under a
    cooling coil against the code's least size. A coil that is told to be larger than that size is
    for leaves a question. What burns fuel is drained as large as it is made.
    """
    line, limit = by_gravity(source.line, context), context.code.limit("condensate_drain_in")
    begins = or_zero(next((p.size_in for p in line.pipes if p.size_in is not None), None))
    least = begins if source.burns_fuel else max(begins, limit.value)
    size, small = narrow(line, least)
    yield check(
        size,
        at_least=least,
        unit="in",
        message=f"The condensate drain of {source.label} is {trade_size(size)}; "
        f"{trade_size(least)} is asked for.",
        remedy=Change("size", small, least, f"Make the drain {trade_size(least)} to its end."),
        steps=(Step("It begins with", begins, "in"), limit.step("Smallest under a cooling coil")),
        elements=small,
        clause=limit.clause,
    )
    yield from unsized(line, f"the condensate drain of {source.label}")
    most, tons = context.code.limit("condensate_coil_most_tons"), source.cooling_tons
    if not source.burns_fuel and tons is not None and not at_most(tons, most.value):
        coil = Step("Its coil cools", tons, "tons")
        yield not_known(LARGE, source, steps=(coil, most.step("For this size, at most")))


@rule(
    title="Condensate drain falls",
    clauses=DISPOSAL,
    severity=Severity.LOW,
    applies=lambda source: bool(source.line.elements),
)
def condensate_falls(source: CondensateSource, context: Context) -> Iterator[Answer]:
    """A drain that lies flat stands full, and what grows in it stops it.

    The fall of every pipe of the drain that runs sideways, up to a pump, against the code's least.
    """
    line, limit = by_gravity(source.line, context), context.code.limit("condensate_slope_percent")
    if len(source.line.points) < 2:
        yield not_known("path", f"the condensate drain of {source.label}")
    falls = {
        p.element.guid: -100 * p.rise_m / p.level_m
        for p in passages(line)
        if p.element.role is Role.PIPE and p.level_m > STUB_M
    }
    flat = tuple(g for g, fall in falls.items() if not at_least(fall, limit.value, limit.unit))
    least = min(falls.values(), default=limit.value)
    yield check(
        least,
        at_least=limit,
        message=f"The condensate drain of {source.label} "
        + (f"rises {number_text(-least, 2)} %." if least < 0 else
           f"falls {number_text(least, 2)} %; {limit.value:g} % is asked for."),
        remedy=f"Let the drain fall at least {limit.value:g} % (1/8 in per ft) to its end.",
        limit_step="Least fall",
        elements=(*flat, *source.element_ids),
    )  # fmt: skip


@rule(
    title="Acid condensate neutralized before it reaches the drain",
    clauses={"upc": "811.1", "ipc": "803.2", "irc": "G2408.1"},
    severity=Severity.LOW,
    applies=lambda source: source.is_acid is not False and bool(source.line.elements),
)
def condensate_neutralized(source: CondensateSource, context: Context) -> Answer:
    """What condenses out of flue gas is acid, and eats metal drains and concrete below them.

    On the line of a condensing heater, boiler or furnace: a neutralizer, drawn as a fitting, filter
    or interceptor named so. The codes ask that corrosive waste be neutralized and leave the rest to
    the maker and the authority: beside a model's other neutralizers a line without one is an
    advisory, and where none is drawn it is asked. So is the energy of what condenses where nothing
    tells it, unless a neutralizer takes its condensate.
    """
    passed = (*source.line.elements, *filter(None, [source.line.runs_into]))
    if any(e.kind in NEUTRALIZERS for e in passed):
        return PASS
    known(source.is_acid, "burns_fuel", source)
    return missing(
        parts.CONDENSATE_NEUTRALIZERS,
        message=f"The acid condensate of {source.label} passes no neutralizer.",
        remedy="Set a neutralizer in the line before it reaches the drain, where it can be "
        "refilled, or show that the maker and the authority ask for none.",
        wrong=Outcome.ADVISORY,
        elements=(source.line.elements[0].guid, *source.element_ids),
    )
