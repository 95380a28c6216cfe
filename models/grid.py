"""Big plumbing-only models for measuring: many bathroom stacks on rows of building drain.

One stack is drawn and written once; every further one is that text again with its own entity
numbers, GlobalIds, name and place, so a model of 20,000 pipes takes a second or two.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TextIO

HERE = Path(__file__).resolve().parent
if __package__ in (None, ""):
    sys.path.insert(0, str(HERE.parent))

from models.dwelling.bathroom_stack import (  # noqa: E402
    JOINT,
    LENGTH,
    RISE,
    bathroom_stack,
    row_head,
    street,
)
from models.dwelling.ifc_file import FOOT_M, Entity, IfcFile  # noqa: E402
from models.dwelling.ifc_parts import Group, PartWriter  # noqa: E402
from models.dwelling.parts import Plan, Point, between, plus  # noqa: E402

STACKS_IN_A_ROW = 20
ROW_SPACING_FT = 20.0
STOREYS = (("Under slab", -10.0), ("Level 1", 0.0), ("Level 2", 13.0), ("Level 3", 23.0))
COPY, PLACE = "@@", "%%"  # stand for a copy's number in names, and for its place
SLOT = re.compile(r"#(\d+)|'([0-3][0-9A-Za-z_$]{21})'|(@@)|(%%)")
BASE64 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"
GATHERED = {  # relations written once at the end: what follows the list of members
    "IfcRelDefinesByType": "",
    "IfcRelDefinesByProperties": "",
    "IfcRelAssignsToGroup": "$,",
    "IfcRelAssociatesMaterial": "",
    "IfcRelContainedInSpatialStructure": "",
}


@dataclass
class Piece:
    """The text of a stack, a street connection or a row's head, ready to be copied.

    `members` gives the entity numbers that each gathered relation takes from the piece; `lower`
    and `upper` are the ports where the building drain goes on.
    """

    text: str
    slots: list[str | int]
    first: int
    size: int
    members: dict[Group, list[int]]
    lower: int | None
    upper: int | None
    starts: list[int] = field(default_factory=list)  # entity number of each copy

    def copy(self, start: int, number: int, place: str) -> str:
        """The text with entity numbers from `start`."""
        self.starts.append(start)
        shift, code = start - self.first, _code(number)
        fill = [
            slot + shift
            if isinstance(slot, int)
            else str(number) if slot == COPY
            else place if slot == PLACE
            else f"{slot[0]}{code}{slot[5:]}"
            for slot in self.slots
        ]  # fmt: skip
        return self.text % tuple(fill)


def _code(number: int) -> str:
    """Four characters of a GlobalId that tell copies apart (16 million of them)."""
    return "".join(BASE64[number >> shift & 63] for shift in (18, 12, 6, 0))


def write_grid(path: Path | str, segments: int = 20000, ports: bool = True) -> int:
    """Write an IFC4 model in metres of at least `segments` drainage pipes; returns how many.

    A stack is never cut, so there can be up to one stack's pipes more than asked for.
    """
    stack = bathroom_stack(f"stack {COPY}")
    pipes = sum(part.trade == "Pipe" for part in stack.parts.values())
    stacks = -(-segments // pipes)
    shared, targets, pieces = _pieces(stack, ports)
    with Path(path).open("w", newline="\n") as out:
        out.write(shared)
        last = _write_rows(out, pieces, stacks)
        _write_relations(out, targets, pieces, last)
        out.write("ENDSEC;\nEND-ISO-10303-21;\n")
    return stacks * pipes


def _write_rows(out: TextIO, pieces: dict[str, Piece], stacks: int) -> int:
    """Every row from the street up; returns the last entity number."""
    last, below = pieces["street"].first - 1, None
    for number, (key, row, along) in enumerate(_order(stacks), 1):
        piece = pieces[key]
        at = (row * ROW_SPACING_FT, along * LENGTH, along * RISE)
        place = ",".join(repr(round(feet * FOOT_M, 6)) for feet in at)
        start = last + 1
        out.write(piece.copy(start, number, place))
        last += piece.size
        if piece.lower is not None and below is not None:
            last += 1
            upstream = start + piece.lower
            out.write(
                f"#{last}=IFCRELCONNECTSPORTS('{_joint_id(number)}',$,$,$,#{upstream},#{below},$);\n"
            )
        below = None if piece.upper is None else start + piece.upper
    return last


def _joint_id(number: int) -> str:
    return f"1{_code(number)}JointAlongTheDrai"


def _order(stacks: int) -> Iterator[tuple[str, int, int]]:
    """Kind of piece, row, and place along the row."""
    for row in range(-(-stacks // STACKS_IN_A_ROW)):
        count = min(STACKS_IN_A_ROW, stacks - row * STACKS_IN_A_ROW)
        yield "street", row, 0
        for along in range(count):
            yield "stack", row, along
        yield "head", row, count


def _write_relations(
    out: TextIO, targets: dict[Group, int], pieces: dict[str, Piece], last: int
) -> None:
    """Types, sizes, systems, materials and storeys, each with its members in all copies."""
    for number, (group, target) in enumerate(targets.items(), 1):
        members = [
            f"#{member + start}"
            for piece in pieces.values()
            for start in piece.starts
            for member in piece.members.get(group, ())
        ]
        if members:
            guid = f"2{_code(number)}MembersOfAllCopie"
            out.write(
                f"#{last + number}={group[0].upper()}('{guid}',$,$,$,({','.join(members)}),"
                f"{GATHERED[group[0]]}#{target});\n"
            )


# The text of each piece


def _pieces(stack: Plan, ports: bool) -> tuple[str, dict[Group, int], dict[str, Piece]]:
    """What stands once at the head of the file, what relations go to, and the pieces."""
    ifc = IfcFile("IFC4", "METRE", "Rows of bathroom stacks")
    building, storeys = _spatial(ifc)
    targets: dict[Group, Entity] = {
        ("IfcRelContainedInSpatialStructure", name): storey for name, storey in storeys.items()
    }
    plans = {"street": street(), "stack": stack, "head": row_head()}
    writers = {key: PartWriter(ifc, plan, ports, targets) for key, plan in plans.items()}
    for writer in writers.values():
        writer.declare()
    cache, first = dict(ifc.cache), _entities(ifc) + 1
    pieces, shared = {}, first
    for key, writer in writers.items():
        ifc.cache = dict(cache)
        pieces[key] = _piece(ifc, writer, building, first, shared)
        first += pieces[key].size
    head = ifc.file.to_string().split(f"#{shared}=")[0]
    return head, {group: entity.id() for group, entity in targets.items()}, pieces


def _entities(ifc: IfcFile) -> int:
    return sum(1 for _ in ifc.file)


def _spatial(ifc: IfcFile) -> tuple[Entity, dict[str, Entity]]:
    values = {"UnitsInContext": ifc.units, "RepresentationContexts": (ifc.context,)}
    project = ifc.rooted("IfcProject", "project", "Rows of bathroom stacks", **values)
    place = ifc.placement(None, (0.0, 0.0, 0.0))
    building = ifc.rooted("IfcBuilding", "building", "Rows", ObjectPlacement=place,
                          CompositionType="ELEMENT")  # fmt: skip
    storeys = {
        name: ifc.rooted("IfcBuildingStorey", f"storey/{name}", name, CompositionType="ELEMENT",
                         ObjectPlacement=ifc.placement(place, (0.0, 0.0, elevation)),
                         Elevation=ifc.length(elevation))
        for name, elevation in STOREYS
    }  # fmt: skip
    for whole, parts in ((project, (building,)), (building, tuple(storeys.values()))):
        ifc.relate("IfcRelAggregates", whole.GlobalId, RelatingObject=whole, RelatedObjects=parts)
    return place, storeys


def _piece(ifc: IfcFile, writer: PartWriter, building: Entity, first: int, shared: int) -> Piece:
    origin = ifc.make("IfcCartesianPoint", (0.0, 0.0, 0.0))
    axes = ifc.make("IfcAxis2Placement3D", origin, None, None)
    root = ifc.make("IfcLocalPlacement", building, axes)
    writer.write_parts(dict.fromkeys(writer.plan.parts, (root, (0.0, 0.0, 0.0))))
    last = _entities(ifc)
    written = ifc.file.to_string()
    after_origin = written[written.index(f"\n#{first + 1}=") : written.index("ENDSEC;\nEND-ISO")]
    text, slots = _cut(f"#{first}=IFCCARTESIANPOINT(({PLACE}));{after_origin}", shared)
    lower = _open_port(writer, JOINT, first)
    upper = _open_port(writer, plus(JOINT, (0.0, LENGTH, RISE)), first)
    if "sewer" in writer.plan.parts:  # nothing below it: what it has is for the piece above
        lower, upper = None, lower
    members = {
        group: [entity.id() - first for entity in found]
        for group, found in _members(writer).items()
    }
    size = last - first + 1
    return Piece(text, slots, first, size, members, lower, upper)


def _cut(text: str, shared: int) -> tuple[str, list[str | int]]:
    """The text with %-slots, and what fills them; numbers below `shared` stay as they are."""
    slots: list[str | int] = []

    def slot(match: re.Match[str]) -> str:
        number, guid, _, _ = match.groups()
        if number is not None:
            if int(number) < shared:
                return match.group(0)
            slots.append(int(number))
            return "#%d"
        slots.append(guid or match.group(0))
        return "'%s'" if guid else "%s"

    return SLOT.sub(slot, text), slots


def _open_port(writer: PartWriter, at: Point, first: int) -> int | None:
    """The port where another piece goes on, counted from the piece's first entity."""
    for part in writer.plan.parts.values():
        for end in part.ends:
            close = end.at == at or between(end.at, at)[0] < 1e-6
            if close and id(end) in writer.ports_by_end:
                return int(writer.ports_by_end[id(end)].id()) - first
    return None


def _members(writer: PartWriter) -> dict[Group, list[Entity]]:
    """The members of each relation, with the storey of each product by its height."""
    members = dict(writer.members)
    for part in writer.plan.parts.values():
        middle = sum(end.at[2] for end in part.ends) / len(part.ends)
        name = [name for name, elevation in STOREYS if elevation <= middle][-1]
        group = ("IfcRelContainedInSpatialStructure", name)
        members.setdefault(group, []).append(writer.products[part.tag])
    return members


if __name__ == "__main__":
    target, wanted = sys.argv[1], int(sys.argv[2])
    print(f"{write_grid(target, wanted)} pipes in {target}")
