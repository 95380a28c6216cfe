"""What is wrong with the network itself: loops of drains."""

from collections.abc import Collection
from dataclasses import dataclass

from ifclint.engineering.joined import NONE, onward
from ifclint.ifc.elements import Element, Location, Role, System
from ifclint.network import Network
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.services import dangling_ends, rough_ins
from ifclint.plumbing.flow.subject import place_of


@dataclass(frozen=True)
class DrainLoop:
    """A joint that closes a loop of drains, or an element joined to itself."""

    a: Element
    b: Element

    @property
    def key(self) -> str:
        return f"{self.a.guid}+{self.b.guid}"

    @property
    def label(self) -> str:
        if self.a is self.b:
            return f'"{self.a.label}", joined to itself'
        return f'the joint of "{self.a.label}" and "{self.b.label}"'

    @property
    def system(self) -> str:
        return self.a.system.value if self.a.system else "sanitary drainage"

    @property
    def element_ids(self) -> tuple[str, ...]:
        return (self.a.guid,) if self.a is self.b else (self.a.guid, self.b.guid)

    @property
    def location(self) -> Location:
        return place_of(self.a, self.a.position)


def find_loops(network: Network, drainage: Drainage, sources: Collection[int]) -> list[DrainLoop]:
    """Joints that give water of a drain a second path, and self-joined drainage elements.

    A vent flows back into the drain it leaves and rejoins only other vents, so that a loop with a
    wet element at the joint is one of drains. Where the two sides drain to different outlets (a
    pumped discharge joins a drain) there is no loop, nor at a pump or what draws from a sump, nor
    at a fixture of two outlets (a sink of two bowls): its water goes down one or the other.
    """
    wet, elements = drainage.passed_by(sources), network.elements
    loops = [
        DrainLoop(elements[joint.a], elements[joint.b])
        for joint in (network.joints[n] for n in drainage.cross_joints)
        if (wet[joint.a] or wet[joint.b])
        and drainage.outlet[joint.a] == drainage.outlet[joint.b]
        and System.VENT not in (elements[joint.a].system, elements[joint.b].system)
        and joint.a not in sources
        and joint.b not in sources
        and Role.PUMP not in (elements[joint.a].role, elements[joint.b].role)
        and not _is_suction(drainage, wet, joint.a, joint.b)
    ]
    inside = set(drainage.members)
    selves = [DrainLoop(elements[i], elements[i]) for i in network.self_joined() if i in inside]
    return loops + selves


def _is_suction(drainage: Drainage, wet: list[bool], a: int, b: int) -> bool:
    """Whether a joint is that of a sump and of pipe through which nothing comes to it."""
    return any(_is_outlet(drainage, i) and not wet[j] for i, j in ((a, b), (b, a)))


def _is_outlet(drainage: Drainage, index: int) -> bool:
    return _is_pumped(drainage, index) and drainage.outlets[drainage.outlet[index]].element == index


def find_unknown_inflows(
    network: Network, drainage: Drainage, sources: Collection[int]
) -> list[int]:
    """Elements at which a load enters that the model does not show: sanitary branches that end
    open without a fixture, and drains that take the discharge of a pump."""
    wet = drainage.passed_by(sources)
    elements = network.elements
    terminals = (i for i in drainage.members if elements[i].role is Role.VENT_TERMINAL)
    airy = drainage.passed_by(terminals)
    joints = (network.joints[n] for n in drainage.cross_joints)
    pumped = [
        _first_wet(drainage, wet, into)
        for joint in joints
        for into, other in ((joint.a, joint.b), (joint.b, joint.a))
        if _is_pumped(drainage, other)
        and not _is_pumped(drainage, into)
        and (wet[into] or not (airy[into] or airy[other]))
        and System.VENT not in (elements[into].system, elements[other].system)
    ]
    pumped += [_first_wet(drainage, wet, entry) for entry in drainage.entries]
    dangling = dangling_ends(network, drainage, wet)
    open_ended = [i for i in dangling if not _meets_trap(network, drainage, i)]
    stubs = rough_ins(network, drainage, wet)
    return list(dict.fromkeys([*open_ended, *stubs, *pumped]))


def _first_wet(drainage: Drainage, wet: list[bool], index: int) -> int:
    """Where a discharge enters a drain that takes fixtures; itself where it meets none."""
    return next((i for i in onward(index, drainage.down) if wet[i]), index)


def _meets_trap(network: Network, drainage: Drainage, index: int) -> bool:
    """Whether what flows here passes a trap: an open tailpiece belongs to that, and to no running
    trap, which is the building's."""
    below = (network.elements[i] for i in onward(drainage.down[index], drainage.down))
    trap = next((e for e in below if e.role is Role.TRAP), None)
    return trap is not None and trap.kind != "running-trap"


def _is_pumped(drainage: Drainage, index: int) -> bool:
    number = drainage.outlet[index]
    return number != NONE and drainage.outlets[number].kind == "pumped"
