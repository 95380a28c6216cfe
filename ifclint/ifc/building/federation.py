"""Files of one building brought together: one system of coordinates, one set of storeys."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

from ifclint.engineering.extents import box_around
from ifclint.engineering.units import M_PER_FT
from ifclint.ifc.building.georeference import Georeference, georeference
from ifclint.ifc.building.main_direction import turned_back
from ifclint.ifc.elements import APART, Box, Element, Leaf, Model, Note, Place, Point, Role, Storey
from ifclint.ifc.shape.placement import IDENTITY, Frame, compose, inverse, to_world, turned_deg
from ifclint.ifc.step.damage import DAMAGE
from ifclint.ifc.step.opening import OpenedFile
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.units import Units

# Our own bounds, no source.
SAME_LEVEL_M = 0.05  # storeys this near in height are one, whatever they are called
SAME_NAME_M = 0.50  # storeys of one name are one up to this, farther apart they are two
FAR_APART_M = 10.0  # seen from above, files of one building reach into each other, or nearly so;
FAR_ABOVE_M = 100.0  # those of its storeys lie above each other; walls are beside pipe
STILL = 1e-6  # a frame this near to no movement is none
EXACT = 1e-12  # the same of what is to be moved: it may lie far from the origin
TURNED = math.radians(0.1)
FT_PER_MILE = 5280
ONE_ORIGIN = "Export all files with one origin."
CHECK = (
    "Export all files with one origin and one zero level, or check that they meet as they should."
)


class Federation:
    """Takes one file after the other, each as soon as it has been read into the model."""

    def __init__(self, model: Model, boxes: dict[int, Box]) -> None:
        self._model = model
        self._boxes = boxes
        self._first = Georeference()
        self._around: Box | None = None
        self._mark()

    def add(self, file: OpenedFile, turned_rad: float) -> None:
        """Put what the model gained since the last call, and what is turned back by an angle, into
        the coordinates of the first file, turned back by its own."""
        names = [clean(known.name) for known in self._model.files]
        try:
            units = Units(file.library.rare, file.text)
            here = georeference(file.text, units.length, units.of_unit)
        except DAMAGE:
            here = Georeference()
            self._note(f"Where {names[-1]} lies in the world cannot be read", "placement")
        if len(names) == 1:
            self._first = here
        else:
            self._place(here, turned_rad, names[0], names[-1])
            self._join_storeys(names[-1])
        self._compare_places(names)
        self._mark()

    def _mark(self) -> None:
        model = self._model
        self._elements, self._surfaces = len(model.elements), len(model.surfaces)
        self._grid = len(model.grid)
        self._spaces, self._storeys = len(model.spaces), len(model.storeys)

    def _note(self, what: str, topic: str) -> None:
        self._model.notes.append(Note(f"{what}.", CHECK, topic=topic))

    # -- coordinates -------------------------------------------------------------------------

    def _place(self, here: Georeference, turned_rad: float, first: str, name: str) -> None:
        if not here.comparable(self._first):
            what = f"{name} and {first} do not name the same map, or one of them names none"
            self._note(f"{what}; they were taken to share their origin", "placement")
        elif here.on_map is None and _differ(here.north, self._first.north):
            what = f"True north of {name} and of {first} differ"
            self._note(f"{what}; they may be turned against each other", "placement")
        frame = here.seen_from(self._first)
        if self._model.north is None and here.north is not None:
            about = math.atan2(frame[1], frame[0]) - self._model.turned_rad
            self._model.north = here.north + about
        if _moves(frame):
            x, y, z = frame[9:]
            degrees = math.degrees(math.atan2(frame[1], frame[0]))
            what = f"{name} was moved by ({x:.3f}, {y:.3f}, {z:.3f}) m and turned by {degrees:.2f}°"
            self._note(f"{what}, as it and {first} say where they lie", "placement")
        own = compose(frame, inverse(turned_back(turned_rad)))
        aligned = compose(turned_back(self._model.turned_rad), own)
        if _moves(aligned, EXACT):
            self._move(aligned)

    def _move(self, frame: Frame) -> None:
        model, boxes = self._model, self._boxes
        for index in range(self._elements, len(model.elements)):
            _move_element(model.elements[index], frame)
            if index in boxes:
                boxes[index] = _moved_box(boxes[index], frame)
        for i in range(self._surfaces, len(model.surfaces)):
            surface = model.surfaces[i]
            low, high = _moved_box((surface.low, surface.high), frame)
            outline = tuple(_moved_place(p, frame) for p in surface.outline)
            corners = tuple(to_world(frame, p) for p in surface.corners)
            leaves = tuple(_moved_leaf(leaf, frame) for leaf in surface.leaves)
            model.surfaces[i] = replace(
                surface, low=low, high=high, outline=outline, corners=corners, leaves=leaves
            )
        for i in range(self._grid, len(model.grid)):
            axis = model.grid[i]
            a, *via, b = (_moved_place(place, frame) for place in axis.course)
            model.grid[i] = replace(axis, a=a, b=b, via=tuple(via))
        for i in range(self._spaces, len(model.spaces)):
            space = model.spaces[i]
            low, high = _moved_box((space.low, space.high), frame)
            model.spaces[i] = replace(space, low=low, high=high)
        for i in range(self._storeys, len(model.storeys)):
            storey = model.storeys[i]
            model.storeys[i] = replace(storey, elevation_m=storey.elevation_m + frame[11])

    def _compare_places(self, names: list[str]) -> None:
        """Note a file that lies far from all before it."""
        corners = list(self._corners())
        if not corners:
            return
        low, high = box_around(corners)
        if self._around is not None:
            beside, above = _gaps((low, high), self._around)
            bare = self._is_last_bare()
            if beside > FAR_APART_M or above > (FAR_ABOVE_M if bare is None else FAR_APART_M):
                last, others = names[-1], ", ".join(names[:-1])
                far = _far(math.hypot(beside, above))
                what = f"{last} lies {far} from {others}; nothing of it meets them"
                if bare is not None:
                    self._leave_out(bare)
                    out = last if bare else others
                    what += f", and the storeys, rooms and walls of {out} were left out"
                self._model.notes.append(Note(f"{what}.", ONE_ORIGIN, topic=APART))
        self._around = box_around((low, high, *(self._around or ())))

    def _is_last_bare(self) -> bool | None:
        """Whether the last file is the one without pipe, or those before it are; None where both
        hold some, or neither does."""
        pipes = [n for n, e in enumerate(self._model.elements) if e.role is Role.PIPE]
        before = bool(pipes) and pipes[0] < self._elements
        last = bool(pipes) and pipes[-1] >= self._elements
        return None if before == last else before

    def _leave_out(self, last: bool) -> None:
        """Take out the building of the last file, or of those before it."""
        model = self._model
        whole = ((model.surfaces, self._surfaces), (model.spaces, self._spaces),
                 (model.storeys, self._storeys), (model.grid, self._grid))  # fmt: skip
        for things, mark in whole:
            del things[slice(mark, None) if last else slice(mark)]

    def _corners(self) -> Iterator[Point]:
        """Places of what the file holds, enough to tell where it lies."""
        model = self._model
        for element in model.elements[self._elements :]:
            if element.position is not None:
                yield element.position
        for surface in model.surfaces[self._surfaces :]:
            if surface.kind == "terrain":
                continue  # a site lies around much that does not meet it
            yield from (surface.low, surface.high)
        for space in model.spaces[self._spaces :]:
            yield from (space.low, space.high)

    # -- storeys -----------------------------------------------------------------------------

    def _join_storeys(self, name: str) -> None:
        """Storeys of the file that the model has already get its name; others stay."""
        model = self._model
        known, own = model.storeys[: self._storeys], model.storeys[self._storeys :]
        called: dict[str, str] = {}
        added: list[Storey] = []
        for storey in own:
            self._note_heights(storey, known, name)
            same = _same_storey(storey, known)
            title = same.name if same else _free_name(storey, known, name)
            called.setdefault(storey.name, title)
            if same is None:
                added.append(replace(storey, name=title))
        model.storeys[self._storeys :] = added
        for element in model.elements[self._elements :]:
            element.storey = called.get(element.storey, element.storey)
        for i in range(self._spaces, len(model.spaces)):
            space = model.spaces[i]
            model.spaces[i] = replace(space, storey=called.get(space.storey, space.storey))

    def _note_heights(self, storey: Storey, known: list[Storey], file: str) -> None:
        """Note a storey that lies at another height than the model's of its name."""
        heights = [s.elevation_m for s in known if s.name == storey.name]
        nearest = min(heights, key=lambda h: abs(h - storey.elevation_m), default=None)
        if nearest is not None and abs(nearest - storey.elevation_m) > SAME_LEVEL_M:
            what = f'The storey "{storey.name}" lies at {nearest:.3f} m in one file'
            self._note(f"{what} and at {storey.elevation_m:.3f} m in {file}", "storey")


