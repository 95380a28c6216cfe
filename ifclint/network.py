"""The connected network: elements and the joints between them. Knows no code and no trade rule."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, compress
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ifclint.engineering.boxes import Boxes
from ifclint.engineering.joined import labels, pieces
from ifclint.engineering.near import NearPlaces
from ifclint.engineering.units import M_PER_IN
from ifclint.gc_pause import collector_paused
from ifclint.ifc.elements import Element, End, Joint, Model, Point, Role
from ifclint.ifc.joints.doubles.crowds import outside_crowds
from ifclint.ifc.joints.end_directions import meet_ahead, ray_of
from ifclint.ifc.joints.free_ends import (
    BETWEEN_SERVICES,
    SEVERAL_SYSTEMS,
    allowed,
    free_ends,
    joins_services,
    position_of,
    positions_of,
)

MEET_M = 0.010  # open ends so near each other are drawn to meet. Ours, no source
NEAR_M = 0.060  # open ends that point at one another are so near that a joint may be missing. Ours
UPRIGHT = 0.5  # of two ends, one over the other, the product of how upright they look
ROUNDING_M = 1e-4  # of drawn places
PIPING = frozenset({Role.PIPE, Role.FITTING})


class Near(NamedTuple):
    """Two open ends, by element and number, that point at one another across a gap."""

    a: tuple[int, int]
    b: tuple[int, int]
    apart_m: float

    @property
    def apart(self) -> str:
        """How wide the gap is, in words: "1.1 in (28 mm)"."""
        return f"{self.apart_m / M_PER_IN:.2g} in ({self.apart_m * 1000:.0f} mm)"


@dataclass(frozen=True)
class Network:
    """A model and what is joined to what.

    `joined[i]` lists, in the order of joints, what element `i` is joined to: the other element
    and the joint, by their indexes. An element joined to itself stands once in its own list.
    """

    model: Model
    joined: list[list[tuple[int, int]]]

    @cached_property
    def elements(self) -> list[Element]:
        return self.model.elements

    @cached_property
    def joints(self) -> list[Joint]:
        return self.model.joints

    @cached_property
    def joined_ends(self) -> NDArray[np.int64]:
        """The joints as four rows: of one side the element and the number of its end, and of the
        other."""
        numbers = chain.from_iterable(joint[:4] for joint in self.joints)
        return np.fromiter(numbers, np.int64).reshape(-1, 4).T.copy()

    @cached_property
    def _numbers(self) -> Mapping[Role, Mapping[str, list[int]]]:
        """The numbers of the elements, by role and kind."""
        found: dict[Role, dict[str, list[int]]] = {role: defaultdict(list) for role in Role}
        for number, element in enumerate(self.elements):
            found[element.role][element.kind].append(number)
        return found

    def of_roles(self, *roles: Role) -> list[int]:
        """The numbers of the elements of some roles, in their order."""
        return sorted(chain.from_iterable(n for r in roles for n in self._numbers[r].values()))

    def of_kinds(self, *kinds: str) -> list[int]:
        """The numbers of the elements of some kinds, in their order."""
        alike = (k for of_role in self._numbers.values() for k in (of_role.get(n) for n in kinds))
        return sorted(chain.from_iterable(numbers for numbers in alike if numbers))

    @cached_property
    def of_role(self) -> Mapping[Role, Sequence[Element]]:
        """The elements of each role, in their order."""
        return {role: [self.elements[i] for i in self.of_roles(role)] for role in Role}

    @cached_property
    def of_system_name(self) -> Mapping[str, Sequence[int]]:
        """The numbers of the elements in systems of each name, in their order."""
        found = defaultdict[str, list[int]](list)
        for number, element in enumerate(self.elements):
            found[element.system_name].append(number)
        return found

    def around(self, role: Role, point: Point, beyond: Point) -> list[Element]:
        """The elements of a role whose boxes hold a point, or miss it by so little along each axis,
        in their order."""
        elements, boxes = self._boxes[role]
        return [elements[n] for n in boxes.around(point, beyond)]

    @cached_property
    def _boxes(self) -> Mapping[Role, tuple[Sequence[Element], Boxes]]:
        """The elements of each role that have a box, and their boxes."""
        found: dict[Role, tuple[Sequence[Element], Boxes]] = {}
        for role, elements in self.of_role.items():
            boxed = [(e, e.box) for e in elements if e.box is not None]
            found[role] = [e for e, _ in boxed], Boxes(box for _, box in boxed)
        return found

    @cached_property
    def of_guid(self) -> Mapping[str, Sequence[int]]:
        """The elements of each GlobalId, in their order; of a pipe in pieces each piece."""
        found = defaultdict[str, list[int]](list)
        for index, element in enumerate(self.elements):
            found[element.guid].append(index)
        return found

    def index_of(self, element: Element) -> int:
        """The number of one of the elements."""
        return next(i for i in self.of_guid[element.guid] if self.elements[i] is element)

    def neighbours(self, index: int) -> list[int]:
        """The elements joined to an element, each once, in the order of joints."""
        return list(dict.fromkeys([other for other, _ in self.joined[index]]))

    def beside(self, index: int) -> Iterator[int]:
        """What an element is joined to, as often as it is."""
        return (other for other, _ in self.joined[index])

    def pieces(self, indexes: Iterable[int]) -> Iterator[set[int]]:
        """The connected pieces of some elements, in the order of their first ones."""
        return pieces(indexes, self.beside)

    @cached_property
    def meeting_ends(self) -> list[tuple[int, int]]:
        """Pairs of elements of which open ends are drawn to meet and are not joined, as where their
        systems differ."""
        met = {(min(a, b), max(a, b)) for (a, _), (b, _) in self._meetings}
        return sorted(met)

    def meeting(self, index: int, end: int) -> list[Element]:
        """The elements of which open ends meet an open end of one, and are not joined to it."""
        return [self.elements[other] for other, _ in self._met_by.get((index, end), ())]

    @cached_property
    def _met_by(self) -> dict[tuple[int, int], list[tuple[int, int]]]:
        found: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
        for a, b in self._meetings:
            found[a].append(b)
            found[b].append(a)
        return found

    @cached_property
    def _meetings(self) -> list[tuple[tuple[int, int], tuple[int, int]]]:
        """Pairs of open ends, by element and number, of two elements that meet; of a crowd in one
        place only its first few."""
        return self._within(MEET_M)

    @cached_property
    def near_ends(self) -> list[Near]:
        """Pairs of open ends that point at one another, or at one place before both, and might be
        joined. What ends over what looks up at it is none: an air gap."""
        found = []
        for a, b in self._within(NEAR_M) if self.elements else ():
            fit = allowed(self.model, a, b) or joins_services(self.model, a, b)
            if fit and (self._point_at_one_another(a, b) or self._points_at_a_body(a, b)):
                apart_m = math.dist(position_of(self.model, a), position_of(self.model, b))
                found.append(Near(a, b, apart_m))
        return found

    def _point_at_one_another(self, a: tuple[int, int], b: tuple[int, int]) -> bool:
        one, other = ray_of(self.model, a), ray_of(self.model, b)
        if one is None or other is None:
            return False
        over = one.direction[2] * other.direction[2] <= -UPRIGHT
        aside_m = self.model.joining_tolerance_m or MEET_M
        return not over and meet_ahead(one, other, NEAR_M, aside_m)

    def _points_at_a_body(self, a: tuple[int, int], b: tuple[int, int]) -> bool:
        """Whether one end is that of piping that points at the connection of a fixture, appliance,
        heater ..., which tells no direction. What points down at it may end in an air gap, as may
        the hose of an appliance over a standpipe."""
        for at, body in ((a, b), (b, a)):
            owner, ray = self.elements[body[0]], ray_of(self.model, at)
            own = owner.role in SEVERAL_SYSTEMS or owner.kind in BETWEEN_SERVICES
            if ray is None or not own or self.elements[at[0]].role not in PIPING:
                continue
            ahead, aside = ray.towards(position_of(self.model, body))
            upright = abs(ray.direction[2]) > UPRIGHT
            open_air = upright and (ray.direction[2] < 0 or owner.role is Role.APPLIANCE)
            aside_m = (self.model.joining_tolerance_m or MEET_M) + ROUNDING_M
            if not open_air and -aside_m <= ahead <= NEAR_M and aside <= aside_m:
                return True
        return False

    def near_at(self, index: int) -> list[Near]:
        """Such gaps at an element, seen from there."""
        return self._near_at.get(index, [])

    @cached_property
    def _near_at(self) -> Mapping[int, list[Near]]:
        found: dict[int, list[Near]] = {}
        for n in self.near_ends:
            found.setdefault(n.a[0], []).append(n)
        for n in self.near_ends:
            found.setdefault(n.b[0], []).append(Near(n.b, n.a, n.apart_m))
        return found

    @cached_property
    def near_of(self) -> dict[str, Near]:
        """By GlobalId: of each element that ends at such a gap the first, seen from there."""
        found: dict[str, Near] = {}
        for near in self.near_ends:
            for a, b in ((near.a, near.b), (near.b, near.a)):
                found.setdefault(self.elements[a[0]].guid, Near(a, b, near.apart_m))
        return found

    def _within(self, reach_m: float) -> list[tuple[tuple[int, int], tuple[int, int]]]:
        opened = free_ends(self.model)
        points = positions_of(self.model, opened)
        stay = outside_crowds(self.model, opened, points)
        opened = list(compress(opened, stay))
        pairs = NearPlaces(points[stay]).pairs(reach_m).tolist()
        found = ((opened[a], opened[b]) for a, b in pairs)
        return sorted((a, b) for a, b in found if a[0] != b[0])

    @cached_property
    def meeting_sides(self) -> list[tuple[int, int]]:
        """Elements that end on the side of a pipe, and the pipe, where they are not joined because
        of their systems."""
        index = {e.guid: i for i, e in enumerate(self.elements)} if self.model.in_touch else {}
        found = ((index.get(a), index.get(b)) for a, b in self.model.in_touch)
        return [(a, b) for a, b in found if a is not None and b is not None]

    @cached_property
    def taken_ends(self) -> frozenset[tuple[int, int]]:
        """The ends that something is joined to: the element and the number of its end."""
        return frozenset(at for j in self.joints for at in ((j.a, j.a_end), (j.b, j.b_end)))

    def open_ends(self, index: int) -> list[End]:
        """The ends of an element that nothing is joined to."""
        ends, taken = enumerate(self.elements[index].ends), self.taken_ends
        return [end for number, end in ends if (index, number) not in taken]

    def components(self) -> int:
        """How many connected components there are; a lone element is one too."""
        a, _, b, _ = self.joined_ends
        return int(labels(len(self.elements), a, b).max(initial=-1)) + 1

    def self_joined(self) -> list[int]:
        """Elements whose own ends are joined to each other."""
        return sorted({joint.a for joint in self.joints if joint.a == joint.b})

    def connected_share(self) -> float:
        """Pipes with every end joined, of all pipes; 0 where there is no pipe."""
        pipes = self.of_roles(Role.PIPE)
        return sum(map(self._both_ends_joined, pipes)) / len(pipes) if pipes else 0.0

    def _both_ends_joined(self, pipe: int) -> bool:
        return sum(2 if other == pipe else 1 for other, _ in self.joined[pipe]) >= 2


def connect(model: Model) -> Network:
    """The network of a model as read."""
    with collector_paused():
        joined: list[list[tuple[int, int]]] = [[] for _ in model.elements]
        for number, joint in enumerate(model.joints):
            joined[joint.a].append((joint.b, number))
            if joint.b != joint.a:
                joined[joint.b].append((joint.a, number))
    return Network(model, joined)
