"""Project, site, building and levels of a file, and what every product needs."""

from .step import Ref, Step, Typed, Word, global_id

LEVELS = (  # name, elevation in feet
    ("Foundation", -4.0),
    ("Level 1", 0.0),
    ("Level 2", 12.0),
    ("T.O. Plate", 22.0),
)


def level_at(z: float) -> str:
    """The level a modeller would host what stands at this height (ft) on."""
    return [name for name, low in LEVELS if low <= max(z, LEVELS[0][1]) + 0.01][-1]


class Project:
    """A file under way: its context, its levels and the products on them."""

    def __init__(self, discipline: str) -> None:
        self.step = Step()
        self._discipline = discipline
        self._contained: dict[str, list[Ref]] = {name: [] for name, _ in LEVELS}
        self._sets: dict[str, tuple[Ref, list[Ref]]] = {}
        step = self.step
        self.origin = step.point(0, 0, 0)
        self.axes = step.add("IFCAXIS2PLACEMENT3D", self.origin, None, None)
        context = step.add(
            "IFCGEOMETRICREPRESENTATIONCONTEXT", None, "Model", 3, 0.00001, self.axes, None
        )
        self.body = step.add(
            "IFCGEOMETRICREPRESENTATIONSUBCONTEXT",
            *("Body", "Model", Word("*"), Word("*"), Word("*"), Word("*")),
            *(context, None, Word("MODEL_VIEW"), None),
        )
        self._levels = self._hierarchy(context)

    def _hierarchy(self, context: Ref) -> dict[str, tuple[Ref, Ref, float]]:
        step = self.step
        project = step.add(
            "IFCPROJECT",
            *(global_id("project"), None, "The Salt Thistle", None, None, None, None),
            *((context,), self._units()),
        )
        place = step.add("IFCLOCALPLACEMENT", None, self.axes)
        site = step.add(
            "IFCSITE",
            *(global_id("site"), None, "Lot 4, Ferrier Row", None, None, place, None, None),
            *(Word("ELEMENT"), None, None, None, None, None),
        )
        building = step.add(
            "IFCBUILDING",
            *(global_id("building"), None, "The Salt Thistle", None, None, place, None, None),
            *(Word("ELEMENT"), None, None, None),
        )
        levels = {}
        for name, z in LEVELS:
            at = step.add("IFCAXIS2PLACEMENT3D", step.point(0, 0, z), None, None)
            level_place = step.add("IFCLOCALPLACEMENT", place, at)
            level = step.add(
                "IFCBUILDINGSTOREY",
                *(global_id(f"level {name}"), None, name, None, None, level_place, None, None),
                *(Word("ELEMENT"), z),
            )
            levels[name] = (level, level_place, z)
        self._aggregate(project, (site,), "project")
        self._aggregate(site, (building,), "site")
        self._aggregate(building, [level for level, _, _ in levels.values()], "building")
        return levels

    def _aggregate(self, whole: Ref, parts: object, key: str) -> None:
        self.step.add(
            "IFCRELAGGREGATES",
            *(global_id(f"{self._discipline} parts of {key}"), None, None, None, whole, parts),
        )

    def _units(self) -> Ref:
        step = self.step
        metre = step.add("IFCSIUNIT", Word("*"), Word("LENGTHUNIT"), None, Word("METRE"))
        exponents = step.add("IFCDIMENSIONALEXPONENTS", 1, 0, 0, 0, 0, 0, 0)
        measure = step.add("IFCMEASUREWITHUNIT", Typed("IFCRATIOMEASURE", 0.3048), metre)
        foot = step.add("IFCCONVERSIONBASEDUNIT", exponents, Word("LENGTHUNIT"), "FOOT", measure)
        angle = step.add("IFCSIUNIT", Word("*"), Word("PLANEANGLEUNIT"), None, Word("RADIAN"))
        return step.add("IFCUNITASSIGNMENT", (foot, angle))

    def place(self, x: float, y: float, z: float, level: str, axes: object = ()) -> Ref:
        """A placement in feet of the building; `axes` are local z and x where turned."""
        step = self.step
        _, level_place, level_z = self._levels[level]
        turned = tuple(step.direction(*each) for each in axes) or (None, None)  # type: ignore[attr-defined]
        at = step.add("IFCAXIS2PLACEMENT3D", step.point(x, y, z - level_z), *turned)
        return step.add("IFCLOCALPLACEMENT", level_place, at)

    def shape(self, kind: str, items: object) -> Ref:
        """The body of a product."""
        shape = self.step.add("IFCSHAPEREPRESENTATION", self.body, "Body", kind, items)
        return self.step.add("IFCPRODUCTDEFINITIONSHAPE", None, None, (shape,))

    def on_level(self, level: str, product: Ref) -> None:
        self._contained[level].append(product)

    def level(self, name: str) -> Ref:
        return self._levels[name][0]

    def properties(self, product: Ref, name: str, values: dict[str, Typed]) -> None:
        """A property set on one product; products with equal values share it."""
        content = name + ";".join(f"{label}={value.value}" for label, value in values.items())
        if content not in self._sets:
            singles = tuple(
                self.step.add("IFCPROPERTYSINGLEVALUE", label, None, value, None)
                for label, value in values.items()
            )
            identity = global_id(f"{self._discipline} {content}")
            held = self.step.add("IFCPROPERTYSET", identity, None, name, None, singles)
            self._sets[content] = (held, [])
        self._sets[content][1].append(product)

    def finish(self) -> None:
        """Write the relations that gather products."""
        step = self.step
        for name, products in self._contained.items():
            if products:
                step.add(
                    "IFCRELCONTAINEDINSPATIALSTRUCTURE",
                    *(global_id(f"{self._discipline} on {name}"), None, None, None),
                    *(products, self._levels[name][0]),
                )
        for content, (held, products) in self._sets.items():
            step.add(
                "IFCRELDEFINESBYPROPERTIES",
                *(global_id(f"{self._discipline} defines {content}"), None, None, None),
                *(products, held),
            )
