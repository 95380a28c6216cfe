"""Pipe drawn as centrelines; where they meet, fittings stand and the pipes are cut back.

A fitting is named by its shape alone ("Tee", "Elbow"), as a design program names it, and nothing
has ports: parts are joined because their bodies meet.
"""

import math
from dataclasses import dataclass, field
from itertools import pairwise

from .bodies import Point, extruded_pipe, faceted_pipe, local_axes, swept
from .project import Project, level_at
from .step import Ref, Typed, Word, global_id

INCH = 1 / 12  # ft
NEAR = 0.002  # ft


@dataclass(frozen=True)
class Service:
    """A kind of piping as this office draws it."""

    name: str
    system: str  # IfcDistributionSystemEnum
    family: str
    material: str
    body: str  # extruded, faceted or swept
    group: str  # pipes of one group meet each other


SANITARY = Service("Sanitary", "SEWAGE", "PVC - DWV", "PVC", "extruded", "dwv")
GREASE = Service("Grease Waste", "WASTEWATER", "Cast Iron - No Hub", "Cast Iron", "extruded", "dwv")
INDIRECT = Service("Indirect Waste", "WASTEWATER", "Copper - DWV", "Copper", "swept", "indirect")
VENT = Service("Vent", "VENT", "PVC - DWV", "PVC", "faceted", "dwv")
COLD = Service(
    "Domestic Cold Water", "DOMESTICCOLDWATER", "Copper - Type L", "Copper", "swept", "cold"
)
HOT = Service("Domestic Hot Water", "DOMESTICHOTWATER", "Copper - Type L", "Copper", "swept", "hot")
RELIEF = Service("Relief Drain", "DRAINAGE", "Copper - Type M", "Copper", "swept", "relief")
GAS = Service("Fuel Gas", "GAS", "Black Steel - Sch 40", "Steel", "swept", "gas")


@dataclass
class Run:
    """One straight piece of centreline."""

    service: Service
    size_in: float
    start: Point
    end: Point
    mark: str


@dataclass
class Part:
    """A valve, meter, trap … in a line, or a cap at its end, that pipes are cut back for."""

    entity: str
    predefined: str
    family: str
    at: Point
    reach: float  # ft from its middle to where a pipe ends
    mark: str
    service: Service
    object_type: str | None = None
    facts: dict[str, Typed] = field(default_factory=dict)


def inches(size: float) -> str:
    """A size as this office writes it: 1 1/2"."""
    whole, rest = int(size), size - int(size)
    eighths = {0.0: "", 0.25: "1/4", 0.375: "3/8", 0.5: "1/2", 0.75: "3/4"}[rest]
    return " ".join(each for each in (str(whole) if whole else "", eighths) if each) + '"'


def apart(a: Point, b: Point) -> float:
    return math.dist(a, b)


def toward(a: Point, b: Point, length: float) -> Point:
    """The point `length` from a in the direction of b."""
    share = length / apart(a, b)
    return (
        a[0] + (b[0] - a[0]) * share,
        a[1] + (b[1] - a[1]) * share,
        a[2] + (b[2] - a[2]) * share,
    )


