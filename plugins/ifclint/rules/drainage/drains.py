"""Rules about a drain: its load, the fixtures it may take, and its size."""

from __future__ import annotations

from ifclint.checks import NOT_APPLICABLE, PASS, unverified, violation
from ifclint.engineering.wording import number_text, trade_size
from ifclint.findings import Answer, Measure, Severity, Step
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment, Part
from ifclint.plumbing.drainage.loads import loads
from ifclint.rules.drainage.capacity import (
    capacity,
    is_trap_arm,
    listed_sizes,
    restrictions,
    smallest_size,
)


def size_remedy(segment: DrainSegment, context: Context) -> str:
    """The smallest change that would do, in one sentence."""
    size = smallest_size(segment, context)
    if size is None:
        return "No listed size carries this load as drawn: divide the load or steepen the drain."
    return f"Make this drain {trade_size(size)}, and everything below it no smaller."


@rule(
    title="Drain large enough for the fixtures it takes",
    subject=DrainSegment,
    clauses={
        "upc": "703.1 and Table 703.2",
        "ipc": "710.1 and Tables 710.1(1), 710.1(2)",
        "irc": "P3005.4",
    },
    severity=Severity.HIGH,
    needs=("size_in", "orientation"),
    applies=lambda segment: segment.part is not Part.TAILPIECE,
)
def drain_capacity(segment: DrainSegment, context: Context) -> Answer:
    """A drain that takes more than it can carry backs up into the lowest fixture.

    The drainage fixture units of all fixtures upstream, with bathroom groups and continuous flow
    as the code counts them, against what the code lets a drain of this size, course and slope
    carry. Trap arms no longer than the code lets them be are excused; IPC stacks are judged by
    their branch intervals.
    """
    if is_trap_arm(segment, context):
        return NOT_APPLICABLE
    made = loads(context)
    load = made.carried[segment]
    allowed = capacity(segment, context)
    if not made.fixtures[segment] and not load:
        return unverified(
            f"No fixture drains through {segment.label}, so its load is not known.",
            "Model the fixtures and join them to their drains.",
        )
    if allowed is None:
        if segment.part is Part.STACK and context.code.family == "ipc":
            return NOT_APPLICABLE
        return _not_listed(segment, context, load)
    steps = (*made.steps(segment), *allowed.steps)
    if load > allowed.most:
        return violation(
            message=(
                f"{segment.label} takes {number_text(load)} DFU and may carry "
                f"{number_text(allowed.most)}."
            ),
            remedy=size_remedy(segment, context),
            measured=Measure(load, "DFU"),
            required=Measure(allowed.most, "DFU", "at most"),
            steps=steps,
            clause=allowed.row.clause,
        )
    if made.unknown[segment]:
        return unverified(
            (
                f"{segment.label} takes {number_text(made.unknown[segment])} inflow(s) of "
                "unknown load."
            ),
            (
                "Name those fixtures by kind or give their traps a size, model the fixtures of "
                "branches that end open, and state what pumps discharge (job file, "
                "drainage.continuous_flow)."
            ),
            measured=Measure(load, "DFU", "at least"),
            required=Measure(allowed.most, "DFU", "at most"),
            steps=steps,
        )
    if not allowed.listed:
        return unverified(
            (
                f"{context.code.short} lists no capacity for a slope as flat as that of "
                f"{segment.label}."
            ),
            "Steepen the drain to a slope the code lists.",
            measured=Measure(load, "DFU"),
            steps=steps,
        )
    if load > allowed.least:
        return unverified(
            (
                f"Whether {segment.label} may carry {number_text(load)} DFU depends on "
                "its slope, which "
                "is not known."
            ),
            "Draw the drain with its fall, or give it Pset_PipeSegmentOccurrence.Gradient.",
            measured=Measure(load, "DFU"),
            steps=steps,
        )
    return PASS


def _not_listed(segment: DrainSegment, context: Context, load: float) -> Answer:
    """The code lists no capacity for this size and course: too small, or beyond its table."""
    size = trade_size(segment.size_in)
    said = f"{context.code.short} lists no {segment.orientation} drain of {size}"
    measured, steps = Measure(load, "DFU"), loads(context).steps(segment)
    if (segment.size_in or 0.0) > listed_sizes(context)[-1]:
        return unverified(
            f"{said}: {segment.label} is beyond its tables.",
            "Have drains beyond the tables designed, and the design approved.",
            measured=measured,
            steps=steps,
        )
    return violation(
        message=f"{said}.", remedy=size_remedy(segment, context), measured=measured, steps=steps
    )


