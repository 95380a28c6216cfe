"""Rules about a drain: its load, the fixtures it may take, and its size."""

from ifclint.checks import (
    NOT_APPLICABLE,
    PASS,
    Fact,
    check,
    due,
    given,
    missing,
    not_known,
    violation,
)
from ifclint.engineering.tolerance import at_least, at_most
from ifclint.engineering.wording import how_many, number_text, trade_size
from ifclint.findings import Answer, Change, Measure, PartKind, Settles, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment, Part
from ifclint.plumbing.drainage.inflows import pumped_alone, rained
from ifclint.plumbing.drainage.least_slope import drain_meets_slope, least_slope, slope_rows
from ifclint.plumbing.drainage.loads import LOADS, brings, loads
from ifclint.plumbing.drainage.through_air import tied_lines
from ifclint.plumbing.facts import fact
from ifclint.rules.drainage.capacity import (
    DrainCapacity,
    Restriction,
    capacity,
    fits_a_branch,
    is_trap_arm,
    listed_sizes,
    restrictions,
    smallest_size,
)

NO_LOAD = Fact(
    "No fixture drains through {}, so its load is not known.",
    "Model the fixtures and join them to their drains.",
)
FIXTURES = PartKind(
    "fixtures",
    drawn=lambda context: False,  # asked only where none is
    remedy="Model the fixtures and join them to their drains, or add the drawing of the house to "
    "the review.",
)
BY_SLOPE = Fact(
    "whether {} may carry {} DFU depends on its slope, which is not known.", fact("slope").remedy
)
TOO_FLAT = Fact(
    "{} lists no capacity for a slope as flat as that of {}.",
    "Steepen the drain to a slope the code lists.",
)
BEYOND = Fact(
    "{} lists no {} drain of {}: {} is beyond its tables.",
    "Have drains beyond the tables designed, and the design approved.",
)
NOWHERE = Fact(
    "{} lists no {} drain of {}; whether {} is a drain, and not the tailpiece of a trap, is not "
    "known: it ends open.",
    "Join the drain to what it leads to (ports, or ends that meet).",
)
MAY_BE_BRANCH = Fact(
    "{} lists no {} building drain of {}; whether {} is one is not known: what it leads to is not.",
    NOWHERE.remedy,
)
KINDS = Fact(
    "{} takes {} of unknown kind, and not every kind may drain into that size.",
    "Set the PredefinedType of those fixtures, or name them in trade words.",
)
BY_ORIENTATION = Fact(
    "how many of its fixtures {} may take depends on its orientation, which is not known.",
    fact("orientation").remedy,
)


def size_remedy(segment: DrainSegment, context: Context) -> Change | str:
    """The smallest change that would do, in one sentence."""
    size = smallest_size(segment, context)
    if size is None:
        return "No listed size carries this load as drawn: divide the load or steepen the drain."
    text = f"Make this drain {trade_size(size)}, and everything below it no smaller."
    return Change("size", segment.element_ids, size, text)


@rule(
    title="Drain large enough for the fixtures it takes",
    clauses={
        "upc": "703.1 and Table 703.2",
        "ipc": "710.1 and Tables 710.1(1), 710.1(2)",
        "irc": "P3005.4",
    },
    severity=Severity.HIGH,
    needs=("size_in", "orientation"),
    applies=lambda segment: segment.part is not Part.TAILPIECE,
    settles=Settles.PIPE,
    of_load=True,
)
def drain_capacity(segment: DrainSegment, context: Context) -> Answer:
    """A drain that takes more than it can carry backs up into the lowest fixture.

    The drainage fixture units of all fixtures upstream, with bathroom groups and continuous flow
    as the code counts them, against what the code lets a drain of this size, orientation and slope
    carry, or of the least slope, where it falls less. Trap arms no longer than the code lets them
    be are excused, as is a drain flatter than any slope of the table, which the rules about slopes
    find wrong; IPC stacks are judged by their branch intervals.
    """
    if is_trap_arm(segment, context) or segment in tied_lines(context):
        return NOT_APPLICABLE
    made, allowed = loads(context), capacity(segment, context)
    load = made.carried[segment]
    if not (made.fixtures[segment] or load or segment.indexes[-1] in pumped_alone(context)):
        if not context.plumbing.fixtures:
            return missing(FIXTURES, message=f"The load of {segment.label} is not known.")
        if segment in rained(context):
            return NOT_APPLICABLE  # storm water is led elsewhere, by another rule
        return not_known(NO_LOAD, segment)
    if allowed is None:
        return _not_listed(segment, context, load)
    if at_most(load, allowed.most.value):
        return _doubt(segment, context, load, allowed)
    return check(
        load,
        at_most=allowed.most,
        message=lambda: (
            f"{segment.label} takes {number_text(load)} DFU and may carry "
            f"{number_text(allowed.most.value)}."
        ),
        remedy=lambda: size_remedy(segment, context),
        steps=lambda: (*made.steps(segment), *allowed.steps),
    )


