"""The building around the plumbing: walls, slabs, roofs, windows, doors, what is hollow, spaces and
the terrain of the site as boxes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Set
from copy import copy
from functools import cache
from typing import NamedTuple

from ifclint.engineering.wording import how_many
from ifclint.ifc.building.doors import CLASSES, LEAVES, air_intake_kind, leaves, operation
from ifclint.ifc.building.main_direction import MOST_ASKED, longest_side
from ifclint.ifc.building.spatial import SPACE, space_name
from ifclint.ifc.elements import CASEWORK, Box, Leaf, Note, Place, Point, Space, Surface
from ifclint.ifc.facts.properties import PropertyReader
from ifclint.ifc.shape.placement import IDENTITY, Placements, to_world
from ifclint.ifc.shape.shapes import LARGEST_BOX_M, ShapeReader
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.relations import Refs
from ifclint.ifc.step.spf import arguments, number, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

SURFACES = {
    b"IFCWALL": "wall", b"IFCWALLSTANDARDCASE": "wall", b"IFCWALLELEMENTEDCASE": "wall",
    b"IFCSLAB": "slab", b"IFCSLABSTANDARDCASE": "slab", b"IFCSLABELEMENTEDCASE": "slab",
    b"IFCROOF": "roof",
    b"IFCWINDOW": "window", b"IFCWINDOWSTANDARDCASE": "window",
    b"IFCDOOR": "door", b"IFCDOORSTANDARDCASE": "door",
    b"IFCCHIMNEY": "chimney",
    b"IFCSITE": "terrain",
}  # fmt: skip
# What is no class of its own in every schema: whole words of a name, or of what it is an object of.
HOLLOWS = (b"IFCBUILDINGELEMENTPROXY", b"IFCFLOWSEGMENT")
HOLLOW_WORDS = re.compile(
    r"\b(?:(chimneys?|schornstein|kaminzug|chemin[ée]e|chimenea|schoorsteen)|((?:\w+ )?chute)|"
    r"(ducts?|ductwork|\w*luftkanal|l[uü]ftungskanal|gaine d.air|gaine de ventilation|luchtkanaal|"
    r"conducto de aire))\b",
    re.IGNORECASE,
)
HOLLOW_BYTES = re.compile(rb"(?i)chim|schorn|kamin|schoorst|chute|duct|kanal|gaine|kanaal|conducto")
FRAMING = (b"IFCMEMBER", b"IFCMEMBERSTANDARDCASE", b"IFCBEAM", b"IFCBEAMSTANDARDCASE")
STATED_FRAMING = {b".STUD.": "stud", b".JOIST.": "joist"}
# Of frames that state no more than their class: whole words of a name, or of its type.
FRAMING_WORDS = re.compile(
    r"\b(?:(studs?|montants?|montantes?|stander|staander)|"
    r"(joists?|solives?|viguetas?|deckenbalken|vloerbalk(?:en)?))\b",
    re.IGNORECASE,
)
FURNITURE = (b"IFCFURNITURE", b"IFCFURNISHINGELEMENT", b"IFCSYSTEMFURNITUREELEMENT")
# What is fixed to the building of what is furniture by its class: whole words of a name or type.
FIXED_WORDS = re.compile(
    r"(?!.*\b(?:fil(?:e|ing)|rolling|mobile|portable|freestanding)\b)"
    r".*\b(?:casework|millwork|cabinets?|vanity|(?:kitchen )?island|built-?in|counter|"
    r"\w*unterschrank|einbau\w+|k[uü]chenzeile|k[uü]chenblock|placard|meuble (?:bas|sous)|[îi]lot|"
    r"mueble bajo|gabinete|empotrado|alacena|embutido|onderkast|inbouwkast|keukenblok)\b",
    re.IGNORECASE | re.DOTALL,
)
# Of slabs that state no type: whole words of a name, or of its type. "Under the roof" is none.
ROOF_WORDS = re.compile(
    r"\b(?:roof|roofing|dach|flachdach|dachdecke|toit|toiture|techo|cubierta|azotea|telhado|dak|tetto"
    r"|copertura|tak|yttertak|katto|vesikatto|dachplatte|крыша|кровля)\b",
    re.IGNORECASE,
)
BELOW_ROOF = re.compile(
    r"\b(?:below|under|beneath|unter|sous|bajo|sotto|onder|ceiling|floor of)\b", re.IGNORECASE
)
NO_TYPE = frozenset({b"$", b".NOTDEFINED.", b".USERDEFINED."})

BEARS = frozenset({"wall", "stud", "joist"})
TO_OUTDOORS = frozenset({"wall", "slab", "roof", "window", "door"})
UPRIGHT = frozenset({"wall", "door", "window", "stud", "joist"})
WITH_CORNERS = frozenset({"roof", "chimney", "chute", "duct"})
NONE: Set[Ref] = frozenset()
NO_DUCTS: Mapping[Ref, str] = {}
SQUARE = 1e-3  # radians a part may be turned and its box still be its outline


class BuildingPart(NamedTuple):
    """An element of the building: what its own text says, and whose place and shape it has."""

    ref: Ref
    kind: str
    written: list[bytes]
    placement: Ref
    shape: Ref


class ArchitectureReader:
    """The building in one file. What has a shape but no box that can be told is noted."""

    def __init__(
        self, text: TextIndex, ducts: Mapping[Ref, str] = NO_DUCTS, read: Set[Ref] = NONE
    ) -> None:
        """`ducts` are those of the file with their classes, `read` what is read as plumbing."""
        self._surfaces = [
            part._replace(kind="roof") if _is_roof(part) else part
            for name, kind in SURFACES.items()
            for part in _parts(text, name, kind)
        ]
        self._surfaces += [*_framing(text), *_ducts(text, ducts), *_hollows(text, read)]
        self._surfaces += [*_air_intakes(text), *_casework(text, read)]
        self._spaces = list(_parts(text, SPACE, "space"))
        self._text = text
        self._without_box: Counter[str] = Counter()

    def walls(self) -> ArchitectureReader:
        """A part of its walls, evenly taken, as a building of their own."""
        some = copy(self)
        walls = [part for part in self._surfaces if part.kind == "wall"]
        some._surfaces, some._spaces = walls[:: len(walls) // MOST_ASKED + 1], []
        return some

    def sides(self, shapes: ShapeReader, placements: Placements) -> list[tuple[float, float]]:
        """Direction (radians) and length (m) in plan of the longest side of each surface."""
        corners = (_corners(part, shapes, placements) for part in self._surfaces)
        sides = (longest_side([p[:2] for p in points]) for points in corners if points)
        return [side for side in sides if side[1] < LARGEST_BOX_M]

    @property
    def placed(self) -> list[Ref]:
        """The placements of all that has a shape."""
        return [part.placement for part in (*self._surfaces, *self._spaces)]

    @property
    def described(self) -> list[Ref]:
        """What is asked whether it is exterior, or bears load."""
        return [part.ref for part in self._surfaces if part.kind in TO_OUTDOORS | BEARS]

    def surfaces(
        self,
        shapes: ShapeReader,
        placements: Placements,
        said: Callable[[Ref, str], bool | None],
        types: dict[Ref, Ref],
    ) -> list[Surface]:
        """All parts but spaces; `said` tells what is stated of one, `types` its type."""
        return [
            Surface(
                clean(string(of.written[0])), of.kind, clean(string(of.written[2])), *box,
                said(of.ref, "exterior") if of.kind in TO_OUTDOORS else None,
                _outline(of, shapes, placements) if of.kind in UPRIGHT else (),
                corners,
                self._leaves(of, types.get(of.ref, 0), shapes, placements),
                said(of.ref, "load_bearing") if of.kind in BEARS else None,
            )
            for of, box, corners in self._boxed(self._surfaces, shapes, placements)
        ]  # fmt: skip

    def _leaves(
        self, part: BuildingPart, of_type: Ref, shapes: ShapeReader, placements: Placements
    ) -> tuple[Leaf, ...]:
        """The leaves of a door, where the file says how it swings."""
        said = operation(part.written, of_type, self._text) if part.kind == "door" else b""
        if said not in LEAVES:
            return ()
        try:
            frame = placements.frame(part.placement) if part.placement else placements.world
            box = shapes.box(part.shape, IDENTITY)
        except DAMAGE:
            return ()
        return leaves(said, box, frame) if box is not None and frame is not None else ()

    def spaces(
        self, shapes: ShapeReader, placements: Placements, storey_of: Callable[[Ref], str]
    ) -> list[Space]:
        """The spaces with a box; `storey_of` tells the storey a space is part of."""
        return [
            Space(space_name(of.written), storey_of(of.ref), *box)
            for of, box, _ in self._boxed(self._spaces, shapes, placements)
        ]

    def notes(self) -> list[Note]:
        """What was passed over so far."""
        return [
            Note(
                f"The shape or the place of {how_many(count, kind)} cannot be read: nothing is "
                "taken to stand there.",
                "Export them as solids, extruded or faceted, each with a placement.",
                topic="surroundings",
            )
            for kind, count in self._without_box.items()
        ]

    def _boxed(
        self, parts: list[BuildingPart], shapes: ShapeReader, placements: Placements
    ) -> Iterator[tuple[BuildingPart, Box, tuple[Point, ...]]]:
        """Those of the parts that have a box, with it and, of some kinds, their corners."""
        shown, placed = [p.shape for p in parts], [p.placement for p in parts]
        has_corners = [p.kind in WITH_CORNERS for p in parts]
        together, corners = shapes.bodies(shown, placed, has_corners.__getitem__)
        for n, (part, known) in enumerate(zip(parts, together, strict=True)):
            box = known or _box(part, shapes, placements)
            if box is None:
                self._without_box[part.kind] += 1
            elif has_corners[n]:
                yield part, box, corners.get(n) or _corners(part, shapes, placements)
            else:
                yield part, box, ()


def _framing(text: TextIndex) -> Iterator[BuildingPart]:
    """The studs and joists of the building; other beams and members are of no use here."""
    for name in FRAMING:
        for part in _parts(text, name, ""):
            stated = STATED_FRAMING.get(part.written[8]) if len(part.written) > 8 else None
            said = FRAMING_WORDS.search(_called(part))
            kind = stated or (said and ("stud" if said[1] else "joist"))
            if kind:
                yield part._replace(kind=kind)


def _ducts(text: TextIndex, classes: Mapping[Ref, str]) -> Iterator[BuildingPart]:
    for ref, ifc_class in classes.items():
        line = text.get(ref) or b"()"
        kind = "duct fitting" if ifc_class == "IfcDuctFitting" else "duct"
        yield from _part(ref, line[line.index(b"(") + 1 : -1], kind)


def _hollows(text: TextIndex, read: Set[Ref]) -> Iterator[BuildingPart]:
    """Chimneys, chutes and ducts that only their names tell, of what is not read as plumbing."""
    for name in HOLLOWS:
        refs, lines = text.of_class(name)
        for ref, line in zip(refs.tolist(), lines, strict=True):
            if ref in read or not HOLLOW_BYTES.search(line):
                continue
            for part in _part(ref, line, ""):
                said = HOLLOW_WORDS.search(_called(part))
                if said:
                    kind = "chimney" if said[1] else "chute" if said[2] else "duct"
                    yield part._replace(kind=kind)


def _air_intakes(text: TextIndex) -> Iterator[BuildingPart]:
    """Where outside air comes in, whatever of the building or its equipment it is drawn as."""
    for name in CLASSES:
        for part in _parts(text, name, ""):
            stated = part.written[8] if len(part.written) > 8 else b""
            if kind := air_intake_kind(name, _called(part), stated):
                yield part._replace(kind=kind)


def _casework(text: TextIndex, read: Set[Ref]) -> Iterator[BuildingPart]:
    """Furniture that is fixed to the building, of what is not read as plumbing."""
    for name in FURNITURE:
        for part in _parts(text, name, CASEWORK):
            if part.ref not in read and FIXED_WORDS.match(_called(part)):
                yield part


def _called(part: BuildingPart) -> str:
    """Its name, and what it is an object of."""
    return " ".join(string(part.written[k]) for k in (2, 4))


def _parts(text: TextIndex, name: bytes, kind: str) -> Iterator[BuildingPart]:
    """The instances of a class that have a shape."""
    refs, lines = text.of_class(name)
    for ref, line in zip(refs.tolist(), lines, strict=True):
        yield from _part(ref, line, kind)


def _part(ref: Ref, line: bytes, kind: str) -> Iterator[BuildingPart]:
    """An instance by its arguments, where it has a shape."""
    written = arguments(line)
    shape = number(written[6]) if len(written) > 7 else 0
    if shape:
        yield BuildingPart(ref, kind, written, number(written[5]), shape)


def _box(part: BuildingPart, shapes: ShapeReader, placements: Placements) -> Box | None:
    try:
        frame = placements.frame(part.placement) if part.placement else placements.world
        return shapes.box(part.shape, frame) if frame is not None else None
    except DAMAGE:
        return None


def _outline(part: BuildingPart, shapes: ShapeReader, placements: Placements) -> tuple[Place, ...]:
    """The corners from above of what is placed aslant: those of the box in its own coordinates."""
    frame = placements.frame(part.placement) if part.placement else None
    if frame is None or min(abs(frame[0]), abs(frame[1])) < SQUARE:
        return ()
    try:
        box = shapes.box(part.shape, IDENTITY)
    except DAMAGE:
        return ()
    if box is None:
        return ()
    (x1, y1, z), (x2, y2, _) = box
    corners = ((x1, y1, z), (x2, y1, z), (x2, y2, z), (x1, y2, z))
    return tuple(to_world(frame, corner)[:2] for corner in corners)


def _corners(part: BuildingPart, shapes: ShapeReader, placements: Placements) -> tuple[Point, ...]:
    """The corners of the body of a roof, which may be pitched, or of a duct, which may be round."""
    try:
        frame = placements.frame(part.placement) if part.placement else None
        return tuple(shapes.corners(part.shape, frame or placements.world))
    except DAMAGE:
        return ()


def flag_reader(
    properties: PropertyReader, sets: dict[Ref, Refs], types: dict[Ref, Ref]
) -> Callable[[Ref, str], bool | None]:
    """What an element is said to be, by its own property sets or else those of its type."""

    of_type = cache(properties.of_type)

    def said(ref: Ref, name: str) -> bool | None:
        for facts in (properties.facts(sets.get(ref)), of_type(types.get(ref, 0))):
            fact = facts.get(name)
            if fact is not None and isinstance(fact.value, bool):
                return fact.value
        return None

    return said


def _is_roof(part: BuildingPart) -> bool:
    """Whether a slab is one by what it states, or, where it states no type, by its names."""
    if part.kind != "slab":
        return False
    stated = next(iter(part.written[8:9]), b"$")
    if stated not in NO_TYPE:
        return stated == b".ROOF."
    named = " ".join(string(part.written[k]) for k in (2, 4))
    return bool(ROOF_WORDS.search(named)) and not BELOW_ROOF.search(named)
