"""Sumps of storm and ground water, and what their pumps press up."""

from dataclasses import dataclass

from ifclint.engineering.extents import covers
from ifclint.engineering.joined import by_steps
from ifclint.ifc.elements import Element, Role, System
from ifclint.network import Network
from ifclint.plumbing.context import Context, derived
from ifclint.plumbing.drainage.outlets import GRAVITY_CLIMB_M
from ifclint.plumbing.drainage.pumped import ejectors, is_of_ground
from ifclint.plumbing.flow.subject import OfElement
from ifclint.plumbing.storm.members import ROOF_DRAIN
from ifclint.plumbing.words import GROUND_WATER, says, says_text

STORM = ("storm", "rain*", "drainage sump", *GROUND_WATER)
WITH_PUMP = ("pump*", "pomp*", "bomba*", "lift station")  # a sump that has its pump, by its name
PIPING = frozenset({Role.PIPE, Role.FITTING, Role.VALVE, Role.PUMP})


@dataclass(eq=False)
class StormSump(OfElement):
    """A pit from which storm or ground water is pumped. `discharge` is what is joined to its pumps,
    chambers and fixtures apart."""

    element: Element
    index: int
    discharge: list[Element]
    service = System.STORM


@derived
def storm_sumps(context: Context) -> list[StormSump]:
    """The sumps of storm drainage, by system or name, that no fixture drains into."""
    network, used = context.plumbing.network, ejectors(context)
    return [
        StormSump(e, index, _discharge(index, network))
        for index in network.of_kinds("sump")
        if (e := network.elements[index]).role is Role.CHAMBER
        and e.guid not in used
        and _is_storm(e)
    ]


def _is_storm(sump: Element) -> bool:
    named = says(sump, STORM) or says_text(sump.system_name, STORM)
    return sump.system is System.STORM or named


def _discharge(sump: int, network: Network) -> list[Element]:
    """What leads from the pumps of a sump; from itself, where it has its pump by its name, or the
    pump that stands in it is joined to no pipe."""
    elements = network.elements
    pumps = {i for i in network.neighbours(sump) if elements[i].role is Role.PUMP}
    pumps |= {i for i in network.of_roles(Role.PUMP) if _stands_in(elements[i], elements[sump])}
    found = [elements[i] for i in sorted(_joined(pumps, network))]
    if any(e.role is Role.PIPE for e in found) or not (pumps or says(elements[sump], WITH_PUMP)):
        return found
    lines = [_joined({i}, network) for i in network.neighbours(sump)]
    return [elements[i] for line in lines if _is_pressed(line, network) for i in sorted(line)]


def _stands_in(pump: Element, sump: Element) -> bool:
    return pump.position is not None and sump.box is not None and covers(*sump.box, pump.position)


def _joined(starts: set[int], network: Network) -> set[int]:
    """Some piping, and all piping that is joined to it."""
    elements = network.elements
    return {
        *by_steps(
            starts, lambda i: (n for n in network.neighbours(i) if elements[n].role in PIPING)
        )
    }


def _is_pressed(line: set[int], network: Network) -> bool:
    """Whether piping of a sump climbs from it and brings it nothing: no drain of the ground, nor
    from a roof."""
    elements = [network.elements[i] for i in line]
    beside = (network.elements[j] for i in line for j in network.neighbours(i))
    if any(map(is_of_ground, elements)) or any(e.kind == ROOF_DRAIN for e in beside):
        return False
    heights = [p[2] for e in elements for end in e.ends if (p := end.position) is not None]
    return bool(heights) and max(heights) - min(heights) > GRAVITY_CLIMB_M
