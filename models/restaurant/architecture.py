"""Walls, slabs, doors, windows and rooms, in a file of their own."""

from .bodies import box
from .project import Project, level_at
from .step import Ref, Word, global_id

Corner = tuple[float, float, float]

WALLS = (  # name, two corners in plan, bottom, top (ft)
    ("South", (0.0, 0.0), (24.4, 0.5), -0.5, 22.0),
    ("North", (0.0, 39.6), (24.4, 40.1), -0.5, 22.0),
    ("West", (-0.4, 0.0), (0.0, 40.1), -0.5, 22.0),
    ("East", (23.8, 0.5), (24.3, 39.6), -0.5, 22.0),
    ("Chase", (6.75, 18.0), (7.25, 39.6), 0.0, 22.0),
    ("Kitchen South", (7.25, 18.0), (23.8, 18.4), 0.0, 11.0),
    ("Restroom North", (0.0, 24.5), (6.75, 24.8), 0.0, 11.0),
    ("Janitor North", (0.0, 27.8), (6.75, 28.1), 0.0, 11.0),
    ("Restroom South", (0.0, 17.7), (6.75, 18.0), 0.0, 11.0),
    ("Bath South", (0.0, 29.4), (6.75, 29.7), 12.0, 22.0),
)
SLABS = (  # name, type, low and high corner (ft)
    ("Slab on Grade", "BASESLAB", (0.0, 0.0, -0.5), (24.4, 40.0, 0.0)),
    ("Floor - Level 2", "FLOOR", (0.0, 0.0, 11.0), (24.4, 40.0, 12.0)),
    ("Roof Deck", "ROOF", (0.0, 0.0, 22.0), (24.4, 40.0, 22.5)),
    ("Footing", "BASESLAB", (-0.5, -0.5, -4.0), (24.9, 0.5, -3.5)),
)
SPACES = (  # number, name, low and high corner (ft)
    ("101", "Dining", (0.0, 0.5, 0.0), (23.8, 17.7, 10.0)),
    ("102", "Kitchen", (7.25, 18.4, 0.0), (23.8, 39.6, 10.0)),
    ("103", "Restroom", (0.0, 18.0, 0.0), (6.75, 24.5, 10.0)),
    ("104", "Janitor", (0.0, 24.8, 0.0), (6.75, 27.8, 10.0)),
    ("105", "Mechanical", (0.0, 28.1, 0.0), (6.75, 39.6, 10.0)),
    ("201", "Bath", (0.0, 29.7, 12.0), (6.75, 39.6, 21.0)),
    ("202", "Kitchen and Laundry", (7.25, 18.0, 12.0), (23.8, 39.6, 21.0)),
    ("203", "Living", (0.0, 0.5, 12.0), (23.8, 18.0, 21.0)),
    ("204", "Bedroom", (0.0, 18.0, 12.0), (6.75, 29.4, 21.0)),
)
DOORS = (  # name, low and high corner (ft), hinges seen from within, turned to open south
    ("Entry", (10.0, 0.0, 0.0), (13.0, 0.5, 7.0), "LEFT", True),
    ("Kitchen Service", (18.0, 39.6, 0.0), (21.0, 40.1, 7.0), "RIGHT", False),
    ("Restroom", (1.0, 17.7, 0.0), (4.0, 18.0, 7.0), "LEFT", False),
    ("Mechanical", (0.5, 27.8, 0.0), (3.5, 28.1, 7.0), "RIGHT", False),
)
WINDOWS = (  # name, low and high corner (ft)
    ("Living", (8.0, 0.0, 15.0), (12.0, 0.5, 19.0)),
    ("Flat Kitchen", (14.0, 39.6, 15.5), (17.0, 40.1, 19.0)),
)
AXES = (  # tag, both ends (ft); those that run north first
    ("1", (-0.2, -6.0), (-0.2, 44.0)),
    ("2", (7.0, -6.0), (7.0, 44.0)),
    ("3", (24.05, -6.0), (24.05, 44.0)),
    ("A", (-4.0, 0.25), (28.0, 0.25)),
    ("B", (-4.0, 18.2), (28.0, 18.2)),
    ("C", (-4.0, 39.85), (28.0, 39.85)),
)


class Architecture:
    """The building without its pipes."""

    def __init__(self) -> None:
        self.project = Project("architecture")

    def draw(self) -> None:
        for name, low, high, bottom, top in WALLS:
            self._element(
                "IFCWALL", f"Basic Wall:{name}", (*low, bottom), (*high, top), (Word("STANDARD"),)
            )
        for name, slab, lower, upper in SLABS:
            self._element("IFCSLAB", f"Floor:{name}", lower, upper, (Word(slab),))
        for name, lower, upper, hinges, turned in DOORS:
            swing = Word("DOOR"), Word(f"SINGLE_SWING_{hinges}"), None
            self._opening("IFCDOOR", name, lower, upper, swing, turned)
        for name, lower, upper in WINDOWS:
            self._opening("IFCWINDOW", name, lower, upper, (Word("WINDOW"), None, None))
        self._rooms()
        self._grid()
        self.project.finish()

    def _opening(
        self,
        entity: str,
        name: str,
        low: Corner,
        high: Corner,
        rest: tuple[object, ...],
        turned: bool = False,
    ) -> None:
        size = (high[2] - low[2], high[0] - low[0])
        title = f"{entity[3:].title()}:{name}"
        self._element(entity, title, low, high, (*size, *rest), turned)

    def _element(
        self,
        entity: str,
        name: str,
        low: Corner,
        high: Corner,
        rest: tuple[object, ...],
        turned: bool = False,
    ) -> None:
        """`turned` is placed with its x axis to the west and its y axis to the south."""
        project = self.project
        level = level_at(low[2])
        shape = self._body(low, high)
        at = (high[0], high[1], low[2]) if turned else low
        axes = ((0, 0, 1), (-1, 0, 0)) if turned else ()
        element = project.step.add(
            *(entity, global_id(f"{entity} {name} {low}"), None, name, None, None),
            *(project.place(*at, level, axes), shape, None, *rest),
        )
        project.on_level(level, element)

    def _grid(self) -> None:
        """The grid that sizes and places are told from, on the lowest floor."""
        step, level = self.project.step, "Level 1"
        axes = []
        for tag, start, end in AXES:
            line = step.add("IFCPOLYLINE", (step.point(*start), step.point(*end)))
            axes.append(step.add("IFCGRIDAXIS", tag, line, True))
        grid = step.add(
            *("IFCGRID", global_id("grid"), None, "Grid", None, None),
            *(self.project.place(0.0, 0.0, 0.0, level), None, axes[:3], axes[3:], None, None),
        )
        self.project.on_level(level, grid)

    def _body(self, low: Corner, high: Corner) -> Ref:
        size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
        return self.project.shape("SweptSolid", (box(self.project.step, (0, 0, 0), size),))

    def _rooms(self) -> None:
        project = self.project
        rooms: dict[str, list[Ref]] = {}
        for number, name, low, high in SPACES:
            level = level_at(low[2])
            room = project.step.add(
                *("IFCSPACE", global_id(f"room {number}"), None, number, None, None),
                *(project.place(*low, level), self._body(low, high), name),
                *(Word("ELEMENT"), Word("INTERNAL"), None),
            )
            rooms.setdefault(level, []).append(room)
        for level, held in rooms.items():
            project.step.add(
                "IFCRELAGGREGATES",
                *(global_id(f"rooms of {level}"), None, None, None, project.level(level), held),
            )
