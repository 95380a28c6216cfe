"""What a pressure could not be known for: stated once, with the element and what would mend it."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from ifclint import checks
from ifclint.findings import Answer, Measure, Step
from ifclint.packs import Context, derived
from ifclint.plumbing.facts import Fact, fact
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.rules.supply.demand import demand
from ifclint.rules.supply.units import demand_known


class Reason(StrEnum):
    NOT_FED = "not fed"
    STATIC = "static_pressure"
    RESIDUAL = "residual_pressure"
    METER = "meter_loss"
    SIZE = "size_in"
    LENGTH = "length_m"
    MATERIAL = "material_known"
    SETTING = "setting"
    FLOW = "flow"
    UNITS = "units"
    BORE = "bore"
    ROUGHNESS = "roughness"
    PUMP = "pump"
    TANK = "tank"
    DEVICE = "device"


@dataclass(frozen=True)
class Unknown:
    """Why a pressure is not known, or only a bound, and the segment that is so for."""

    reason: Reason
    segment: WaterSegment | None = None


_WORDS = {
    Reason.NOT_FED: Fact("no water source reaches it", fact("feed").remedy),
    Reason.STATIC: Fact(
        "the job file gives no water.static_pressure",
        'Give the job file [water] static_pressure = "… psi", of the street.',
    ),
    Reason.RESIDUAL: Fact(
        "the job file gives no water.residual_pressure",
        'Give the job file [water] residual_pressure = "… psi", and the flow it was measured at '
        "as flow_at_residual.",
    ),
    Reason.METER: Fact(
        "the job file gives no water.meter_loss",
        'Give the job file [water] meter_loss = "… psi", of the meter\'s maker; 0 where none is.',
    ),
    Reason.SIZE: Fact("a pipe on the way has no nominal size", fact("size_in").remedy),
    Reason.LENGTH: Fact("a pipe on the way has no length", fact("length_m").remedy),
    Reason.MATERIAL: Fact("a pipe on the way has no material", "Give the pipe a material."),
    Reason.SETTING: Fact(
        "a regulator's setting is not stated",
        "Give the valve Pset_ValveTypePressureReducing.DownstreamPressure, or the job file "
        '[water] regulator_setting = "… psi".',
    ),
    Reason.FLOW: Fact(
        "a line on the way carries more than the demand table lists",
        "Have the supply designed, and the design approved.",
    ),
    Reason.UNITS: Fact(
        "a fixture below takes an amount that is not known",
        "Set the PredefinedType of the fixture or name it in trade words; where the code lists no "
        "such fixture, give its flow in the job file as [[water.continuous_flow]].",
    ),
    Reason.BORE: Fact(
        "the inside diameter of a pipe's material and size is not listed",
        "Give the pipe's type its inner diameter (Pset_PipeSegmentTypeCommon.InnerDiameter).",
    ),
    Reason.ROUGHNESS: Fact(
        "the roughness of a pipe's material is not listed",
        "Name the material in trade words (copper, PEX, CPVC, PVC, steel).",
    ),
    Reason.PUMP: Fact(
        "a pump on the way adds pressure that is not stated",
        "Give the job file [[water.pressures]] element, static_pressure, residual_pressure: what "
        "the pump is set to.",
    ),
    Reason.TANK: Fact(
        "a tank on the way gives a pressure of its own that is not stated",
        "Give the job file [[water.pressures]] element, static_pressure, residual_pressure: at the "
        "tank's outlet.",
    ),
    Reason.DEVICE: Fact(
        "what a heater, softener or filter on the way takes of it is not stated",
        "Give the job file [[water.devices]] element, loss, of the device's maker.",
    ),
}


def left_open(
    message: str,
    unknown: Unknown,
    context: Context,
    click: Sequence[str] = (),
    *,
    steps: Sequence[Step] = (),
    about: str = "",
    measured: Measure | None = None,
    required: Measure | None = None,
) -> Answer:
    """An answer left open for what a pressure rests on; `click` comes after its elements."""
    said = _WORDS[unknown.reason]
    return checks.unverified(
        f"{message}: {said.words}.", said.remedy, (*_elements_of(unknown, context), *click),
        steps=steps, about=about, measured=measured, required=required, cause=unknown.reason,
    )  # fmt: skip


def _elements_of(unknown: Unknown, context: Context) -> tuple[str, ...]:
    """The elements that the missing fact is of."""
    segment = unknown.segment
    if segment is None:
        return ()
    if unknown.reason is Reason.SETTING:
        return (segment.elements[-1].guid,)
    if unknown.reason is Reason.UNITS:
        return _without_units(context) or segment.element_ids
    return segment.lacking(unknown.reason)


@derived
def _without_units(context: Context) -> tuple[str, ...]:
    """The fixtures that take an amount that is not known."""
    found = demand(context).units.items()
    return tuple(f.element.guid for f, n in found if n is None and not demand_known(f, context))
