"""Where gas comes from: the job file's sources, else meters, regulators or tanks, else where it is
joined to existing piping."""

from __future__ import annotations

from collections.abc import Sequence

from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Role
from ifclint.network import Network
from ifclint.plumbing.flow.meters import street_meters
from ifclint.plumbing.flow.tie_ins import tie_ins
from ifclint.plumbing.gas.gas_piping import is_regulator

USERS = frozenset({Role.APPLIANCE, Role.HEATER})


def gas_sources(network: Network, piping: list[int], named: Sequence[str]) -> list[int]:
    elements = network.elements
    if named:
        return [i for i in piping if elements[i].guid in named]
    meters = [i for i in piping if elements[i].role is Role.METER]
    regulators = [i for i in piping if is_regulator(elements[i])]
    if len(meters) > 1:
        return street_meters(network, piping, meters, lambda e: e.role in USERS)
    if meters or len(regulators) == 1:
        return meters or regulators
    tanks = [i for i in piping if elements[i].role is Role.TANK]
    behind = sorted({i for tank in tanks for i in _first_behind(network, tank, set(piping))})
    return behind or tie_ins(network, piping)


def _first_behind(network: Network, tank: int, piping: set[int]) -> set[int]:
    """The first regulators on every way from a tank; the tank where it is joined to none."""
    regulators = {i for i in piping if is_regulator(network.elements[i])}
    reached = by_steps(
        [tank], lambda i: () if i in regulators else piping.intersection(network.neighbours(i))
    )
    is_joined = len(reached) > 1
    return regulators & reached.keys() or ({tank} if is_joined else set())
