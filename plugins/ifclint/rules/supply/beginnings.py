"""Where the pressure begins anew: behind pumps, tanks and regulators, at what they are set to."""

from dataclasses import dataclass

from ifclint.checks import given
from ifclint.ifc.elements import Element, Role
from ifclint.job import WaterPressure
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import SETS_PRESSURE, begins_anew
from ifclint.rules.supply.losses import falloff_pa


@dataclass(frozen=True)
class Beginning:
    """A pump or tank that gives the pressure behind the end of a line.

    `sets` are what it is set by: the pressure tank that stands behind a pump first, since its
    switch does. `from_source` where nothing before it gives a pressure: a private supply's first.
    """

    sets: tuple[Element, ...]
    from_source: bool

    @property
    def element(self) -> Element:
        return self.sets[0]

    @property
    def is_pump(self) -> bool:
        return any(element.role is Role.PUMP for element in self.sets)

    @property
    def height_m(self) -> float | None:
        """Of what sets it: the switch of a pump stands at its tank."""
        points = self.element.places
        point = self.element.position or (points[0] if points else None)
        return None if point is None else point[2]


@derived
def beginnings(context: Context) -> dict[int, Beginning]:
    """Number of a line -> what gives the pressure behind its end.

    Between a pump and its tank nothing is lost that the switch at the tank does not make good.
    """
    supply = context.plumbing.supply
    street = set(supply.heads) - supply.sources.private
    found: dict[int, Beginning] = {}
    for line in supply.segments:
        last = line.elements[-1]
        if line.indexes[-1] in street or not begins_anew(last) or line.number in found:
            continue
        before = (found.get(a.number) for a in line.to_source)
        first = line.source in supply.sources.private and not any(
            b is not None and b.is_pump for b in before
        )
        behind = supply.pressure_tank(line) if last.role is Role.PUMP else None
        if behind is None:
            found[line.number] = Beginning((last,), first)
        else:
            at, tank = behind
            found[line.number] = found[at.number] = Beginning((tank, last), first)
    return found


def set_to(beginning: Beginning, context: Context) -> tuple[float | None, float | None]:
    """(Standing, flowing) pressure at a pump or tank, Pa; None each where nothing tells it.

    The job file's, of the pump or tank, or where there is no street of the supply; else the
    pressures at which the model says the pump stops and starts: it runs before less is left.
    """
    water = context.job.water
    for element in beginning.sets:
        told = told_of(element, context)
        if told is not None:
            return told.static_pressure, told.residual_pressure
    if beginning.from_source and water.static_pressure is not None:
        return water.static_pressure, water.residual_pressure
    for element in beginning.sets:
        starts = element.properties.number("cut_in_pa")
        stops = element.properties.number("cut_out_pa")
        if starts is not None and stops is not None and 0 < starts < stops:
            return stops, starts
    return None, None


def told_of(element: Element, context: Context) -> WaterPressure | None:
    """What the job file says of the pressure behind an element."""
    said = (p for p in context.job.water.pressures if p.element == element.guid)
    return next(said, None)


def flowing_pa(valve: Element, context: Context) -> float:
    """What a regulator of known setting gives while water runs."""
    told, setting = told_of(valve, context), given(setting_pa(valve, context))
    if told is not None and told.residual_pressure is not None:
        return told.residual_pressure
    return setting - falloff_pa(context)


def setting_pa(valve: Element, context: Context) -> float | None:
    """The setting of a regulator: the job file's, of this one or of all, else the model's."""
    told = told_of(valve, context)
    given = context.job.water.regulator_setting if told is None else told.static_pressure
    if given is not None:
        return given
    return valve.properties.positive("downstream_pressure_pa")


def sets_pressure(element: Element) -> bool:
    """Whether an element is a regulator."""
    return element.kind in SETS_PRESSURE or element.role is Role.REGULATOR
