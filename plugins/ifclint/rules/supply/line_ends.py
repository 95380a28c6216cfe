"""Rules about both ends of the lines: what feeds them, and what takes the water."""

from collections.abc import Iterator

from ifclint.checks import PASS, Fact, not_known
from ifclint.engineering.joined import by_steps
from ifclint.engineering.wording import how_many
from ifclint.findings import Answer
from ifclint.ifc.elements import Element, Role
from ifclint.packs import ANY_CODE, Context, derived, rule
from ifclint.plumbing.facts import fact
from ifclint.plumbing.supply.fills import filled
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_supply import Supply, WaterService
from ifclint.rules.supply.dead_legs import is_behind_its_device

SHOWN = 20  # elements listed that nothing feeds
DRY = frozenset({"generator", "furnace", "fireplace", "dryer", "unit-heater", "air-conditioner"})
DRY_ENDS = frozenset({"hood", "compressor", "space-heater"})  # and what is no appliance
TAKER = Fact(
    "{} is joined to {}, which is not understood.",
    "Give what takes the water its IFC class, or name it or its type in trade words.",
)
DRY_TAKER = Fact(
    "{} leads to {}; what takes the water there, and whether it can foul it, is not known.",
    "Name what takes the water, or draw the backflow preventer before it.",
)
SOURCE = Fact(
    'where the water comes from is not stated; "{}" was assumed.', fact("source_known").remedy
)
UNFED = Fact(
    'no source reaches {} of the water supply, the first of them "{}".',
    "Join them to the supply; hot piping needs its water heater joined on both sides.",
)
USERS = frozenset({Role.FIXTURE, Role.HEATER, Role.APPLIANCE})


@rule(title="Water comes from a known source and reaches all piping", clauses=ANY_CODE)
def supply_is_fed(service: WaterService, context: Context) -> Iterator[Answer]:
    """Nothing can be said of pressure in pipe that no source reaches.

    The source is the job file's, else the meter, or where the pipe before it begins; where there
    is neither, the largest open end of the cold piping is assumed. Piping that nothing feeds is
    listed: an open end, a missing joint, or hot piping whose heater is not modelled. The lines of
    relief valves are no supply, whatever system they are in.
    """
    elements = [service.supply.elements[i] for i in _unfed(context) if service.holds(i)]
    yield PASS
    if service.source_known is None:
        yield not_known(SOURCE, service.element.label)
    if elements:
        ids, first = [e.guid for e in elements[:SHOWN]], elements[0]
        yield not_known(
            UNFED, how_many(len(elements), "element"), first, elements=ids, about=first.guid
        )


@derived
def _unfed(context: Context) -> list[int]:
    """What no source feeds, but for the lines of relief valves, boilers that heat rooms, what
    stands before a source, and tanks that a line fills from above."""
    supply, before = context.plumbing.supply, _before_sources(context)
    relieved = {e for line in context.plumbing.heaters.relief_lines for e in line.element_ids}
    excused = relieved | filled(supply.segments)
    unfed = (
        i for i in supply.not_fed if supply.elements[i].guid not in excused and i not in before
    )
    return [
        i for i in unfed if supply.elements[i].role is not Role.HEATER or not supply.heats_rooms(i)
    ]


def _before_sources(context: Context) -> set[int]:
    """The street's side of the sources: what is joined to one, is not fed by it, and leads to
    nothing that uses water."""
    supply = context.plumbing.supply
    unfed, found = set(supply.not_fed), set[int]()
    for head in supply.heads:
        beside = set(by_steps([head], lambda i: unfed.intersection(supply.network.neighbours(i))))
        beside &= unfed
        if not any(_uses_water(supply, i) for i in beside):
            found |= beside
    return found


def _uses_water(supply: Supply, index: int) -> bool:
    around = (index, *supply.network.neighbours(index))
    return any(supply.elements[i].role in USERS for i in around)


@rule(
    title="What takes water at the end of every line known",
    clauses=ANY_CODE,
    applies=lambda segment: not segment.below,
)
def water_taker_known(segment: WaterSegment, context: Context) -> Answer:
    """A soda machine that nobody knows of can poison the water of a whole restaurant.

    Lines that the model joins to something that neither its class nor its name shows to be
    plumbing, or to an appliance that by its kind takes no water (a generator, a hood), without a
    backflow preventer: its demand and its protection against backflow are then not judged.
    """
    if segment.leads_to is None:
        dry = _dry_taker(segment)
        is_open = dry is not None and not is_behind_its_device(segment)
        return not_known(DRY_TAKER, segment, dry) if is_open else PASS
    what = f'"{segment.leads_to}"' if segment.leads_to else "something"
    return not_known(TAKER, segment, what)


def _dry_taker(segment: WaterSegment) -> Element | None:
    """What a line leads to that takes no water by its kind."""
    made, last = segment.distribution, segment.elements[-1]
    if segment.connection is None:
        return last if last.kind in DRY_ENDS else None
    taker = made.elements[segment.connection.element]
    return taker if taker.kind in DRY else None
