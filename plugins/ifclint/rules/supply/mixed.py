"""What the inlets of a mixing valve carry of what its outlet gives.

Of a flow q at the temperature M, mixed of hot H and cold C, q (M - C) / (H - C) is hot and the rest
cold: both together are q, and neither is ever more. How it divides changes with the season and with
whoever turns the handle, so that each inlet is sized for the most it may carry, and what feeds both
for q. Of one fixture's valve each inlet carries what the code gives a fixture's hot and cold
connection (three quarters, where it prints no other). What other valves mix may come from the hot
side whole, where the heater is set no hotter than the valve, and from the cold by three quarters:
a heater at 180 F, a valve at 100 F and cold water at 70 F make it 0.73.
"""

from __future__ import annotations

from collections.abc import MutableMapping

from ifclint.codes import SupplyUnits
from ifclint.plumbing.supply.water_fixtures import Tap
from ifclint.plumbing.supply.water_supply import Supply

COLD_SHARE = 0.75  # of what a valve for many gives, at most, is cold. Ours, by the equation


def inlets_of(value: float, units: SupplyUnits) -> tuple[float, float]:
    """What the hot and the cold inlet of a fixture's own valve carry of what a connection takes."""
    share = value / units.total if units.total else 0.0
    hot = units.total if units.hot is None else units.hot
    cold = units.total if units.cold is None else units.cold
    return share * hot, share * cold


def spread_at_mixers(
    loads: MutableMapping[int, float],
    supply: Supply,
    tap: Tap,
    value: float,
    own: tuple[float, float],
) -> None:
    """Change what a connection puts on the piping, so that the two inlets of every mixing valve
    that its water passes carry their part of it, and what feeds both the whole.

    `own` is what the inlets (hot, cold) of a valve carry that this connection alone is behind.
    """
    distribution = supply.distribution
    for mixer in supply.mixers(tap):
        above, cold_at = distribution.up[mixer], supply.cold_inlets[mixer]
        hot, cold = own if supply.serves[mixer] <= 1 else (value, COLD_SHARE * value)
        loads[above] += hot - value
        loads[cold_at] += cold
        parting = supply.met(supply.segment_of[above], supply.segment_of[cold_at])
        if parting is not None:
            loads[parting.indexes[-1]] += value - hot - cold
        value, own = hot, (hot, COLD_SHARE * hot)
