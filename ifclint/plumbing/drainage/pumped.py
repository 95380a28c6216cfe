"""Sumps, ejectors and pumps: what is lifted from where gravity leaves it."""

from __future__ import annotations

from ifclint.plumbing.drainage.piping import Piping
from ifclint.plumbing.drainage.segments import Service

PUMPED = "pumped"  # the kind of an outlet that is a sump, an ejector or a pump


def discharge(piping: Piping, pumped: int) -> list[int]:
    """What follows a sump or pump up to the drain it discharges into; vents are left out."""
    fed = set(piping.wet_above[pumped])
    frontier, found = [pumped], [pumped]
    while frontier:
        for index in piping.network.neighbours(frontier.pop()):
            is_own = index not in fed and not piping.is_wet(index)
            if is_own and index not in found and piping.service[index] is not Service.VENT:
                found.append(index)
                frontier.append(index)
    return found[1:]
