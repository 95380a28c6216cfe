"""The rule about suds at the foot of a stack."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from ifclint.checks import NOT_APPLICABLE, PASS, Fact, check, due, not_known
from ifclint.codes import Limit
from ifclint.engineering.joined import NONE
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M_PER_FT
from ifclint.engineering.wording import apart_text
from ifclint.findings import Answer
from ifclint.packs import Context, derived, rule
from ifclint.plumbing import DrainSegment, Fixture, Stack
from ifclint.rules.drainage.stack_bases import junctions

SUDS = frozenset(
    {"bathtub", "laundry-sink", "clothes-washer", "kitchen-sink", "dishwasher"}
)  # UPC 711.1
OF_A_HOUSE = 1  # kitchen, and laundry: with more it is no single-family house. Ours, no source
STOREYS_OF_A_HOUSE = 4  # with fixtures on them; a taller building is none. Ours, no source
UNPLACED = Fact(
    "how far from the foot of {} drains join it",
    "Give the pipes of the stack and of its branches shapes or placed ports.",
)
ONE_FAMILY = Fact(
    "drains join near the foot of {}, where suds stand; whether this is a single-family house, "
    "which is excused, the model does not show.",
    "Draw its kitchens, or state in the job file that its use is public (building.occupancy).",
)


@rule(title="No drain joins where suds stand at the foot of a stack", clauses={"upc": "711.1"})
def suds_zone(stack: Stack, context: Context) -> Answer | list[Answer]:
    """Suds that fall down a tall stack are pressed back into what joins it near its foot.

    Stacks that take tubs, laundries, kitchen sinks or dishwashers, and fixtures of three storeys
    and more: the distance of each branch from the turn at the foot, up the stack and along the
    drain below, be it level or vertical. Single-family houses (one kitchen, no second laundry, no
    more than four storeys) are excused; where no kitchen is drawn and the job file gives no public
    use, whether it is one is a question.
    """
    storeys, house = due(context.code.limit_or_none("suds_storeys")), _is_house(context)
    if house is True or not _stands_in_suds(stack, storeys.value, context):
        return NOT_APPLICABLE
    least = context.code.limit("suds_distance_ft")
    joining = list(_joining(stack, context))
    if unplaced := tuple(guid for distance_m, _, guid in joining if distance_m is None):
        return not_known(UNPLACED, stack, elements=unplaced)
    placed = [(d / M_PER_FT, where, guid) for d, where, guid in joining if d is not None]
    near = [guid for feet, _, guid in placed if not at_least(feet, least.value, "ft")]
    if near and house is None:
        return not_known(ONE_FAMILY, stack, elements=(near[0], stack.base.first.guid))
    return [_out_of_suds(stack, least, *joined) for joined in placed] or PASS


def _out_of_suds(stack: Stack, least: Limit, feet: float, where: str, guid: str) -> Answer:
    """How far from the foot of a stack a drain joins."""
    return check(
        round(feet, 3),
        at_least=least,
        message=f"A drain joins {apart_text(feet, least.value, 'ft')} {where} the foot of "
        f"{stack.label}, where suds stand.",
        remedy=f"Join the drain {least.value:g} ft from there, or to a drain of its own.",
        elements=(guid, stack.base.first.guid),
        about=guid,
    )


@derived
def _is_house(context: Context) -> bool | None:
    """Whether the building is a single-family house, as far as its kitchens, laundries and
    storeys tell."""
    kinds = [f.kind for f in context.plumbing.fixtures]
    kitchens = kinds.count("kitchen-sink")
    if context.job.building.occupancy in ("public", "assembly") or kitchens > OF_A_HOUSE:
        return False
    if kinds.count("clothes-washer") > OF_A_HOUSE:
        return False
    level_of = context.plumbing.surroundings.floors.level_of
    if len({level_of(f.element) for f in context.plumbing.fixtures}) > STOREYS_OF_A_HOUSE:
        return False
    return True if kitchens else None


def _stands_in_suds(stack: Stack, storeys: float, context: Context) -> bool:
    if not _suds(context)[stack.base]:
        return False
    return _floors_drained(context)[stack.base] >= storeys


@derived
def _suds(context: Context) -> dict[DrainSegment, float]:
    """How many fixtures that give suds drain through each segment."""
    plumbing = context.plumbing
    return plumbing.load({f: 1.0 for f in plumbing.fixtures if f.kind in SUDS})


@derived
def _floors_drained(context: Context) -> Counter[DrainSegment]:
    """On how many floors fixtures stand that drain through each segment."""
    stands = context.plumbing.surroundings.floors.level_of
    on_floor: dict[float | str, dict[Fixture, float]] = defaultdict(dict)
    for fixture in context.plumbing.fixtures:
        on_floor[stands(fixture.element)][fixture] = 1.0
    found = Counter[DrainSegment]()
    for given in on_floor.values():
        takes = context.plumbing.load(given)
        found.update(segment for segment, amount in takes.items() if amount > 0)
    return found


def _joining(stack: Stack, context: Context) -> Iterator[tuple[float | None, str, str]]:
    """How far from the foot drains join, above or past it, along the centrelines, and their first
    elements."""
    if stack.foot == NONE:
        return
    piping = context.plumbing.venting.piping
    for branch in (b for interval in stack.intervals for b in interval.branches):
        yield piping.developed_m(branch.meets, stack.foot), "above", branch.first.guid
    for distance_m, below in junctions(stack, context, or_vertical=True):
        yield distance_m, "past", below.first.guid