@rule(
    title="No fixture on a drain too small for its kind",
    subject=DrainSegment,
    clauses={"upc": "Table 703.2 footnotes", "ipc": "Table 710.1(1) footnote a and 704.2"},
    severity=Severity.HIGH,
    applies=lambda segment: segment.size_in is not None,
)
def fixtures_allowed_on_drain(segment: DrainSegment, context: Context) -> Answer:
    """Whatever the load, some fixtures may not drain into small pipe, or only so many of them.

    Water closets need 3 in; under the UPC at most three of them (or of six-unit traps) share a
    3 in horizontal drain and four a 3 in vertical one, and no sink, urinal or dishwasher of more
    than one unit drains into a 1-1/2 in vertical. A drain of unknown size is reported elsewhere.
    """
    if not loads(context).fixtures[segment]:
        return NOT_APPLICABLE
    broken = [
        r for r in restrictions(segment, context) if r.count > r.most and _counts(segment, r.words)
    ]
    if not broken and loads(context).unnamed[segment] and _is_restricted_size(segment, context):
        return unverified(
            (
                f"{segment.label} takes {number_text(loads(context).unnamed[segment])} "
                "fixture(s) of unknown "
                "kind, and not every kind may drain into that size."
            ),
            "Set the PredefinedType of those fixtures, or name them in trade words.",
        )
    if not broken:
        return PASS
    if segment.orientation is None and all(r.most for r in broken):
        return unverified(
            (
                f"How many of its fixtures {segment.label} may take depends on its "
                "course, which is not "
                "known."
            ),
            "Give the pipe a shape or two placed ports, so that its ends are known.",
        )
    worst = max(broken, key=lambda r: r.count - r.most)
    limit = f"at most {number_text(worst.most)}" if worst.most else "none"
    return violation(
        message=(
            f"{segment.label} takes {number_text(worst.count)} × {worst.words}; a drain "
            "of that size may "
            f"take {limit}."
        ),
        remedy=size_remedy(segment, context),
        measured=Measure(worst.count, worst.words),
        required=Measure(worst.most, worst.words, "at most"),
        steps=tuple(
            Step(f"{r.words} on {trade_size(segment.size_in)}: at most", r.most, "", r.clause)
            for r in broken
        ),
        clause=worst.clause,
    )


def _is_restricted_size(segment: DrainSegment, context: Context) -> bool:
    least = context.code.limit("water_closet_drain_in").value
    rows = context.code.table("drain_restrictions").where(size_in=segment.size_in)
    return bool(rows) or (segment.size_in or 0.0) < least


def _counts(segment: DrainSegment, restricted: str) -> bool:
    """The table's limits leave trap arms out, but a closet's own arm must be 3 in as well."""
    return segment.is_drain or restricted == "water closet"


@rule(
    title="No drain narrows in the direction of flow",
    subject=DrainSegment,
    clauses={"upc": "310.5", "ipc": "704.2"},
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
    closet bend or flange
    onto 3 in pipe is no reduction. Traps are judged against their own drain.
    """
    following = _next_sized(segment)
    assert segment.size_in is not None
    if following is None or following.size_in is None:
        return NOT_APPLICABLE
    if following.size_in >= segment.size_in or _is_closet_bend(segment, following, context):
        return PASS
    return violation(
        message=f"{segment.label} ({trade_size(segment.size_in)}) flows into {following.label}.",
        remedy=(
            f"Make {following.label} {trade_size(segment.size_in)}, and all below it no smaller."
        ),
        measured=Measure(following.size_in, "in"),
        required=Measure(segment.size_in, "in", "at least"),
        steps=(
            Step("Upstream size", segment.size_in, "in"),
            Step("Downstream size", following.size_in, "in"),
        ),
        elements=(following.first.guid, segment.pipes[-1].element.guid),
    )


def _next_sized(segment: DrainSegment) -> DrainSegment | None:
    following = segment.next
    while following is not None and following.size_in is None:
        following = following.next
    return following


def _is_closet_bend(segment: DrainSegment, following: DrainSegment, context: Context) -> bool:
    elements = context.plumbing.network.elements
    closet_fittings = any(
        elements[i].kind in ("closet-bend", "closet-flange") for i in segment.tail
    )
    sizes = (segment.size_in, following.size_in)
    return closet_fittings and sizes == (4, 3) and loads(context).closets[segment] == 1


RULES = (drain_capacity, fixtures_allowed_on_drain, drain_not_reduced)
