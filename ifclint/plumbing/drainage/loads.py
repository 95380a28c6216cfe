"""Drainage fixture units: of each fixture, and gathered on each drain."""

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from ifclint.codes import AdoptedCode, FixtureUnits, Row
from ifclint.engineering.arithmetic import Step
from ifclint.engineering.joined import onward
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.wording import number_text
from ifclint.ifc.elements import Element
from ifclint.plumbing.bathrooms import CLOSET as CLOSET
from ifclint.plumbing.bathrooms import rooms
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.inflows import (
    continuous_dfu,
    unknown_inflows,
    unstated_pumps,
    upper_ends,
)
from ifclint.plumbing.drainage.received import line_size_in, received_by
from ifclint.plumbing.drainage.segments import DrainSegment
from ifclint.plumbing.drainage.through_air import ends_in_drain
from ifclint.plumbing.facts import Fact

SMALL_FLUSH_DFU = 3.0  # a private closet of 1.6 gal or less gives this in every edition
INTO_THE_SINK = frozenset({"dishwasher", "disposer"})
GIVE_LOADS = (
    "Name those fixtures by kind or give their traps a size, model the fixtures of branches that "
    "end open, and state what pumps discharge (job file, drainage.continuous_flow)."
)
BY_DRAIN = "no trap is drawn: loaded as by one of its drain's size"
NOT_DRAWN = "fixture-that-is-not-drawn"  # in the place of a kind
BY_ITS_TRAP = "what drains into it is not known: loaded by the size of its trap"
BY_LEAST = "which it is, is not known: the least that any fixture listed for its trap gives"
BY_OUTLET = "its trap is its own: loaded by the size of its drain"
LOADS = Fact("what {} brings is not known, and with it the load of {}.", GIVE_LOADS)


@dataclass
class Loads:
    """What the fixtures give and what the drains carry, in drainage fixture units."""

    units: dict[Fixture, FixtureUnits | None]
    gives: dict[Fixture, float]  # after what a shared trap leaves out
    carried: dict[DrainSegment, float]
    fixtures: dict[DrainSegment, float]  # how many fixtures drain through a segment
    unknown: dict[DrainSegment, float]  # how many inflows have no known units
    unstated: frozenset[Fixture]  # whose units are not known
    unnamed: dict[DrainSegment, float]  # how many fixtures are of no known kind
    closets: dict[DrainSegment, float]
    by_kind: dict[str, dict[DrainSegment, float]]  # units of each kind of fixture on each segment
    count_by_kind: dict[str, dict[DrainSegment, float]]
    corrections: dict[str, dict[DrainSegment, float]] = field(
        default_factory=dict
    )  # words -> units
    sources: dict[str, str] = field(default_factory=dict)  # kind -> clause of its units
    assumed: dict[str, tuple[str, ...]] = field(default_factory=dict)  # kind -> what was taken

    def unstated_in(self, drains: Iterable[DrainSegment], fixtures: Iterable[Fixture]) -> float:
        """How many of the loads that drains and fixtures bring are not known."""
        return sum(self.unknown[d] for d in drains) + sum(f in self.unstated for f in fixtures)

    def steps(self, segment: DrainSegment) -> tuple[Step, ...]:
        """How the load of a segment adds up."""
        steps = []
        for kind in sorted(self.by_kind):
            units, count = self.by_kind[kind][segment], self.count_by_kind[kind][segment]
            if count:
                without = "counted with the sink" if kind in INTO_THE_SINK else "units not known"
                each = f" at {number_text(units / count)}" if units else f", {without}"
                named = kind.replace("-", " ") or "fixture of no known kind"
                words = f"{number_text(count)} × {named}{each}"
                steps.append(Step(words, units, "DFU", self.sources.get(kind, "")))
                steps += [Step(said) for said in self.assumed.get(kind, ())]
        for words, amount in self.corrections.items():
            if amount[segment]:
                steps.append(Step(words, amount[segment], "DFU"))
        steps.append(Step("Load on the drain", self.carried[segment], "DFU"))
        return tuple(steps)


