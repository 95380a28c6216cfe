"""What lines carry of what a fixture takes by several connections, and by mixing valves.

Of a flow q at the temperature M, mixed of hot H and cold C, q (M - C) / (H - C) is hot and the rest
cold: both together are q, and neither is ever more. How it divides changes with the season and with
whoever turns the handle, so that each inlet is sized for the most it may carry, and what feeds both
for q. Of one fixture's valve each inlet carries what the code gives a fixture's hot and cold
connection (three quarters, where it prints no other). What other valves mix may come from the hot
side whole, where the heater is set no hotter than the valve, and from the cold by three quarters:
a heater at 180 F, a valve at 100 F and cold water at 70 F make it 0.73.
"""

from collections.abc import Callable, Iterator, Mapping, MutableMapping
from dataclasses import dataclass

from ifclint.codes import SupplyUnits
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap
from ifclint.plumbing.supply.water_supply import Supply

Inlets = Callable[[float], tuple[float, float]]
COLD_SHARE = 0.75  # of what a valve for many gives, at most, is cold. Ours, by the equation


def inlets_of(value: float, units: SupplyUnits) -> tuple[float, float]:
    """What the hot and the cold inlet of a fixture's own valve carry of what a connection takes."""
    share = value / units.total if units.total else 0.0
    hot = units.total if units.hot is None else units.hot
    cold = units.total if units.cold is None else units.cold
    return share * hot, share * cold


@dataclass(frozen=True)
class _Way:
    """One way by which water comes to a fixture: the line it leaves, what that carries of it, and
    the connections whose water it is."""

    line: WaterSegment
    value: float
    taps: frozenset[Tap]


def put_on(
    loads: MutableMapping[int, float],
    supply: Supply,
    taps: Mapping[Tap, float],
    whole: float,
    inlets: Inlets,
) -> None:
    """Put what the connections of a fixture take on the piping that they are fed by.

    Where the ways of its water come together, hot and cold or those of the two inlets of a mixing
    valve, the line that feeds them carries no more than their connections take, nor than `whole`:
    the fixture is counted once. `inlets` tells what the inlets (hot, cold) of a valve carry that
    a connection alone is behind.
    """
    ways = [way for tap, value in taps.items() for way in _ways(loads, supply, tap, value, inlets)]
    while (found := supply.parting.last_met([way.line for way in ways])) is not None:
        one, other, by = ways[found[0]], ways[found[1]], found[2]
        both = one.taps | other.taps
        value = min(one.value + other.value, sum(taps[tap] for tap in both), whole)
        loads[by.indexes[-1]] += value - one.value - other.value
        ways = [w for w in ways if w not in (one, other)] + [_Way(by, value, both)]


def _ways(
    loads: MutableMapping[int, float], supply: Supply, tap: Tap, value: float, inlets: Inlets
) -> Iterator[_Way]:
    """The ways of the water of one connection, each put on the piping: its own, up to the first
    mixing valve, and from each valve on those of its two inlets."""
    at, carried, own = tap.connection.up, value, inlets(value)
    loads[at] += value
    for mixer in supply.mixers(tap):
        above, cold_at = supply.distribution.up[mixer], supply.cold_inlets[mixer]
        hot, cold = own if supply.serves[mixer] <= 1 else (carried, COLD_SHARE * carried)
        loads[above] += hot - carried
        loads[cold_at] += cold
        yield _Way(supply.segment_of[cold_at], cold, frozenset({tap}))
        at, carried, own = above, hot, (hot, COLD_SHARE * hot)
    yield _Way(supply.segment_of[at], carried, frozenset({tap}))
