"""What a pressure could not be known for: told once, with the element and what would mend it."""

from __future__ import annotations

from ifclint.findings import Answer, Measure, Outcome, Step
from ifclint.plumbing.facts import fact
from ifclint.rules.supply.pressure_model import Solution

_KEYS = {
    "water.static_pressure": 'Give the job file [water] static_pressure = "… psi", of the street.',
    "water.residual_pressure": 'Give the job file [water] residual_pressure = "… psi", and the '
    "flow it was measured at as flow_at_residual.",
    "water.meter_loss": 'Give the job file [water] meter_loss = "… psi", of the meter\'s maker.',
}
_WORDS = {
    "size_in": ("a pipe on the way has no nominal size", fact("size_in").remedy),
    "length": ("a pipe on the way has no length", fact("length_m").remedy),
    "material": ("a pipe on the way has no material", "Give the pipe a material."),
    "setting": (
        "a regulator's setting is not told",
        "Give the valve Pset_ValveTypePressureReducing.DownstreamPressure, or the job file "
        '[water] regulator_setting = "… psi".',
    ),
    "flow": (
        "a line on the way carries more than the demand table lists",
        "Have the supply designed, and the design approved.",
    ),
    "units": (
        "a fixture below takes an amount that is not known",
        "Set the PredefinedType of the fixture or name it in trade words; where the code lists no "
        "such fixture, give its flow in the job file as [[water.continuous_flow]].",
    ),
    "bore": (
        "the inside diameter of a pipe's material and size is not listed",
        "Give the pipe's type its inner diameter (Pset_PipeSegmentTypeCommon.InnerDiameter).",
    ),
    "roughness": (
        "the roughness of a pipe's material is not listed",
        "Name the material in trade words (copper, PEX, CPVC, PVC, steel).",
    ),
    "pump": (
        "a pump on the way adds pressure that is not told",
        "Give the supply from the pump on as its own, with [water] source and its pressures.",
    ),
}


def missing_text(reason: str) -> tuple[str, str]:
    """Why, and what to do: for a reason as `pressure` keeps it."""
    what = reason.partition("@")[0].partition(":")[0]
    if what == "not fed":
        return (
            "no water source reaches it",
            "Join its piping to the source: an open end or a missing joint lies between.",
        )
    if what in _KEYS:
        return f"the job file gives no {what}", _KEYS[what]
    return _WORDS[what]


def elements_of(solved: Solution, reason: str) -> tuple[str, ...]:
    """The elements of the line that the missing fact is of."""
    number = reason.partition("@")[2]
    if not number:
        return ()
    segment = solved.supply.segments[int(number)]
    what = reason.partition("@")[0].partition(":")[0]
    if what == "setting":
        return (segment.distribution.elements[segment.indexes[-1]].guid,)
    if what == "units":
        below = [f for f, u in solved.demand.units.items() if u is None]
        unknown = tuple(f.element.guid for f in below)
        return unknown or segment.element_ids
    wanted = {"size_in": "size_in", "material": "material_known", "length": "length_m"}
    return segment.lacking(wanted.get(what, ""))


def unverified(
    message: str,
    solved: Solution,
    reason: str,
    measured: Measure | None = None,
    required: Measure | None = None,
    steps: tuple[Step, ...] = (),
    click: tuple[str, ...] = (),
) -> Answer:
    why, remedy = missing_text(reason)
    return Answer(
        Outcome.UNVERIFIED, f"{message}: {why}.", measured, required, remedy, steps,
        (*elements_of(solved, reason), *click),
    )  # fmt: skip