@derived
def loads(context: Context) -> Loads:
    """The loads of a building under its adopted code."""
    plumbing, code = context.plumbing, context.code
    units = {f: fixture_units(f, context) for f in plumbing.fixtures}
    private = context.job.building.use == "private"
    gives = {
        f: _gives(f, u, private) if f.is_drawn else _at_least(f, context) for f, u in units.items()
    }
    counted = [f for f in plumbing.fixtures if f.outlet is not None]
    load = plumbing.load
    waiting = [f for f, u in units.items() if not (f.is_drawn and _known(u))]
    unstated = frozenset(f for f in waiting if not ends_in_drain(context, f))
    kind_of = {f: f.kind if f.is_drawn else NOT_DRAWN for f in counted}
    kinds = sorted(set(kind_of.values()))
    by_kind = {k: load({f: gives[f] for f in counted if kind_of[f] == k}) for k in kinds}
    count_by_kind = {k: load({f: 1.0 for f in counted if kind_of[f] == k}) for k in kinds}
    carried = {segment: sum(by_kind[k][segment] for k in kinds) for segment in plumbing.drains}
    made = Loads(
        units,
        gives,
        carried,
        load(dict.fromkeys(counted, 1.0)),
        _unknown(context, [f for f in counted if f in unstated]),
        unstated,
        load({f: 1.0 for f in counted if not f.kind}),
        count_by_kind.get(CLOSET) or load({}),
        by_kind,
        count_by_kind,
        sources={f.kind: u.row.clause for f, u in units.items() if f.is_drawn and u is not None},
        assumed={f.kind: u.basis for f, u in units.items() if f.is_drawn and u and u.basis}
        | {NOT_DRAWN: (BY_LEAST,)},
    )
    _add_groups(made, context, counted)
    _add_battery(made, code)
    _add_continuous(made, context)
    return made


def fixture_units(fixture: Fixture, context: Context) -> FixtureUnits | None:
    """The row of the adopted code for a fixture; by its trap where the code lists none.

    One that lacks its trap, among others that have theirs, or has it inside, is taken as trapped in
    its drain's size.
    """
    units = _units_for(fixture, fixture.trap_size_in, context)
    units = _of_receptor(fixture, units, context) or units
    if _known(units):
        return units
    by = BY_DRAIN if _lacks_its_trap(fixture, context) else BY_OUTLET if _has_own(fixture) else ""
    by_drain = _units_for(fixture, fixture.drain_size_in, context) if by else None
    return replace(by_drain, basis=(*by_drain.basis, by)) if by_drain is not None else units


def _has_own(fixture: Fixture) -> bool:
    return fixture.trap is not None and fixture.trap.integral and bool(fixture.kind)


def _units_for(fixture: Fixture, trap_in: float | None, context: Context) -> FixtureUnits | None:
    facts = _facts(fixture, trap_in)
    kind, occupancy = fixture.kind, context.job.building.use
    listed = context.code.fixture_units(kind, occupancy, facts) if kind else None
    if (listed is not None and listed.dfu is not None) or trap_in is None:
        return listed
    return context.code.unlisted_fixture_units(trap_in) or listed


def _facts(fixture: Fixture, trap_in: float | None) -> dict[str, Any]:
    facts = dict(fixture.element.properties)
    return facts if trap_in is None else facts | {"trap_in": trap_in}


def _of_receptor(
    fixture: Fixture, by_trap: FixtureUnits | None, context: Context
) -> FixtureUnits | None:
    """The load of what drains into a receptor, where the code takes it from that; by the IPC, not
    less than that of its trap (709.4, as a code derived from it has it)."""
    facts = _facts(fixture, fixture.trap_size_in)
    listed = context.code.fixture_units(fixture.kind, context.job.building.use, facts)
    if listed is None or listed.dfu is not None or by_trap is None:
        return None
    given = [_through_the_air(f, context) for f in received_by(fixture, context)]
    known = [dfu for dfu in given if dfu is not None]
    if not given or len(known) < len(given):
        return replace(by_trap, basis=(BY_ITS_TRAP,)) if by_trap.row is not listed.row else None
    least = by_trap.dfu if context.code.is_edition_of("ipc") else None
    return replace(listed, dfu=max(sum(known), least or 0.0))


