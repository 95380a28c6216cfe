"""Bathrooms the code values as one group: a closet, a lavatory and a bath that rarely run at once.

IPC Table E103.3(2) and IRC Table P2903.6: a full bath with a flush tank is 3.6 units and not the
4.3 its fixtures add up to.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterator

from ifclint.codes import Row, SupplyUnits
from ifclint.codes.fixture_units import choose_row
from ifclint.engineering.arithmetic import not_below_zero
from ifclint.packs import Context
from ifclint.plumbing.bathrooms import rooms
from ifclint.plumbing.supply.segments import COLD, HOT, WaterSegment
from ifclint.plumbing.supply.water_fixtures import WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.units import facts_of, gives

Known = dict[WaterFixture, SupplyUnits]
Group = tuple[WaterFixture, ...]


def group_discounts(
    context: Context, supply: Supply, units: dict[WaterFixture, SupplyUnits | None]
) -> Iterator[tuple[int, float]]:
    """An element of the piping, and by how many units less than the sum of its fixtures a group
    loads what leads to it. Private use only: the values are those of private closets."""
    occupancy = context.job.building.use
    if "supply_fixture_groups" not in context.code.tables or occupancy != "private":
        return
    known = {fixture: listed for fixture, listed in units.items() if listed is not None}
    for row, group in _groups(context, known):
        less = {HOT: 0.0, COLD: 0.0}
        meets = {service: _meeting(supply, group, (service,)) for service in less}
        for service, at in meets.items():
            side = row.number_or_none(f"wsfu_{service}")
            given = sum(_side(fixture, service, known) for fixture in group)
            if at is not None and side is not None and given > side:
                less[service] = given - side
                yield at.indexes[-1], given - side
        total = sum(known[fixture].total for fixture in group)
        parting = _meeting(supply, group, (COLD, HOT))
        if parting is not None and None not in meets.values():
            yield (
                parting.indexes[-1],
                not_below_zero(total - row.number("wsfu")) - sum(less.values()),
            )


def _groups(context: Context, known: Known) -> Iterator[tuple[Row, Group]]:
    """As many groups in each room as there are; no fixture counts in two."""
    fed = [fixture for fixture in known if fixture.fed]
    room_of = rooms(context, ((f.element, f.kind) for f in fed))
    together: dict[Hashable, list[WaterFixture]] = defaultdict(list)
    for fixture in fed:
        if fixture.element.guid in room_of:
            together[room_of[fixture.element.guid]].append(fixture)
    named: dict[str, list[Row]] = defaultdict(list)
    for row in context.code.table("supply_fixture_groups").rows:
        named[row.text("fixtures")].append(row)
    for left in together.values():
        for fixtures, rows in named.items():
            wanted = [kinds.split("|") for kinds in fixtures.split()]
            while group := _one_of_each(left, wanted):
                row, _ = choose_row(tuple(rows), facts_of(group[0]))
                yield row, group
                left[:] = [fixture for fixture in left if fixture not in group]


def _one_of_each(left: list[WaterFixture], wanted: list[list[str]]) -> Group:
    found = [next((f for f in left if f.kind in kinds), None) for kinds in wanted]
    return tuple(f for f in found if f is not None) if None not in found else ()


def _side(fixture: WaterFixture, service: str, known: Known) -> float:
    """What a fixture adds to its branches of one service."""
    return sum(gives(fixture, tap, known[fixture]) for tap in fixture.fed if tap.service == service)


def _meeting(supply: Supply, group: Group, services: tuple[str, ...]) -> WaterSegment | None:
    """The last line that feeds all connections of a group; None where there is none."""
    fed = [t.segment for f in group for t in f.fed if t.service in services]
    met: WaterSegment | None = next(iter(fed), None)
    for segment in fed[1:]:
        met = supply.met(met, segment) if met is not None and segment is not None else None
    return met