class Piping:
    """All centrelines of the building, then its pipes and fittings."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.runs: list[Run] = []
        self.parts: list[Part] = []
        self._systems: dict[Service, list[Ref]] = {}
        self._materials: dict[str, list[Ref]] = {}

    def line(self, mark: str, service: Service, size_in: float, *points: Point) -> None:
        """Straight pieces from point to point; bends stand between them."""
        for number, (start, end) in enumerate(pairwise(points), start=1):
            self.runs.append(Run(service, size_in, start, end, f"{mark}.{number}"))

    def part(self, part: Part) -> None:
        self.parts.append(part)

    def in_system(self, service: Service, product: Ref) -> None:
        self._systems.setdefault(service, []).append(product)

    def draw(self) -> None:
        """Split the lines where others meet them, then draw pipes, fittings and parts."""
        self._split()
        meetings = self._meetings()
        reach: dict[tuple[str, Point], float] = {}
        for key, members in meetings.items():
            part = self._part_at(key)
            reach[key] = part.reach if part else _takeout(key[1], members)
        for run in self.runs:
            self._pipe(run, reach)
        for key, members in meetings.items():
            part = self._part_at(key)
            if part:
                self._draw_part(part, members)
            elif reach[key]:
                self._fitting(key[1], members, reach)
        self._relations()

    def _part_at(self, key: tuple[str, Point]) -> Part | None:
        group, at = key
        for part in self.parts:
            if part.service.group == group and apart(part.at, at) < NEAR:
                return part
        return None

    def _split(self) -> None:
        points = [(run.service.group, end) for run in self.runs for end in (run.start, run.end)]
        points += [(part.service.group, part.at) for part in self.parts]
        pieces = []
        for run in self.runs:
            cuts = sorted(
                {
                    _key(point): apart(run.start, point)
                    for group, point in points
                    if group == run.service.group and _inside(point, run)
                }.items(),
                key=lambda cut: cut[1],
            )
            ends = [run.start, *(point for point, _ in cuts), run.end]
            for number, (start, end) in enumerate(pairwise(ends)):
                mark = run.mark + "abcdefghijkl"[number] if cuts else run.mark
                pieces.append(Run(run.service, run.size_in, start, end, mark))
        self.runs = pieces

    def _meetings(self) -> dict[tuple[str, Point], list[tuple[Run, Point]]]:
        """Every place where runs end, with the runs and their far ends."""
        found: dict[tuple[str, Point], list[tuple[Run, Point]]] = {}
        for run in self.runs:
            group = run.service.group
            found.setdefault((group, _key(run.start)), []).append((run, run.end))
            found.setdefault((group, _key(run.end)), []).append((run, run.start))
        return found

    def _pipe(self, run: Run, reach: dict[tuple[str, Point], float]) -> None:
        group = run.service.group
        first, last = reach[group, _key(run.start)], reach[group, _key(run.end)]
        length = apart(run.start, run.end) - first - last
        if length < 0.03:
            return
        start = toward(run.start, run.end, first) if first else run.start
        end = toward(run.start, run.end, first + length)
        radius = run.size_in * INCH / 2
        step = self.project.step
        along = (
            (end[0] - start[0]) / length,
            (end[1] - start[1]) / length,
            (end[2] - start[2]) / length,
        )
        make = {"extruded": extruded_pipe, "faceted": faceted_pipe}.get(run.service.body)
        if make:
            kind = "SweptSolid" if run.service.body == "extruded" else "Brep"
            shape = self.project.shape(kind, (make(step, length, radius),))
        else:
            disk = swept(step, [(0, 0, 0), (0, 0, length)], radius)
            shape = self.project.shape("AdvancedSweptSolid", (disk,))
        facts = {
            "Size": Typed("IFCLABEL", inches(run.size_in)),
            "Length": Typed("IFCPOSITIVELENGTHMEASURE", length),
        }
        self._product(
            ("IFCPIPESEGMENT", "RIGIDSEGMENT", f"Pipe Types:{run.service.family}", None),
            run.mark,
            run.service,
            start,
            shape,
            facts,
            axes=local_axes(along),
        )

    def _fitting(
        self,
        at: Point,
        members: list[tuple[Run, Point]],
        reach: dict[tuple[str, Point], float],
    ) -> None:
        own = reach[members[0][0].service.group, at]
        arms = []
        for run, far in members:
            other = reach[run.service.group, _key(far)]
            spare = apart(at, far) - own - other
            length = own if spare >= 0.03 else own + spare * own / (own + other)
            tip = toward(at, far, length)
            arms.append(((tip[0] - at[0], tip[1] - at[1], tip[2] - at[2]), run))
        step = self.project.step
        name, predefined = _fitting_words(at, members)
        if len(arms) == 2 and name == "Elbow":
            radius = max(run.size_in for _, run in arms) * INCH / 2
            items = [swept(step, [arms[0][0], (0, 0, 0), arms[1][0]], radius)]
        else:
            items = [swept(step, [(0, 0, 0), tip], run.size_in * INCH / 2) for tip, run in arms]
        run = _leading(members)
        sizes = "-".join(inches(member.size_in) for member, _ in members)
        self._product(
            ("IFCPIPEFITTING", predefined, f"{name} - {run.service.material}", None),
            f"F{1 if apart(run.start, at) < NEAR else 2} {run.mark}",
            run.service,
            at,
            self.project.shape("AdvancedSweptSolid", tuple(items)),
            {"Size": Typed("IFCLABEL", sizes)},
        )

    def _draw_part(self, part: Part, members: list[tuple[Run, Point]]) -> None:
        step = self.project.step
        radius = max(run.size_in for run, _ in members) * INCH / 2
        tips: list[Point] = []
        for _, far in members:
            tip = toward(part.at, far, part.reach)
            tips.append((tip[0] - part.at[0], tip[1] - part.at[1], tip[2] - part.at[2]))
        if len(tips) == 1:
            tips.append((0.0, 0.0, 0.0))
        shape = self.project.shape("AdvancedSweptSolid", (swept(step, tips[:2], radius * 1.3),))
        facts = {"Size": Typed("IFCLABEL", inches(max(run.size_in for run, _ in members)))}
        self._product(
            (part.entity, part.predefined, part.family, part.object_type),
            part.mark,
            part.service,
            part.at,
            shape,
            {**facts, **part.facts},
        )

    def _product(
        self,
        kind: tuple[str, str, str, str | None],
        mark: str,
        service: Service,
        at: Point,
        shape: Ref,
        facts: dict[str, Typed],
        axes: object = (),
    ) -> None:
        product = self.add(*kind, mark, at, shape, axes)
        self._materials.setdefault(service.material, []).append(product)
        self.in_system(service, product)
        self.project.properties(product, "Dimensions", facts)
        self.project.properties(
            product, "Mechanical", {"System Name": Typed("IFCLABEL", service.name)}
        )

    def add(
        self,
        entity: str,
        predefined: str | None,
        family: str,
        object_type: str | None,
        mark: str,
        at: Point,
        shape: Ref,
        axes: object = (),
    ) -> Ref:
        """A product on the level it is hosted by."""
        level = level_at(at[2])
        identity = global_id(f"{entity} {mark}")
        number = str(200000 + sum(ord(c) * 131**i for i, c in enumerate(mark)) % 700000)
        product = self.project.step.add(
            entity,
            *(identity, None, f"{family}:{number}", None, object_type or family),
            *(self.project.place(*at, level, axes), shape, number),
            *((Word(predefined),) if predefined else (None,)),
        )
        self.project.on_level(level, product)
        self.project.properties(product, "Identity Data", {"Mark": Typed("IFCTEXT", mark)})
        return product

    def _relations(self) -> None:
        step = self.project.step
        for service, products in self._systems.items():
            system = step.add(
                "IFCDISTRIBUTIONSYSTEM",
                *(global_id(f"system {service.name}"), None, service.name, None, None, None),
                Word(service.system),
            )
            step.add(
                "IFCRELASSIGNSTOGROUP",
                *(global_id(f"in system {service.name}"), None, None, None, products, None, system),
            )
        for name, products in self._materials.items():
            material = step.add("IFCMATERIAL", name, None, None)
            step.add(
                "IFCRELASSOCIATESMATERIAL",
                *(global_id(f"material {name}"), None, None, None, products, material),
            )


def _key(point: Point) -> Point:
    return (round(point[0], 3) + 0.0, round(point[1], 3) + 0.0, round(point[2], 3) + 0.0)


def _inside(point: Point, run: Run) -> bool:
    first, last = apart(run.start, point), apart(point, run.end)
    return min(first, last) > NEAR and first + last - apart(run.start, run.end) < NEAR / 10


def _takeout(at: Point, members: list[tuple[Run, Point]]) -> float:
    """How far a fitting reaches from its middle (ft); nothing at an open end."""
    if len(members) == 1 or (len(members) == 2 and _straight(at, members) and _equal(members)):
        return 0.0
    return round(0.06 + 0.75 * INCH * max(run.size_in for run, _ in members), 3)


def _equal(members: list[tuple[Run, Point]]) -> bool:
    return len({run.size_in for run, _ in members}) == 1


def _straight(at: Point, members: list[tuple[Run, Point]]) -> bool:
    (_, a), (_, b) = members
    return apart(at, a) + apart(at, b) - apart(a, b) < NEAR


def _leading(members: list[tuple[Run, Point]]) -> Run:
    """The run whose system a fitting belongs to: drains before vents."""
    runs = [run for run, _ in members]
    return next((run for run in runs if run.service is not VENT), runs[0])


def _fitting_words(at: Point, members: list[tuple[Run, Point]]) -> tuple[str, str]:
    if len(members) == 2:
        return ("Reducer", "TRANSITION") if _straight(at, members) else ("Elbow", "BEND")
    return ("Tee", "JUNCTION") if len(members) == 3 else ("Cross", "JUNCTION")
