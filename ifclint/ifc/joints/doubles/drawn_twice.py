"""What is drawn a second time in one place, as where a coordination file holds pipes of another.

A second piece of pipework of one size and service in the very place of another is none that is
built: it is set aside, counted and named, and its joints are those of the first.
"""

from __future__ import annotations

from collections import Counter

from ifclint.engineering.wording import how_many
from ifclint.ifc.elements import Box, Element, Model, Note, Point, Role
from ifclint.ifc.facts.taken_out import counted, take_out
from ifclint.ifc.joints.doubles.copies import copies
from ifclint.ifc.joints.doubles.duplicates import in_one_place, whole_mm
from ifclint.ifc.joints.free_ends import SEVERAL_SYSTEMS

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
    heirs = {**copies(model), **heirs}
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
        if len(set(place)) > 1:
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
