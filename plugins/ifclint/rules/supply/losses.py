"""What pipe, fittings and devices take of the pressure of water passing through a line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from ifclint.engineering.arithmetic import or_zero
from ifclint.engineering.data import fitting_length_m, inside_diameter_m, rows_of
from ifclint.engineering.friction import (
    darcy_pressure_drop_pa,
    hazen_williams_head_m,
    pressure_of_head_pa,
)
from ifclint.engineering.joined import NONE
from ifclint.engineering.units import M3_PER_S_PER_GPM, PA_PER_PSI
from ifclint.ifc.elements import PASSED_DEVICE, Element, Role
from ifclint.packs import Context, derived
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import TREATMENT
from ifclint.plumbing.words import copper_type
from ifclint.rules.supply.missing import Reason

JOINT_OF = {"copper": "copper-wrought", "pvc": "pvc", "cpvc": "pvc"}
SUBSTITUTE = {
    "brass": "copper", "polyethylene": "pex", "pe-rt": "pex", "stainless steel": "steel",
    "polybutylene": "pex",  # of the walls of PEX. From memory: ASTM D3309, SDR 11
}  # fmt: skip
ROUGHNESS_OF = {"cpvc": "pvc", "polypropylene": "pvc"}  # smooth walls alike
FITTING_OF = {
    "bend": "quarter-bend", "quarter-bend": "quarter-bend", "short-sweep": "quarter-bend",
    "long-sweep": "quarter-bend", "eighth-bend": "eighth-bend", "sixteenth-bend": "eighth-bend",
    "sixth-bend": "eighth-bend", "tee": "tee-run", "cross": "tee-run",
}  # fmt: skip
# Equivalent length in inside diameters, where no table lists the joint (steel, PEX): threaded or
# standard fittings. Source: Crane Technical Paper 410 (from memory).
DIAMETERS_OF = {"quarter-bend": 30.0, "eighth-bend": 16.0, "tee-run": 20.0, "tee-branch": 60.0}
NOT_RUN: frozenset[object] = frozenset({0.625, 3.5})  # listed, but hardly ever sold
VALVE_OF = {"isolating": ("any", "gate-valve"), "check": ("copper", "check-valve")}


class Loss(NamedTuple):
    """What a line takes of the pressure, Pa. `unknown` tells what could not be counted."""

    friction_pa: float = 0.0
    devices_pa: float = 0.0
    equivalent_m: float = 0.0  # pipe and fittings
    inside_m: float | None = None
    unknown: Reason | None = None
    allowance_m: float = 0.0  # of the equivalent length, for fittings that are not drawn
    unstated_pa: float = 0.0  # what devices may take besides, whose loss is not stated

    @property
    def total_pa(self) -> float:
        return self.friction_pa + self.devices_pa


def _listed_as(material: str, copper: str) -> str:
    """What a material is called in the table of dimensions."""
    name = SUBSTITUTE.get(material, material)
    if name == "copper":
        return f"copper-{copper.lower()}"
    return "steel" if name == "galvanized steel" else name


@cache
def bore_m(material: str, size_in: float, copper: str) -> float | None:
    """Inside diameter of a pipe by material and nominal size, m; None where it is not listed."""
    return inside_diameter_m(_listed_as(material, copper), size_in)


@cache
def listed_sizes(material: str, copper: str) -> tuple[float, ...]:
    """The nominal sizes a material is listed in and sold in, ascending."""
    name = _listed_as(material, copper)
    sizes = {r["size_in"] for r in rows_of("pipe_dimensions") if r["material"] == name}
    return tuple(sorted(s for s in sizes - NOT_RUN if isinstance(s, float)))


@cache
def coefficient_c(material: str) -> float | None:
    """Hazen and Williams' C: the lower of the usual values, so that losses are not understated."""
    return _of_material("hazen_williams_c", "c_low", SUBSTITUTE.get(material, material))


@cache
def roughness_m(material: str) -> float | None:
    name = SUBSTITUTE.get(material, material)
    return _of_material("roughness", "roughness_m", ROUGHNESS_OF.get(name, name))


def _of_material(table: str, column: str, material: str) -> float | None:
    value = next((row[column] for row in rows_of(table) if row["material"] == material), None)
    return value if isinstance(value, float) else None