def _through_the_air(fixture: Fixture, context: Context) -> float | None:
    """What drains into a receptor gives; what the code does not list, by the size of its line."""
    units, size = fixture_units(fixture, context), line_size_in(fixture, context)
    if not _known(units) and size is not None:
        units = context.code.unlisted_fixture_units(size)
    return units.dfu if units is not None else None


def _lacks_its_trap(fixture: Fixture, context: Context) -> bool:
    through_air = fixture.is_indirect or fixture.gives_condensate
    untrapped = fixture.trap is None and bool(fixture.kind) and not through_air
    return untrapped and _draws_traps(context)


@derived
def _draws_traps(context: Context) -> bool:
    return any(f.trap is not None and not f.trap.integral for f in context.plumbing.fixtures)


def _unknown(context: Context, fixtures: list[Fixture]) -> dict[DrainSegment, float]:
    """How many loads on each segment are not known: of fixtures, and of inflows not drawn."""
    plumbing = context.plumbing
    values: dict[int, float] = {fixture.index: 1.0 for fixture in fixtures}
    for inflow in unknown_inflows(context):
        index = upper_ends(context).get(inflow, inflow)
        values[index] = values.get(index, 0.0) + 1.0
    flow = plumbing.drainage.accumulate(values)
    return {segment: flow[segment.indexes[-1]] for segment in plumbing.drains}


@derived
def brings(context: Context) -> dict[DrainSegment, Element]:
    """Of the unknown loads that come down to a drain the first: a fixture, a pump, or where water
    enters that is not drawn."""
    plumbing = context.plumbing
    elements, down = plumbing.network.elements, plumbing.drainage.down
    of = {f.index: f.element for f in plumbing.fixtures if f in loads(context).unstated}
    of |= {i: elements[i] for i in unknown_inflows(context) if i not in of}
    of |= {at: elements[pump] for at, pump in unstated_pumps(context)}
    first: dict[int, Element] = {}
    upper = upper_ends(context)
    for index in sorted(of):
        for below in onward(upper.get(index, index), down):
            if below in first:
                break
            first[below] = of[index]
    return {s: first[s.indexes[-1]] for s in plumbing.drains if s.indexes[-1] in first}


def _known(units: FixtureUnits | None) -> bool:
    return units is not None and units.dfu is not None


def _gives(fixture: Fixture, units: FixtureUnits | None, private: bool) -> float:
    """In private use a dishwasher or disposer on the trap of a sink is in the sink's value."""
    if private and fixture.kind in INTO_THE_SINK and fixture.trap is not None:
        others = [f for f in fixture.trap.fixtures if f is not fixture]
        if any(f.kind not in INTO_THE_SINK for f in others):
            return 0.0
    return units.dfu if units is not None and units.dfu is not None else 0.0


def _at_least(fixture: Fixture, context: Context) -> float:
    """What a fixture that is not drawn gives whatever it is, by the size of its trap."""
    size = fixture.trap_size_in
    return context.code.least_units(size, context.job.building.use) if size is not None else 0.0