def _doubt(segment: DrainSegment, context: Context, load: float, allowed: DrainCapacity) -> Answer:
    """Whether a load that may be carried is all of it, and the capacity sure."""
    made, unknown = loads(context), loads(context).unknown[segment]
    if not unknown and allowed.listed and at_most(load, allowed.least):
        return PASS
    steps, measured = (*made.steps(segment), *allowed.steps), Measure(load, "DFU")
    if unknown:
        source = brings(context)[segment]
        return not_known(
            LOADS,
            source,
            segment,
            elements=(source.guid, *segment.element_ids),
            cause=source.guid,
            steps=steps,
            measured=Measure(load, "DFU", "at least"),
            required=Measure(allowed.most.value, "DFU", "at most"),
        )
    if allowed.listed:
        return not_known(BY_SLOPE, segment, number_text(load), steps=steps, measured=measured)
    if _is_to_be_steeper(segment, context):
        return NOT_APPLICABLE  # the rules about its slope say so, and what follows is no question
    return not_known(TOO_FLAT, context.code.short, segment, steps=steps, measured=measured)


def _is_to_be_steeper(segment: DrainSegment, context: Context) -> bool:
    """Whether it falls less than the code asks, or rises."""
    asked = least_slope(slope_rows(given(segment.size_in), context, "drainage"), context)
    if segment.slope is None or asked is None:
        return False
    return not drain_meets_slope(segment, asked.value, context)


def _not_listed(segment: DrainSegment, context: Context, load: float) -> Answer:
    """The code lists no capacity for this size and orientation: too small, or beyond its table."""
    size, code = given(segment.size_in), context.code
    if segment.part is Part.STACK and code.family == "ipc":
        return NOT_APPLICABLE
    listed = code.short, str(segment.orientation), trade_size(size)
    measured, steps = Measure(load, "DFU"), loads(context).steps(segment)
    if size > listed_sizes(context)[-1]:
        return not_known(BEYOND, *listed, segment, steps=steps, measured=measured)
    outlet = context.plumbing.drainage.outlet_of(segment.indexes[-1])
    if outlet is not None and not outlet.accepted and segment.next is None:
        if outlet.element in segment.indexes:
            return not_known(NOWHERE, *listed, segment, steps=steps, measured=measured)
        if fits_a_branch(segment, size, context, load):
            return not_known(MAY_BE_BRANCH, *listed, segment, steps=steps, measured=measured)
    return violation(
        message="{} lists no {} drain of {}.".format(*listed),
        remedy=size_remedy(segment, context),
        steps=steps,
        measured=measured,
    )


@rule(
    title="No fixture on a drain too small for its kind",
    clauses={
        "upc": "Table 703.2 footnotes",
        "ipc": "Table 710.1(1) footnote a and 704.2",
        "irc": "P3005.4 and Table P3005.4.2",
    },
    severity=Severity.HIGH,
    applies=lambda segment: segment.size_in is not None,
    of_load=True,
)
def fixtures_allowed_on_drain(segment: DrainSegment, context: Context) -> Answer | list[Answer]:
    """Whatever the load, some fixtures may not drain into small pipe, or only so many of them.

    Water closets need 3 in; under the UPC at most five of them (or of six-unit traps) share a 3 in
    drain, and no sink, urinal or dishwasher of more than one unit drains into a 1-1/2 in vertical.
    A drain of unknown size is reported elsewhere.
    """
    made = loads(context)
    if not made.fixtures[segment] or segment in tied_lines(context):
        return NOT_APPLICABLE
    ways = [segment.orientation] if segment.orientation else ["vertical", "horizontal"]
    by_way = [_broken(segment, way, context) for way in ways]
    if any(by_way) and not all(by_way):
        return not_known(BY_ORIENTATION, segment)
    broken = by_way[0]
    if not broken and made.unnamed[segment] and _is_restricted_size(segment, context):
        return not_known(KINDS, segment, how_many(made.unnamed[segment], "fixture"))
    return [_too_many(segment, restriction, context) for restriction in broken] or PASS