def inside_of(
    segment: WaterSegment, context: Context, size_in: float | None = None
) -> float | None:
    """The bore of a line as it is, from the model where it tells one, or in another size."""
    if size_in is None:
        stated = segment.first.properties.positive("inside_diameter_m")
        if stated is not None:
            return stated
        size_in = segment.size_in
    if size_in is None:
        return None
    return bore_m(segment.material, size_in, copper_of(segment, context))


def copper_of(segment: WaterSegment, context: Context) -> str:
    """The type of a line of copper: as its first pipe tells, else as the job file does."""
    told = copper_type(segment.first) if segment.pipes else ""
    return told if told in ("K", "L", "M") else context.job.water.copper_type


@dataclass(frozen=True)
class LossOfLine:
    """What a line takes at any flow: its pipe with fittings as one length of one bore, and its
    devices. `still` is what it is without a flow, with what of its pipe is not known."""

    context: Context
    still: Loss
    material: str
    devices: tuple[Element, ...]

    def at(self, flow_m3_per_s: float) -> Loss:
        """What it takes at a flow, m3/s."""
        friction, still = 0.0, self.still
        devices, unknown = _devices(self.devices, flow_m3_per_s, self.context)
        unknown = still.unknown or unknown
        if still.inside_m is not None:
            inside, length = still.inside_m, still.equivalent_m
            found = friction_pa(self.material, inside, length, flow_m3_per_s, self.context)
            friction, unknown = or_zero(found), Reason.ROUGHNESS if found is None else unknown
        return Loss(
            friction, devices, still.equivalent_m, still.inside_m, unknown, still.allowance_m,
            still.unstated_pa,
        )  # fmt: skip


@derived
def loss_of_line(context: Context, segment: WaterSegment, size_in: float | None) -> LossOfLine:
    """What a line takes, as drawn or with its pipe in another size."""
    stated = _stated(context)
    devices = [
        e
        for e in segment.elements
        if e.guid in stated or e.role is Role.METER or e.kind == "backflow-preventer"
    ]
    unstated = sum(_unstated_pa(element, context) for element in segment.elements)
    still = _still(segment, context, size_in)._replace(unstated_pa=unstated)
    return LossOfLine(context, still, segment.material, tuple(devices))


def _is_told(segment: WaterSegment, context: Context, size_in: float | None) -> bool:
    """Whether size, material and bore of a line are known."""
    return bool(segment.material) and inside_of(segment, context, size_in) is not None


def _still(segment: WaterSegment, context: Context, size_in: float | None) -> Loss:
    """The length and bore of the pipe of a line."""
    size, material = size_in if size_in is not None else segment.size_in, segment.material
    no_pipe = not segment.pipes
    if no_pipe or (segment.is_connector and not _is_told(segment, context, size_in)):
        return Loss()  # the pressure a fixture needs is that at its stop
    if size is None:
        return Loss(unknown=Reason.SIZE)
    if not material:
        return Loss(unknown=Reason.MATERIAL)
    inside = inside_of(segment, context, size_in)
    length = segment.length_m
    if inside is None or length is None:
        return Loss(unknown=Reason.BORE if inside is None else Reason.LENGTH)
    fittings, allowance = fittings_m(segment, size, inside, length, context)
    return Loss(0.0, 0.0, length + fittings + allowance, inside, None, allowance)


def friction_pa(
    material: str, inside_m: float, length_m: float, flow_m3_per_s: float, context: Context
) -> float | None:
    """Friction by the formula the job file chooses, Pa; None for a material of unknown bore."""
    if flow_m3_per_s <= 0.0:
        return 0.0
    if context.job.water.friction == "darcy-weisbach":
        rough = roughness_m(material)
        if rough is None:
            return None
        return darcy_pressure_drop_pa(flow_m3_per_s, inside_m, length_m, rough)
    c = coefficient_c(material)
    if c is None:
        return None
    return pressure_of_head_pa(hazen_williams_head_m(flow_m3_per_s, inside_m, length_m, c))


def fittings_m(
    segment: WaterSegment, size_in: float, inside_m: float, length_m: float, context: Context
) -> tuple[float, float]:
    """The length of pipe that loses as much as the fittings of a line, with the one it leaves, and
    the allowance for them: where none is drawn, the share of its pipe that the job file states."""
    joint, elements = JOINT_OF.get(segment.material), segment.distribution.elements
    total, drawn = 0.0, False
    for index in segment.in_line:
        total += _fitting_m(elements[index], joint, size_in, inside_m)
        drawn = drawn or elements[index].role is Role.FITTING
    if segment.inlet != NONE and elements[segment.inlet].role is Role.FITTING:
        turn, drawn = "tee-branch" if segment.branches else "tee-run", True
        total += _equivalent_m(joint, turn, size_in, inside_m)
    share = context.job.water.fittings_allowance
    return total, 0.0 if drawn or share is None else share * length_m


