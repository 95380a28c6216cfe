"""The heads along the lines, from the source past regulators, pumps and tanks.

A head is the pressure a point would have at elevation 0 of the model, so that heads fall by losses
alone. A regulator lowers a head to its setting.
"""

from ifclint.checks import given
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.rules.supply.beginnings import (
    Beginning,
    beginnings,
    flowing_pa,
    set_to,
    sets_pressure,
    setting_pa,
)
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.missing import Reason, Unknown
from ifclint.rules.supply.solved_supply import Head, Solution

NO_STATIC = Unknown(Reason.STATIC)
NO_RESIDUAL = Unknown(Reason.RESIDUAL)
NO_METER = Unknown(Reason.METER)


def head_of(solved: Solution, segment: WaterSegment) -> Head:
    """The heads at the far end of a line, from those of the line that feeds it, or the looped main
    that does, at what passes that at its demand."""
    number, above = segment.number, segment.above
    toward = solved.toward.get(number)
    if toward is None:
        before = _at_source(solved) if above is None else _behind(solved, segment, above)
        return _past(solved, segment, solved.loss[number], before)
    main = solved.looped[next(iter(toward))]
    head = solved.heads[main.feed]
    for line in main.paths[number]:
        head = _past(solved, line, toward[line.number].loss, head)
    return head if number in main.lines else _past(solved, segment, solved.loss[number], head)


def _behind(solved: Solution, segment: WaterSegment, above: WaterSegment) -> Head:
    """The heads where a line begins. Behind regulators in parallel stands what the highest set of
    them lets through."""
    head, made = solved.heads[above.number], solved.supply.distribution
    for index in made.also_fed_by.get(segment.indexes[0], ()):
        other = solved.supply.segment_of[index]
        if other.number < segment.number and all(map(_is_regulated, (above, other))):
            static = solved.heads[other.number].static_pa
            if static is not None and head.static_pa is not None:
                head = head._replace(static_pa=max(static, head.static_pa))
    return head


def _is_regulated(segment: WaterSegment) -> bool:
    """Whether a line ends with a regulator, or begins behind one."""
    lines = (segment, segment.above)
    return any(line is not None and sets_pressure(line.elements[-1]) for line in lines)


def _at_source(solved: Solution) -> Head:
    """Behind the meter and what else stands at the source."""
    column = pressure_of_head_pa(solved.main_z_m)
    static, flowing = solved.main_pa, solved.flowing_pa
    missing = NO_RESIDUAL if flowing is None else None
    if solved.fixed.get("meter", 0.0) is None:
        missing = missing or NO_METER
    return Head(
        None if static is None else static + column,
        None if flowing is None else flowing + column - sum(solved.fixed_pa.values()),
        missing,
        NO_STATIC if static is None else None,
    )


def _past(solved: Solution, segment: WaterSegment, lost: Loss, before: Head) -> Head:
    """The heads past a line."""
    flowing = None if before.flowing_pa is None else before.flowing_pa - lost.total_pa
    head = before._replace(
        flowing_pa=flowing,
        missing=before.missing or _unknown(solved, segment, lost),
        unstated_pa=before.unstated_pa + lost.unstated_pa,
    )
    if sets_pressure(segment.elements[-1]):
        made = _regulated(solved, segment, head)
        if flowing is None or made.flowing_pa is None:
            return made
        less = flowing - made.flowing_pa  # a regulator gives less in any case
        return made._replace(unstated_pa=not_below_zero(head.unstated_pa - less))
    if (begun := beginnings(solved.context).get(segment.number)) is not None:
        return _begun_anew(solved, segment, begun)
    return head


def _unknown(solved: Solution, segment: WaterSegment, found: Loss) -> Unknown | None:
    """Why the loss of a segment is not known, or too small."""
    if found.unknown is not None:
        return Unknown(found.unknown, segment)
    if solved.demand.flow_m3_per_s[segment.number] is None:
        return Unknown(Reason.FLOW, segment)
    return Unknown(Reason.UNITS, segment) if solved.demand.unknown[segment.number] else None


def _regulated(solved: Solution, segment: WaterSegment, head: Head) -> Head:
    """Behind a pressure-reducing valve; one of unknown setting is passed as if it were open."""
    valve = segment.elements[-1]
    setting = setting_pa(valve, solved.context)
    if setting is None:
        unknown = Unknown(Reason.SETTING, segment)
        return head._replace(
            missing=head.missing or unknown, static_missing=head.static_missing or unknown
        )
    column = _column_at_end(segment)
    static, flowing = setting + column, flowing_pa(valve, solved.context) + column
    if head.static_pa is None:  # whatever the street gives, no more than the setting passes
        head = head._replace(static_pa=static, static_missing=None)
    return head._replace(
        static_pa=min(given(head.static_pa), static),
        flowing_pa=None if head.flowing_pa is None else min(head.flowing_pa, flowing),
    )


def _column_at_end(segment: WaterSegment) -> float:
    point = segment.middle(segment.indexes[-1])
    return pressure_of_head_pa(point[2] if point is not None else 0.0)


def _begun_anew(solved: Solution, segment: WaterSegment, begun: Beginning) -> Head:
    """Behind a pump or tank."""
    standing, flowing = set_to(begun, solved.context)
    if standing is None:
        unknown = Unknown(Reason.PUMP if begun.is_pump else Reason.TANK, segment)
        return Head(None, None, unknown, unknown)
    height_m = begun.height_m
    column = _column_at_end(segment) if height_m is None else pressure_of_head_pa(height_m)
    missing = Unknown(Reason.RESIDUAL, segment) if flowing is None else None
    return Head(standing + column, None if flowing is None else flowing + column, missing, None)


def governing_m(solved: Solution, segment: WaterSegment) -> float | None:
    """The elevation of the regulator at the end of a line, where it sets the flowing pressure;
    None where there is none, or it stands wide open."""
    valve, head = segment.elements[-1], solved.heads[segment.number].flowing_pa
    if not sets_pressure(valve) or head is None:
        return None
    setting, point = setting_pa(valve, solved.context), segment.middle(segment.indexes[-1])
    if setting is None or point is None:
        return None
    flowing = flowing_pa(valve, solved.context) + pressure_of_head_pa(point[2])
    return point[2] if head >= flowing else None
