"""Traps, fixtures and appliances: families in feet, placed by mapped bodies."""

from .bodies import Point, box, cylinder, swept
from .piping import INCH, SANITARY, Piping, Service, inches
from .step import Ref, Typed, Word, global_id

Box = tuple[Point, Point]


class Equipment:
    """Families of this drawing, each written once, and their occurrences."""

    def __init__(self, piping: Piping) -> None:
        self._piping = piping
        self._project = piping.project
        self._families: dict[str, tuple[Ref, Ref, list[Ref]]] = {}

    def trap(
        self, mark: str, inlet_xy: tuple[float, float], z: float, size_in: float, side: int
    ) -> Point:
        """A P-trap whose outlet lies at height z toward +x or -x (side); returns the outlet."""
        family = f"P-Trap - {inches(size_in)}"
        if family not in self._families:
            spread, dip = 2.2 * size_in * INCH, 1.5 * size_in * INCH
            line = [
                (0, 0, trap_height(size_in)),
                (0, 0, -dip),
                (spread, 0, -dip),
                (spread, 0, 0),
                (trap_reach(size_in), 0, 0),
            ]
            body = swept(self._project.step, line, size_in * INCH / 2)
            self._family("IFCWASTETERMINALTYPE", "WASTETRAP", family, "AdvancedSweptSolid", (body,))
        at = (inlet_xy[0], inlet_xy[1], z)
        trap = self._occurrence("IFCWASTETERMINAL", family, mark, at, (float(side), 0.0, 0.0))
        self._project.properties(trap, "Dimensions", {"Size": Typed("IFCLABEL", inches(size_in))})
        self._piping.in_system(SANITARY, trap)
        return (at[0] + side * trap_reach(size_in), at[1], z)

    def boxed(
        self,
        entity: str,
        predefined: str,
        family: str,
        mark: str,
        at: Point,
        boxes: tuple[Box, ...],
        facts: dict[str, Typed] | None = None,
        services: tuple[Service, ...] = (),
    ) -> Ref:
        """A fixture or appliance of boxes about its insertion point."""
        if family not in self._families:
            items = tuple(box(self._project.step, *each) for each in boxes)
            self._family(f"{entity}TYPE", predefined, family, "SweptSolid", items)
        return self._made(entity, family, mark, at, facts, services)

    def round(
        self,
        entity: str,
        predefined: str,
        family: str,
        mark: str,
        at: Point,
        radius: float,
        height: float,
        facts: dict[str, Typed] | None = None,
    ) -> Ref:
        """A drain, tank or heater: a cylinder standing on its insertion point."""
        if family not in self._families:
            body = cylinder(self._project.step, height, radius)
            self._family(f"{entity}TYPE", predefined, family, "SweptSolid", (body,))
        return self._made(entity, family, mark, at, facts, ())

    def _made(
        self,
        entity: str,
        family: str,
        mark: str,
        at: Point,
        facts: dict[str, Typed] | None,
        services: tuple[Service, ...],
    ) -> Ref:
        product = self._occurrence(entity, family, mark, at, (1.0, 0.0, 0.0))
        if facts:
            self._project.properties(product, "Mechanical", facts)
        for service in services:
            self._piping.in_system(service, product)
        return product

    def _family(
        self, entity: str, predefined: str, name: str, kind: str, items: tuple[Ref, ...]
    ) -> None:
        step = self._project.step
        shape = step.add("IFCSHAPEREPRESENTATION", self._project.body, "Body", kind, items)
        source = step.add("IFCREPRESENTATIONMAP", self._project.axes, shape)
        written = step.add(
            entity,
            *(global_id(f"family {name}"), None, name, None, None, None, (source,), None, None),
            Word(predefined),
        )
        self._families[name] = (written, source, [])

    def _occurrence(self, entity: str, family: str, mark: str, at: Point, x_axis: Point) -> Ref:
        step = self._project.step
        _, source, occurrences = self._families[family]
        target = step.add(
            "IFCCARTESIANTRANSFORMATIONOPERATOR3D", None, None, self._project.origin, 1.0, None
        )
        shape = self._project.shape(
            "MappedRepresentation", (step.add("IFCMAPPEDITEM", source, target),)
        )
        axes = () if x_axis[0] > 0 else ((0.0, 0.0, 1.0), x_axis)
        product = self._piping.add(entity, None, family, None, mark, at, shape, axes)
        occurrences.append(product)
        return product

    def finish(self) -> None:
        """Say of every occurrence which family it is of."""
        for name, (written, _, occurrences) in self._families.items():
            self._project.step.add(
                "IFCRELDEFINESBYTYPE",
                *(global_id(f"of family {name}"), None, None, None, occurrences, written),
            )


def trap_height(size_in: float) -> float:
    """From the outlet of a trap up to its inlet (ft)."""
    return 0.2 + size_in * INCH / 2


def trap_reach(size_in: float) -> float:
    """From the inlet of a trap across to its outlet (ft)."""
    return 3.2 * size_in * INCH