def _equivalent_m(joint: str | None, fitting: str, size_in: float, inside_m: float) -> float:
    if joint is None:
        return DIAMETERS_OF[fitting] * inside_m
    return _listed_m(joint, fitting, size_in)


def _fitting_m(element: Element, joint: str | None, size_in: float, inside_m: float) -> float:
    if element.role is Role.FITTING:
        name = FITTING_OF.get(element.kind)
        return _equivalent_m(joint, name, size_in, inside_m) if name else 0.0
    if element.role is Role.VALVE and element.kind in VALVE_OF:
        return _listed_m(*VALVE_OF[element.kind], size_in)
    return 0.0


@cache
def _listed_m(joint: str, fitting: str, size_in: float) -> float:
    """As listed, or of the nearest larger size listed; 0 where none is."""
    sizes = [
        size
        for r in rows_of("fitting_lengths")
        if r["joint"] == joint
        and r["fitting"] == fitting
        and isinstance(size := r["size_in"], float)
    ]
    nearest = min((s for s in sizes if s >= size_in), default=max(sizes, default=size_in))
    return or_zero(fitting_length_m(joint, fitting, nearest))


def _devices(
    devices: Sequence[Element], flow: float, context: Context
) -> tuple[float, Reason | None]:
    """What meters, backflow preventers and devices of the job file take, and what is not known."""
    total, unknown = 0.0, None
    stated = _stated(context)
    for element in devices:
        if element.guid in stated:
            total += stated[element.guid]
        elif element.role is Role.METER:
            lost = meter_pa(element, flow, context)
            if lost is None:
                unknown = Reason.METER
            else:
                total += lost
        elif element.kind == "backflow-preventer":
            given = context.job.water.backflow_loss
            total += given if given is not None else _usual_pa("reduced-pressure-backflow")
    return total, unknown


def _unstated_pa(element: Element, context: Context) -> float:
    """The upper end of what a device usually takes whose own loss the job file does not tell."""
    device = "tankless-heater" if element.role is Role.HEATER and element.kind == "tankless" else ""
    device = element.kind if element.kind in TREATMENT else device
    device = "water-softener" if element.kind == PASSED_DEVICE else device  # the most of those
    return _usual_pa(device) if device and element.guid not in _stated(context) else 0.0


@derived
def _stated(context: Context) -> Mapping[str, float]:
    return {d.element: d.loss for d in context.job.water.devices}


def meter_pa(element: Element, flow_m3_per_s: float, context: Context) -> float | None:
    """Loss of a meter: the building's, as the job file tells it; else, and of a meter behind
    another, 15 psi at its greatest flow, by the square of flow."""
    given = context.job.water.meter_loss
    if given is not None and element.guid not in _submeters(context):
        return given
    rows = [r for r in rows_of("device_losses") if r["device"] == "meter"]
    row = next((r for r in rows if r["size_in"] == element.size_in), None)
    if row is None:
        return None
    most, high = row["max_gpm"], row["loss_high_psi"]
    if not isinstance(most, float) or not isinstance(high, float):
        return None
    return high * PA_PER_PSI * (flow_m3_per_s / (most * M3_PER_S_PER_GPM)) ** 2


@derived
def _submeters(context: Context) -> frozenset[str]:
    """The meters that another meter feeds, by GlobalId."""
    made, behind = context.plumbing.supply.distribution, set[int]()
    for index in made.order:  # each comes after what feeds it
        above = made.up[index]
        if above != NONE and (above in behind or made.elements[above].role is Role.METER):
            behind.add(index)
    return frozenset(made.elements[i].guid for i in behind if made.elements[i].role is Role.METER)


def _usual_pa(device: str) -> float:
    """The upper end of the usual range of a device's loss."""
    row = next(r for r in rows_of("device_losses") if r["device"] == device)
    value = row["loss_high_psi"]
    return value * PA_PER_PSI if isinstance(value, float) else 0.0


def falloff_pa(context: Context) -> float:
    """By how much a regulator delivers less than its setting while water runs."""
    given = context.job.water.regulator_falloff
    return given if given is not None else _usual_pa("pressure-reducing-valve")