def _add_groups(made: Loads, context: Context, counted: list[Fixture]) -> None:
    """Where the code values a bathroom group as one, take the difference off below the group.

    Private use only: the group values are those of closets in private use.
    """
    occupancy = context.job.building.use
    if "fixture_groups" not in context.code.tables or occupancy != "private":
        return
    room_of = rooms(context, ((f.element, f.kind) for f in counted))
    together: dict[Hashable, list[Fixture]] = defaultdict(list)
    for fixture in counted:
        if fixture.element.guid in room_of:
            together[room_of[fixture.element.guid]].append(fixture)
    discount: dict[DrainSegment, float] = defaultdict(float)
    small_flush, large_flush = context.code.table("fixture_groups").rows
    for group in (group for members in together.values() for group in _bathrooms(members)):
        meeting = _first_common_run(group)
        if meeting is None:
            continue
        row = small_flush if made.gives[group[0]] <= SMALL_FLUSH_DFU else large_flush
        discount[meeting] += min(0.0, row.number("dfu") - sum(made.gives[f] for f in group))
    amounts = _downstream(context, discount)
    words = f"bathroom groups valued as one ({small_flush.clause})"
    made.corrections[words] = amounts
    for segment, amount in amounts.items():
        made.carried[segment] += amount


def _bathrooms(members: list[Fixture]) -> list[list[Fixture]]:
    """Closet, lavatory and bathtub or shower of one room, as many groups as there are."""
    wanted = ((CLOSET,), ("lavatory",), ("bathtub", "shower"))
    of_kind = [[f for f in members if f.kind in kinds] for kinds in wanted]
    return [list(group) for group in zip(*of_kind, strict=False)]


def _first_common_run(fixtures: list[Fixture]) -> DrainSegment | None:
    """The first segment that all of the fixtures drain through."""
    common: list[DrainSegment] | None = None
    for fixture in fixtures:
        path = []
        segment = fixture.drain
        while segment is not None:
            path.append(segment)
            segment = segment.next
        passed = set(path)
        common = path if common is None else [r for r in common if r in passed]
    return common[0] if common else None


def _downstream(context: Context, given: dict[DrainSegment, float]) -> dict[DrainSegment, float]:
    """What is given to some runs, carried down by all segments below them."""
    amounts = dict.fromkeys(context.plumbing.drains, 0.0)
    for segment in reversed(context.plumbing.drains):  # upstream first
        amounts[segment] += given.get(segment, 0.0)
        if segment.next is not None and segment.next in amounts:
            amounts[segment.next] += amounts[segment]
    return amounts


def _add_battery(made: Loads, code: AdoptedCode) -> None:
    """Where the code counts a battery of clothes washers higher, add what is missing."""
    washers = made.count_by_kind.get("clothes-washer")
    least = code.limit_or_none("clothes_washer_battery_count")
    if washers is None or least is None:
        return
    each = code.limit("clothes_washer_battery_dfu").value
    extra = {
        segment: count * each - made.by_kind["clothes-washer"][segment]
        if count >= least.value
        else 0.0
        for segment, count in washers.items()
    }
    made.corrections[f"battery of clothes washers at {each:g} ({least.clause})"] = extra
    for segment, amount in extra.items():
        made.carried[segment] += amount


@derived
def restricted_by(context: Context, row: Row) -> frozenset[Fixture]:
    """The fixtures of which a drain may take only so many, by a row of `drain_restrictions`."""
    over, six = row.number_or_none("dfu_over"), row.number_or_none("any_trap_dfu_from")
    kinds = set(row.text("fixtures").split())
    return frozenset(
        fixture
        for fixture, units in loads(context).gives.items()
        if (fixture.kind in kinds and (over is None or units > over or fixture.kind == CLOSET))
        or (six is not None and at_least(units, six))
    )


def _add_continuous(made: Loads, context: Context) -> None:
    """Continuous discharges, told and of pumps, by the code's units for each gallon per minute."""
    values = continuous_dfu(context)
    if not values:
        return
    per_gpm = context.code.limit("continuous_flow_dfu_per_gpm")
    upper = upper_ends(context)
    values = {upper.get(index, index): units for index, units in values.items()}
    carried = context.plumbing.drainage.accumulate(values)
    amounts = {segment: carried[segment.indexes[-1]] for segment in context.plumbing.drains}
    words = f"continuous flow at {per_gpm.value:g} DFU per gpm ({per_gpm.clause})"
    made.corrections[words] = amounts
    for segment, amount in amounts.items():
        made.carried[segment] += amount