def _far(metres: float) -> str:
    feet = metres / M_PER_FT
    if feet < FT_PER_MILE:
        return f"{feet:,.0f} ft ({metres:,.0f} m)"
    return f"{feet / FT_PER_MILE:,.0f} mi ({metres / 1000:,.0f} km)"


def _free_name(storey: Storey, known: list[Storey], file: str) -> str:
    """The storey's name, with its file's where the model has one of that name elsewhere."""
    taken = any(other.name == storey.name for other in known)
    return f"{storey.name} ({file})" if taken else storey.name


def _same_storey(storey: Storey, known: list[Storey]) -> Storey | None:
    """The storey of another file that this one is: by name and about its height, else by height."""

    def apart(other: Storey) -> float:
        return abs(other.elevation_m - storey.elevation_m)

    named = [s for s in known if s.name == storey.name and apart(s) <= SAME_NAME_M]
    level = [s for s in known if apart(s) <= SAME_LEVEL_M]
    return min(named or level, key=apart, default=None)


def _moves(frame: Frame, still: float = STILL) -> bool:
    return max(abs(a - b) for a, b in zip(frame, IDENTITY, strict=True)) > still


def _differ(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return False
    return abs(math.remainder(one - other, 2 * math.pi)) > TURNED


def _move_element(element: Element, frame: Frame) -> None:
    if element.position is not None:
        element.position = to_world(frame, element.position)
    if element.box is not None:
        element.box = _moved_box(element.box, frame)
        element.turned_deg += turned_deg(frame)
    element.course = tuple([to_world(frame, p) for p in element.course])
    for end in element.ends:
        if end.position is not None:
            end.position = to_world(frame, end.position)


def _moved_leaf(leaf: Leaf, frame: Frame) -> Leaf:
    hinge, shut, opened = leaf
    return _moved_place(hinge, frame), _moved_place(shut, frame), _moved_place(opened, frame)


def _moved_place(place: Place, frame: Frame) -> Place:
    x, y, _ = to_world(frame, (*place, 0.0))
    return x, y


def _moved_box(box: Box, frame: Frame) -> Box:
    corners = itertools.product(*zip(*box, strict=True))
    return box_around(to_world(frame, (x, y, z)) for x, y, z in corners)


def _gaps(one: Box, other: Box) -> tuple[float, float]:
    """The distance between two boxes seen from above, and in height; 0 where they meet."""
    x, y, z = (max(one[0][k] - other[1][k], other[0][k] - one[1][k], 0.0) for k in range(3))
    return math.hypot(x, y), z
