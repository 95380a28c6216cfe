"""Rules about circulated hot water itself: what moves it, what keeps it hot, what mixes it."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, missing, not_known, violation
from ifclint.findings import Answer, Change, Outcome, PartKind, Severity
from ifclint.ifc.elements import Element, Role, System
from ifclint.packs import Context, rule
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.plumbing.words import says
from ifclint.rules.supply.circulation import Return
from ifclint.rules.supply.mixing import is_for_one_point
from ifclint.rules.supply.return_ways import returns_of

HOT = frozenset({System.HOT_WATER, System.HOT_WATER_RETURN})
MOVES = (
    "circulator", "circulating pump", "circulation pump", "recirculat* pump", "recirc pump",
    "built in pump", "thermosyphon", "thermosiphon", "gravity circulation",
)  # fmt: skip
INSULATED = Fact(
    "whether {} of {} pipes of the circulated hot water by {} are insulated is not known.",
    "Give the pipes their insulation (IfcCovering, or an insulation thickness).",
)
CIRCULATORS = PartKind(
    "circulators",
    drawn=lambda context: any(_moves(e) for e in context.plumbing.supply.elements),
    remedy="Draw the circulator in the return, or name a heater that has its own.",
)


def _moves(element: Element) -> bool:
    return element.role is Role.PUMP or says(element, MOVES)


def _on_loop(found: Return, supply: Supply) -> list[Element]:
    """What circulated water passes: its return, and the hot water from the heater to it."""
    on_it = {*found.piece, *found.back}
    for index in found.hot:
        on_it.update(supply.distribution.path(index))
    return [supply.elements[i] for i in sorted(on_it)]


@rule(
    title="Hot water return with a circulator",
    clauses={"any": "common practice, no clause"},
    severity=Severity.LOW,
    applies=lambda service: bool(service.supply.returns),
)
def return_pumped(service: WaterService, context: Context) -> Iterator[Answer]:
    """Without a pump the water in a return stands still, and goes stale.

    A pump, or what is called a circulator, somewhere in the return or in the hot water on the way
    to it, or a heater or pump of the circulation at their ends; water that is said to circulate by
    its warmth is excused.
    """
    yield PASS
    supply = service.supply
    for found in returns_of(service, context):
        if not found.circulates or any(map(_moves, _on_loop(found, supply))):
            continue
        pipes = [e for i in found.piece if (e := supply.elements[i]).role is Role.PIPE]
        text = "Set a circulator in the return, before its check valve."
        ids = tuple(e.guid for e in pipes)
        yield missing(
            CIRCULATORS,
            message=f"The hot water return by {pipes[0].label} has no circulator.",
            remedy=Change("part", ids, "circulator", text),
            elements=ids,
            about=ids[0],
            wrong=Outcome.ADVISORY,
        )


@rule(
    title="Circulated hot water insulated",
    clauses={"upc": "609.11", "ipc": "607.5", "irc": "N1103.5.2"},
    severity=Severity.LOW,
    applies=lambda service: bool(service.supply.returns),
)
def circulation_insulated(service: WaterService, context: Context) -> Iterator[Answer]:
    """Bare pipe of a loop heats the building day and night.

    The pipe of each return and of the hot water on the way to it: one that is said to be bare is
    wrong; where nothing is said of some, they are asked about together. How thick the insulation is
    is not judged. The UPC's section was read in that of 2015, the others are from memory.
    """
    yield PASS
    for found in returns_of(service, context):
        loop = _on_loop(found, service.supply)
        pipes = [e for e in loop if e.role is Role.PIPE and e.system in HOT]
        if not (found.circulates and pipes):
            continue
        bare = [e for e in pipes if e.properties.flag("insulated") is False]
        unstated = [e for e in pipes if e.properties.flag("insulated") is None]
        if bare:
            yield violation(
                message=f"{len(bare)} of {len(pipes)} pipes of the circulated hot water by "
                f"{bare[0].label} are not insulated.",
                remedy="Insulate the return and the hot water on the way to it.",
                elements=tuple(e.guid for e in bare),
                about=bare[0].guid,
            )
        if unstated:
            yield not_known(
                INSULATED,
                str(len(unstated)),
                str(len(pipes)),
                unstated[0],
                elements=tuple(e.guid for e in unstated),
                about=unstated[0].guid,
            )


@rule(
    title="Circulated water mixed by a valve for it",
    clauses={"ipc": "613.1", "irc": "P2802.1"},
    applies=lambda service: bool(service.supply.returns),
)
def master_mixing_valve(service: WaterService, context: Context) -> Iterator[Answer]:
    """A valve made for one basin or shower does not hold its temperature for a building.

    A mixing valve between the heater and a hot water return, by the standard in its name: ASSE
    1016, 1069 and 1070 are those of valves at the point of use, 1017 of those at the source. The
    sections and the standards are from memory.
    """
    yield PASS
    for found in returns_of(service, context):
        for valve in _on_loop(found, service.supply):
            if found.circulates and valve.kind == "mixing" and is_for_one_point(valve):
                yield violation(
                    message=f"{valve.label}, a valve for the point of use, mixes circulated water.",
                    remedy="Fit a valve of ASSE 1017, and those of the point of use at fixtures.",
                    elements=(valve.guid,),
                    about=valve.guid,
                )