def _broken(segment: DrainSegment, orientation: str, context: Context) -> list[Restriction]:
    """What it takes too many of, upright or level."""
    asked = restrictions(segment, context, orientation=orientation)
    return [r for r in asked if _counts(segment, r) and not r.is_met]


def _too_many(segment: DrainSegment, restricted: Restriction, context: Context) -> Answer:
    words, most = restricted.words, restricted.most
    limit = f"at most {number_text(most.value)}" if most.value else "none"
    size = trade_size(segment.size_in)
    return check(
        restricted.count,
        at_most=most,
        unit=words,
        message=f"{segment.label} takes {number_text(restricted.count)} × {words}; a drain of that "
        f"size may take {limit}.",
        remedy=lambda: size_remedy(segment, context),
        steps=(Step(f"{words} on {size}: at most", most.value, "", most.clause),),
        about=words,
    )


def _is_restricted_size(segment: DrainSegment, context: Context) -> bool:
    assert segment.size_in is not None
    least = context.code.limit("water_closet_drain_in").value
    rows = context.code.table("drain_restrictions").where(size_in=segment.size_in)
    return bool(rows) or not at_least(segment.size_in, least, "in")


def _counts(segment: DrainSegment, restricted: Restriction) -> bool:
    """The table's limits leave trap arms out, but a closet's own arm must be 3 in as well."""
    return segment.is_drain or restricted.words == "water closet"


@rule(
    title="No drain narrows in the direction of flow",
    clauses={"upc": "310.5", "ipc": "704.2", "irc": "P3005.1.7"},
    severity=Severity.HIGH,
    applies=lambda segment: (
        segment.part is not Part.TAILPIECE
        and segment.next is not None
        and segment.size_in is not None
    ),
)
def drain_not_reduced(segment: DrainSegment, context: Context) -> Answer:
    """What passes a large pipe jams in the smaller one that follows.

    The nominal size of each drain against the next one downstream whose size is known. A 4 in
    closet bend, flange or stub onto 3 in pipe is no reduction. Traps are judged against their own
    drain.
    """
    size, following = given(segment.size_in), due(_next_sized(segment))
    below_in = due(following.size_in)
    if _is_closet_bend(segment, following, context):
        return PASS
    return check(
        below_in,
        at_least=size,
        unit="in",
        message=lambda: f"{segment.label} ({trade_size(size)}) flows into {following.label}.",
        remedy=lambda: Change(
            "size",
            following.element_ids,
            size,
            f"Make {following.label} {trade_size(size)}, and all below it no smaller.",
        ),
        steps=lambda: (Step("Upstream size", size, "in"), Step("Downstream size", below_in, "in")),
        elements=(following.first.guid, segment.pipes[-1].element.guid),
    )


def _next_sized(segment: DrainSegment) -> DrainSegment | None:
    following = segment.next
    while following is not None and following.size_in is None:
        following = following.next
    return following


def _is_closet_bend(segment: DrainSegment, following: DrainSegment, context: Context) -> bool:
    kinds = {context.plumbing.network.elements[i].kind for i in segment.tail}
    onto_smaller = (segment.size_in, following.size_in) == (4, 3)
    made = loads(context)
    is_stub = segment.vertical and segment.part is not Part.STACK and made.fixtures[segment] == 1
    is_bend = is_stub or bool(kinds & {"closet-bend", "closet-flange"})
    return onto_smaller and made.closets[segment] == 1 and is_bend
