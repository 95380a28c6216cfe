"""What is drawn a second time in one place, as where a coordination file holds pipes of another.

A second piece of pipework of one size and service in the very place of another is none that is
built: it is set aside, counted and named, and its joints are those of the first.
"""

from collections import Counter
from math import dist, prod

from ifclint.engineering.extents import middle
from ifclint.engineering.near import NearPlaces
from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Box, Element, Model, Note, Point, Role
from ifclint.ifc.facts.classify import FURNITURE
from ifclint.ifc.facts.taken_out import counted, take_out
from ifclint.ifc.joints.doubles.duplicates import in_one_place, whole_mm
from ifclint.ifc.joints.free_ends import DRAWN, SEVERAL_SYSTEMS

COPIED = frozenset({Role.FIXTURE, Role.APPLIANCE, Role.HEATER, Role.TANK})
OVERLAP = 0.5  # of the smaller from above, in one file of the larger body; ours, as the next
ONE_PLACE_M = 0.15  # between the middles of two that are one, of two files seen from above
APART_M = 1.0  # no farther off is a copy looked for
DRAWN_TWICE = "drawn twice in one place"
NEVER_DOUBLES = frozenset({Role.OTHER, Role.FIXTURE, Role.APPLIANCE})


def set_doubles_aside(model: Model, boxes: dict[int, Box]) -> None:
    """Take out all but one of what lies in one place: the one with the most joints stays, and of
    these the first by name and GlobalId."""
    places, heirs = _in_one_place(model), dict[int, int | None]()
    joints, elements = model.joints if places else (), model.elements
    joined = Counter(row for joint in joints for row in (joint.a, joint.b))
    for alike in places.values():
        alike.sort(key=lambda row: (-joined[row], elements[row].name, elements[row].guid))
        for number, row in enumerate(alike):
            heir = next((r for r in alike[:number] if r not in heirs and _one(model, r, row)), None)
            if heir is not None:
                heirs[row] = heir
    heirs = {**copies(model), **heirs, **_bodies_in_one(model)}
    if heirs:
        heirs |= _short_doubles(model, heirs)
        found = [model.elements[row] for row in heirs]
        first = min(element.guid for element in found)
        what = (
            f"Set aside, as others of their kind, size and service lie in the same place: "
            f"{how_many(len(found), 'element')}, {counted(found)}."
        )
        take_out(model, boxes, heirs, DRAWN_TWICE)
        remedy = "Keep one of each, or name only one of the files."
        model.notes.append(Note(what, remedy, first, "duplicate"))


def _in_one_place(model: Model) -> dict[object, list[int]]:
    """Rows of elements of one role with two or more ends, all of them in the same places."""
    rows = [row for row, e in enumerate(model.elements) if e.role not in NEVER_DOUBLES]
    places = [model.elements[row].places for row in rows]
    found: dict[object, list[int]] = {}
    for which, place in in_one_place(places):
        element = model.elements[rows[which]]
        if len(set(place)) > 1 or (element.role is Role.PIPE and len(set(element.places)) > 1):
            found.setdefault((element.role, element.kind, place), []).append(rows[which])
    return {place: alike for place, alike in found.items() if len(alike) > 1}


def _one(model: Model, first: int, second: int) -> bool:
    """Whether the second can be a double of the first: of one size and service, as far as told."""
    one, other = model.elements[first], model.elements[second]
    return (
        one.size_in == other.size_in
        and other.system in (one.system, None)
        and len(one.course) == len(other.course)
    )


def _bodies_in_one(model: Model) -> dict[int, int | None]:
    """Fixtures and equipment without ports in the place of another of their kind, and in most of
    its box: bodies alone may hold the room in front of a fixture, and lie over one another."""
    found: dict[int, int | None] = {}
    boxes = {
        row: e.box
        for row, e in enumerate(model.elements)
        if e.box is not None and e.kind and e.role in SEVERAL_SYSTEMS
    }
    rows, middles = [*boxes], [middle(*box) for box in boxes.values()]
    before = {row: (_has_no_ports(model.elements[row]), row) for row in rows}
    near = NearPlaces(middles).around(middles, ONE_PLACE_M) if rows else []
    for row, numbers in sorted(zip(rows, near, strict=True), key=lambda one: before[one[0]]):
        if _has_no_ports(model.elements[row]):
            firsts = (rows[n] for n in numbers if before[rows[n]] < before[row])
            heir = next((r for r in firsts if r not in found and _fills(model, row, r)), None)
            if heir is not None:
                found[row] = heir
    return found


