"""All that is seen of traps and vents: arms, groups, vent trees, the heights they are judged by."""

from dataclasses import dataclass
from functools import cached_property
from itertools import takewhile

from ifclint.engineering.tolerance import at_most
from ifclint.engineering.units import M_PER_IN
from ifclint.ifc.elements import Element, Role
from ifclint.network import Network
from ifclint.plumbing.drainage.fixtures import Fixture
from ifclint.plumbing.drainage.gravity import Drainage
from ifclint.plumbing.drainage.hoses import hoses
from ifclint.plumbing.drainage.piping import Piping, build_piping
from ifclint.plumbing.drainage.receptors import STANDPIPE
from ifclint.plumbing.drainage.segments import DrainSegment
from ifclint.plumbing.drainage.services import Service
from ifclint.plumbing.drainage.stacks import Stack
from ifclint.plumbing.surroundings.obstacles import Surroundings, rim_m
from ifclint.plumbing.venting.islands import island_below_rim
from ifclint.plumbing.venting.trap_arms import Air, TrapArm, find_air, find_trap_arms
from ifclint.plumbing.venting.vent_groups import VentGroup, find_groups
from ifclint.plumbing.venting.vent_segments import VentSegment, find_vent_segments
from ifclint.plumbing.venting.vent_terminals import VentTerminal, find_terminals
from ifclint.plumbing.venting.vents import VentTree, find_vents

WIDEST_STANDPIPE_M = 6 * M_PER_IN  # what is wider is a box in the wall. Ours, no source


def _is_wide(element: Element) -> bool:
    """Whether a body is too wide to be a standpipe."""
    box = element.box
    if element.role is Role.APPLIANCE:
        return True
    if box is None:
        return False
    return not all(at_most(box[1][k] - box[0][k], WIDEST_STANDPIPE_M, "m") for k in (0, 1))


@dataclass
class Venting:
    """All that is seen of traps and vents."""

    piping: Piping
    surroundings: Surroundings
    trees: list[VentTree]
    arms: list[TrapArm]
    groups: list[VentGroup]
    segments: list[VentSegment]
    terminals: list[VentTerminal]
    air: Air

    @property
    def is_modelled(self) -> bool:
        """Whether the model shows vents at all."""
        return any(tree.is_vent for tree in self.trees)

    def rim_m(self, fixture: Fixture) -> tuple[float, float] | None:
        """Between what heights the flood-level rim of a fixture lies.

        What a washer's hose hangs in floods at the top of the standpipe, where that is lower than
        the washer or the box in the wall: one that stands too high is another fault.
        """
        top, box = self.standpipe_top_m(fixture), fixture.element.box
        if top is not None:
            lower = top if box is None else min(top, box[1][2])
            return lower, lower
        outlet = self.piping.exit(fixture.index)
        floor = self.surroundings.floors.of(fixture.element)
        return rim_m(fixture, outlet, None if floor is None else floor.level_m)

    def standpipe_top_m(self, fixture: Fixture) -> float | None:
        """The top of the pipe above a trap in which a washer's hose hangs; None where the fixture
        is the standpipe itself, or no pipe is drawn."""
        if fixture.kind != STANDPIPE or not _is_wide(fixture.element):
            return None
        elements, hose = self.piping.elements, self._hoses
        above = takewhile(lambda i: elements[i].role is not Role.TRAP, fixture.path)
        ends = [
            end.position[2]
            for index in above
            if index not in hose and elements[index].role is Role.PIPE
            for end in elements[index].ends
            if end.position is not None
        ]
        return max(ends, default=None)

    @cached_property
    def _hoses(self) -> set[int]:
        return hoses(self.piping.network)

    def rims_m(self, group: VentGroup) -> tuple[float, float, str] | None:
        """The highest flood-level rim of a group: at least, at most, and whose."""
        found = [
            (*rim, f.label)
            for arm in group.arms
            for f in arm.fixtures
            if (rim := self.rim_m(f)) is not None
        ]
        if not found:
            return None
        return max(r[0] for r in found), max(r[1] for r in found), max(found)[2]


def find_venting(
    network: Network,
    drainage: Drainage,
    fixtures: list[Fixture],
    segments: list[DrainSegment],
    stacks: list[Stack],
    service: list[Service],
    surroundings: Surroundings,
) -> Venting:
    """Follow every trap to its vent and every vent to the open air."""
    piping = build_piping(network, drainage, service, surroundings.floors)
    trees = find_vents(piping)
    air = find_air(piping, fixtures, trees)
    arms = find_trap_arms(piping, fixtures, air)
    groups = find_groups(piping, arms, air, stacks)
    venting = Venting(piping, surroundings, trees, arms, groups, [], [], air)
    venting.terminals = find_terminals(piping, trees, surroundings.is_above_roof)
    rims = {g.joint: rim for g in groups if (rim := venting.rims_m(g)) is not None}
    island = {i for g in groups if g.returns_at is not None for i in _below_rim(venting, g)}
    venting.segments = find_vent_segments(segments, trees, rims.get, island)
    return venting


def _below_rim(venting: Venting, group: VentGroup) -> list[int]:
    """The vent elements of an island's group up to the highest rim it serves."""
    if group.returns_at is None:
        return []
    rims = venting.rims_m(group)
    rim_m = None if rims is None else rims[1]
    return island_below_rim(venting.piping, group.joint, group.returns_at, rim_m)
