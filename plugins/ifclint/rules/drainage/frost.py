"""Rules about drains and traps where it freezes."""

from collections.abc import Iterator, Sequence

from ifclint.checks import PASS, Fact, not_known, violation
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Point
from ifclint.packs import Context, rule
from ifclint.plumbing import DrainSegment, TrapArm
from ifclint.plumbing.surroundings.cold import FREEZES, ColdPlace, cold_place, middle_of_pipe

KEPT_WARM = Fact(
    "{}; what keeps it from freezing is not stated.",
    "Move it into heated space, or state how it is kept warm (its insulation).",
    asked_once=True,
)


@rule(
    title="Trap kept from freezing",
    clauses={"upc": "312.6", "ipc": "305.4", "irc": "P2603.5"},
    applies=lambda arm: arm.trap is not None,
)
def trap_frost(arm: TrapArm, context: Context) -> Answer:
    """A trap stands full, and bursts in the first cold night.

    Where the job file says it freezes: a trap, or a fixture with a trap inside, that stands in a
    space named attic, crawl space, garage or the like, or whose middle lies in an exterior wall.
    Without insulation, where the model says so, it is wrong; where it does not say, it is asked, as
    it is where the job file does not tell whether it freezes. A trap in the ground is excused.
    """
    place = _freezing_at(arm.element, arm.element.position, context)
    if place is None:
        return PASS
    is_open = _insulated(arm.element) is None
    return _in_the_cold(f"The trap of {arm.fixture.label}", place, is_open, [arm.key], context)


@rule(
    title="Drain kept from freezing",
    clauses={"upc": "312.6", "ipc": "305.4", "irc": "P2603.5"},
    applies=lambda segment: bool(segment.pipes),
)
def drain_frost(segment: DrainSegment, context: Context) -> Iterator[Answer]:
    """What drips through a cold pipe freezes to its wall, until the pipe is shut.

    Pipe whose middle lies in an exterior wall or in a space named attic, crawl space, garage or the
    like, as of traps. Pipe in the ground is excused.
    """
    yield PASS
    bare: dict[tuple[ColdPlace, bool], list[str]] = {}
    for pipe in segment.pipe_elements:
        place = _freezing_at(pipe, middle_of_pipe(pipe), context)
        if place is not None:
            bare.setdefault((place, _insulated(pipe) is None), []).append(pipe.guid)
    for (place, is_open), guids in bare.items():
        yield _in_the_cold(segment.label, place, is_open, guids, context)


def _freezing_at(element: Element, point: Point | None, context: Context) -> ColdPlace | None:
    """Where it is, or may be, freezing around a point of an element that is not insulated."""
    if context.job.building.freezing is False or _insulated(element) is True:
        return None
    if point is not None and context.is_in_ground(point):
        return None
    return cold_place(element, point, context)


def _insulated(element: Element) -> bool | None:
    return element.properties.flag("insulated")


def _in_the_cold(
    what: str, place: ColdPlace, is_open: bool, guids: Sequence[str], context: Context
) -> Answer:
    """What is said of what lies in the cold and is not insulated, or not known to be."""
    lies = f"{what} lies in {place.words}"
    if context.job.building.freezing is None:
        return not_known(FREEZES, lies, elements=guids, about=guids[0])
    if is_open or not place.is_certain:
        return not_known(KEPT_WARM, lies, elements=guids, about=guids[0])
    return violation(
        message=f"{lies}, bare, where it freezes.",
        remedy="Move it into heated space, or keep it from freezing.",
        elements=guids,
        about=guids[0],
    )
