"""How large and how high the openings are that bring air to a room."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import pi

from ifclint.checks import PASS, Answer, Fact, Step, check, not_known
from ifclint.codes import Limit
from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.units import M_PER_IN
from ifclint.engineering.wording import number_text
from ifclint.packs import Context
from ifclint.rules.combustion.burners import FiredRoom
from ifclint.rules.combustion.section import Opening

PER = "btu_h_per_in2"
BEGINS = Fact(
    "how near the {} of the room an opening for {} begins",
    "State it in the job file (combustion.rooms.openings.from_{0}).",
)
VENT_SIZES = Fact(
    "whether the one opening for {} is as large as all vent connectors",
    "Draw the vent connectors with their sizes.",
)


def from_outdoors(
    room: FiredRoom,
    openings: Sequence[Opening],
    steps: Sequence[Step],
    context: Context,
    part: float = 1.0,
) -> Iterator[Answer]:
    """Two openings, one high and one low, or one that is larger; `part` of their full size."""
    if len(openings) == 1:
        yield from _single(room, openings[0], steps, context, part)
    else:
        yield from _sized(room, openings, steps, context, part)
        yield _high_and_low(room, openings, context)


def from_indoors(
    room: FiredRoom, openings: Sequence[Opening], steps: Sequence[Step], context: Context
) -> Iterator[Answer]:
    """Two openings to rooms of the storey, or one or more to those of another."""
    here = [o for o in openings if o.to == "indoors"]
    if here:
        yield from _sized(room, here, steps, context)
        yield _high_and_low(room, here, context)
        return
    row = context.code.table("combustion_openings").one(air_from="other-storey")
    if row is not None:
        area = sum(o.area for o in openings) / M_PER_IN**2
        yield _area(room, "openings to the other storey", area, row.limit(PER, ""), 0.0, steps)


def _sized(
    room: FiredRoom,
    openings: Sequence[Opening],
    steps: Sequence[Step],
    context: Context,
    part: float = 1.0,
) -> Iterator[Answer]:
    """The free area of each opening."""
    table = context.code.table("combustion_openings")
    for number, opening in enumerate(openings, 1):
        row = table.one(air_from=opening.to)
        if row is None:
            continue
        least = or_zero(row.number_or_none("least_in2"))
        name, area = f"opening {number} ({opening.to})", opening.area / M_PER_IN**2
        yield _area(room, name, area, row.limit(PER, ""), least, steps, str(number), part)
        yield from _side(room, opening, name, context)


def _single(
    room: FiredRoom, opening: Opening, steps: Sequence[Step], context: Context, part: float
) -> Iterator[Answer]:
    row = context.code.table("combustion_openings").one(air_from="outdoors-single")
    if row is None:
        return
    sizes = [b.connector.size_in if b.connector is not None else None for b in room.burners]
    known = [size for size in sizes if size is not None]
    vents = sum(pi / 4 * size**2 for size in known)
    area = opening.area / M_PER_IN**2
    yield _area(room, "the one opening", area, row.limit(PER, ""), vents, steps, part=part)
    yield from _side(room, opening, "the one opening", context)
    if len(known) < len(sizes):
        yield not_known(VENT_SIZES, room, about="vents", clause=row.clause)
    yield _reaches(room, [opening.from_top], "top", context)


def _area(
    room: FiredRoom,
    name: str,
    area_in2: float,
    per: Limit,
    least_in2: float,
    steps: Sequence[Step],
    about: str = "",
    part: float = 1.0,
) -> Answer:
    asked = max(or_zero(room.kbtuh) * 1000 / per.value, least_in2) * part
    text = f"{number_text(area_in2)} in²; {number_text(asked)} in² are asked for"
    return check(
        area_in2,
        at_least=replace(per, key="area_in2", value=asked, unit="in²"),
        message=f"{room.label}: {name} has a free area of {text}.",
        remedy=f"Enlarge the opening to {number_text(asked)} in² of free area, counted behind "
        "louvers and screens.",
        steps=(*steps, Step("Input for each in² of free area", per.value, "Btu/h", per.source)),
        limit_step="Free area asked for",
        about=about,
    )


def _side(room: FiredRoom, opening: Opening, name: str, context: Context) -> Iterator[Answer]:
    if opening.least_side is not None:
        inches = opening.least_side / M_PER_IN
        limit = context.code.limit("combustion_opening_side_in")
        yield check(
            inches,
            at_least=limit,
            message=f"{room.label}: {name} is {number_text(inches)} in across at its narrowest.",
            remedy=f"Make the opening {limit.value:g} in or more each way.",
            about=f"side of {name}",
        )


def _high_and_low(room: FiredRoom, openings: Sequence[Opening], context: Context) -> Answer:
    """One of the openings begins near the top of the room and another near its bottom."""
    high = _reaches(room, [o.from_top for o in openings], "top", context)
    return (
        high
        if high is not PASS
        else _reaches(room, [o.from_bottom for o in openings], "bottom", context)
    )


def _reaches(
    room: FiredRoom, distances_m: Sequence[float | None], end: str, context: Context
) -> Answer:
    """Whether an opening begins near enough to the top or the bottom of the room."""
    limit = context.code.limit("combustion_opening_reach_in")
    known = [d / M_PER_IN for d in distances_m if d is not None]
    if not known:
        return not_known(BEGINS, end, room.label, about=end, clause=limit.clause)
    return check(
        min(known),
        at_most=limit,
        message=f"{room.label}: the opening nearest the {end} of the room begins "
        f"{number_text(min(known))} in from it; {limit.value:g} in is the most.",
        remedy=f"Begin one opening within {limit.value:g} in of the {end} of the room.",
        about=end,
    )