def _fills(model: Model, row: int, other: int) -> bool:
    """Whether two are of one kind and have most of their boxes in common."""
    one, first = model.elements[row], model.elements[other]
    if (one.role, one.kind) != (first.role, first.kind) or one.box is None or first.box is None:
        return False
    larger = max(map(_volume, (one.box, first.box)))
    return prod(_overlap(one.box, first.box, axis) for axis in (0, 1, 2)) > OVERLAP * larger


def _has_no_ports(element: Element) -> bool:
    return all(end.name == DRAWN for end in element.ends)


def _short_doubles(model: Model, heirs: dict[int, int | None]) -> dict[int, int | None]:
    """What has one end only, as plugs and caps, and fixtures and equipment, drawn twice among other
    doubles by one name."""
    found: dict[int, int | None] = {}
    seen: dict[object, int] = {}
    for row, element in sorted(enumerate(model.elements), key=lambda one: one[1].guid):
        place = _only_place(element)
        if row in heirs or place is None:
            continue
        key = element.role, element.kind, element.size_in, _called(element), whole_mm(place)
        first = seen.setdefault(key, row)
        if first != row:
            found[row] = first
    return found


def _only_place(element: Element) -> Point | None:
    """Where a body stands, or the one end of other pipework is."""
    if element.role in SEVERAL_SYSTEMS:
        return element.position
    is_short = element.role not in NEVER_DOUBLES and len(element.ends) == 1
    return element.ends[0].position if is_short else None


def _called(element: Element) -> tuple[str, object]:
    return element.name, element.system


def copies(model: Model) -> dict[int, int]:
    """What stands in the place of another of its kind in another file without a joint of its own,
    with the row of the one that stays: with the most joints, then the most ports, then of the
    earlier file."""
    standing = {
        row: e.box
        for row, e in enumerate(model.elements)
        if e.role in COPIED and e.box is not None and e.ifc_class not in FURNITURE
    }
    if len({model.elements[row].model for row in standing}) < 2:
        return {}
    joined = Counter(row for joint in model.joints for row in (joint.a, joint.b))
    rows, middles = [*standing], [middle(*box) for box in standing.values()]
    found: dict[int, int] = {}

    def stays(row: int) -> tuple[int, int, int, int]:
        element = model.elements[row]
        return -joined[row], -_ports(element), element.model, row

    near = NearPlaces(middles).around(middles, APART_M)
    around = {row: [rows[n] for n in numbers] for row, numbers in zip(rows, near, strict=True)}
    for row in sorted(rows, key=stays):
        if joined[row]:
            continue
        first = (r for r in around[row] if stays(r) < stays(row) and r not in found)
        heir = next((r for r in first if _is_copy(model, row, r)), None)
        if heir is not None:
            found[row] = heir
    return found


def _ports(element: Element) -> int:
    return sum(end.name != DRAWN for end in element.ends)


def _is_copy(model: Model, row: int, other: int) -> bool:
    one, first = model.elements[row], model.elements[other]
    if one.model == first.model or one.role is not first.role:
        return False
    if not _of_one_kind(one.kind, first.kind):
        return False
    if one.box is None or first.box is None or not _overlap(one.box, first.box, 2):
        return False
    if dist(middle(*one.box)[:2], middle(*first.box)[:2]) <= ONE_PLACE_M:
        return True
    shared = [_overlap(one.box, first.box, k) for k in (0, 1)]
    least = min(_area(one.box), _area(first.box))
    return shared[0] * shared[1] >= OVERLAP * least > 0


def _of_one_kind(one: str, other: str) -> bool:
    """Whether two kinds may be of one thing: the same, one of them not known, or two basins."""
    return one == other or not one or not other or (_is_basin(one) and _is_basin(other))


def _is_basin(kind: str) -> bool:
    return kind == "lavatory" or kind.endswith("sink")


def _overlap(one: Box, other: Box, axis: int) -> float:
    low, high = max(one[0][axis], other[0][axis]), min(one[1][axis], other[1][axis])
    return max(high - low, 0.0)


def _volume(box: Box) -> float:
    return _area(box) * (box[1][2] - box[0][2])


def _area(box: Box) -> float:
    low, high = box
    return (high[0] - low[0]) * (high[1] - low[1])
