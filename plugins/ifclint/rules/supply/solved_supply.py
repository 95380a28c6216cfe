"""What is known of the supply once it is solved: flows, losses, heads and pressures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import inf
from typing import NamedTuple

from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.units import M3_PER_S_PER_GPM, PA_PER_PSI
from ifclint.packs import Context
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.plumbing.supply.water_supply import Supply
from ifclint.rules.supply.demand import WaterDemand
from ifclint.rules.supply.loops import LoopedMain, Passing
from ifclint.rules.supply.losses import Loss, loss_of_line
from ifclint.rules.supply.missing import Reason, Unknown

NOT_FED = Unknown(Reason.NOT_FED)


@dataclass(frozen=True)
class Pressure:
    """At one connection, Pa. `missing` tells why a value is unknown, or only an upper bound;
    `unstated_pa` is what devices of unknown loss may take of the flowing pressure besides."""

    static_pa: float | None
    residual_pa: float | None
    elevation_m: float
    missing: Unknown | None = None
    static_missing: Unknown | None = None
    unstated_pa: float = 0.0

    @property
    def static_psi(self) -> float | None:
        return None if self.static_pa is None else psi(self.static_pa)

    @property
    def residual_psi(self) -> float | None:
        return None if self.residual_pa is None else psi(self.residual_pa)


class Head(NamedTuple):
    """At the far end of a line, Pa: standing and flowing, why either is unknown or only a bound,
    and what devices of unknown loss may take of the flowing besides."""

    static_pa: float | None
    flowing_pa: float | None
    missing: Unknown | None
    static_missing: Unknown | None
    unstated_pa: float = 0.0


@dataclass(repr=False)
class Solution:
    """Losses and heads of all lines. Lists go by `WaterSegment.number`.

    In looped mains the flows depend on which branch is judged: `toward` holds what passes their
    lines for each, and `flow_m3_per_s` and `loss` of such a line are those of the branch for which
    most passes it.
    """

    context: Context
    supply: Supply
    demand: WaterDemand
    flow_m3_per_s: list[float | None]
    loss: list[Loss]
    sizes_in: Mapping[int, float]  # of lines in other sizes than drawn
    heads: list[Head] = field(default_factory=list)
    looped: dict[int, LoopedMain] = field(default_factory=dict)  # by their lines
    toward: dict[int, dict[int, Passing]] = field(default_factory=dict)  # by branch, by line
    shared: set[int] = field(default_factory=set)  # lines of pairs that lead to one point
    main_pa: float | None = None  # static pressure at the main
    flowing_pa: float | None = None  # at the main at the building's demand
    fixed: dict[str, float | None] = field(default_factory=dict)  # losses at the source, Pa
    main_z_m: float = 0.0

    @property
    def fixed_pa(self) -> dict[str, float]:
        """The losses at the source that are stated."""
        return {words: lost for words, lost in self.fixed.items() if lost is not None}

    def size_in(self, segment: WaterSegment) -> float | None:
        """The size of a line, as drawn or as it is made."""
        return self.sizes_in.get(segment.number, segment.size_in)

    def resized(self, sizes_in: Mapping[int, float]) -> Solution:
        """The same flows through some lines (by number) of other sizes."""
        return replace(self, sizes_in={**self.sizes_in, **sizes_in})

    def loss_at(self, number: int, m3_per_s: float, size_in: float | None = None) -> Loss:
        """What a line loses at a flow, also in another size."""
        size_in = size_in if size_in is not None else self.sizes_in.get(number)
        return loss_of_line(self.context, self.supply.segments[number], size_in).at(m3_per_s)

    def to_source(self, segment: WaterSegment) -> Iterator[tuple[WaterSegment, float | None, Loss]]:
        """The lines from the source to one, with what passes each, m3/s, and what it loses, at the
        demand of that one."""
        lines = segment.to_source
        toward: dict[int, Passing] = {}
        for line in lines if self.toward else ():
            toward |= self.toward.get(line.number, {})
        for line in lines:
            number = line.number
            yield line, *toward.get(number, (self.flow_m3_per_s[number], self.loss[number]))

    def gpm(self, segment: WaterSegment) -> float | None:
        """What passes a line at its probable demand, in a looped main at the most."""
        flow = self.flow_m3_per_s[segment.number]
        return None if flow is None else flow / M3_PER_S_PER_GPM

    def at(self, tap: Tap) -> Pressure:
        """Standing and flowing pressure at a connection."""
        z = tap.point[2] if tap.point is not None else 0.0
        if tap.segment is None:
            return Pressure(None, None, z, NOT_FED, NOT_FED)
        head, column = self.heads[tap.segment.number], pressure_of_head_pa(z)
        return Pressure(
            None if head.static_pa is None else head.static_pa - column,
            None if head.flowing_pa is None else head.flowing_pa - column,
            z, head.missing, head.static_missing, head.unstated_pa,
        )  # fmt: skip

    def by_branch(self, fixture: WaterFixture) -> list[tuple[Tap, Pressure]]:
        """The connections of a fixture with their pressures, the least flowing pressure (not known
        is least of all) first; of several on one segment the first."""
        found = [(tap, self.at(tap)) for tap in fixture.taps]
        found.sort(key=lambda f: -inf if f[1].residual_pa is None else f[1].residual_pa)
        kept: dict[WaterSegment | None, tuple[Tap, Pressure]] = {}
        for tap, pressure in found:
            kept.setdefault(tap.segment, (tap, pressure))
        return list(kept.values())

    def worst(self, fixture: WaterFixture) -> tuple[Tap, Pressure]:
        """The connection of a fixture with the least flowing pressure."""
        return self.by_branch(fixture)[0]


def psi(pascal: float) -> float:
    return pascal / PA_PER_PSI
