"""The gas at the beginning of every zone of one pressure: what it is, at what pressure and drop."""

from __future__ import annotations

from ifclint.checks import Fact, not_known
from ifclint.engineering.tolerance import at_least
from ifclint.findings import Answer
from ifclint.packs import Context
from ifclint.plumbing.gas.gas_piping import GasZone
from ifclint.plumbing.gas.inputs import gas
from ifclint.rules.gas.capacity import GasService

SUPPLIED = Fact(
    "The gas supplied is not described.",
    "Write gas.{0} into the job file, as the gas supplier states it.",
)
OF_ZONE = Fact("the {} at {} is not known.", "Write {2} into the job file.")
BEHIND = Fact(
    OF_ZONE.words, "Write {2} into the job file, with the regulator's GlobalId as its element."
)
DROP_TOO_LARGE = Fact(
    "the allowed drop at {} is not less than the pressure there, so that no pressure need arrive.",
    "Correct {1}.allowed_drop in the job file.",
)


def zone_pressure_pa(zone: GasZone, context: Context) -> float | None:
    """The pressure (gauge) at the beginning of a zone, as the job file or else the regulator tells.

    A regulator that tells no less than what comes to it tells that, and not what it is set to.
    """
    stated, _ = _in_job_file(zone, context)
    if stated is not None or zone.above is None:
        return stated
    plate, before = (
        zone.start.properties.positive("downstream_pressure_pa"),
        zone_pressure_pa(zone.above, context),
    )
    return None if plate is None or (before is not None and at_least(plate, before)) else plate


def _in_job_file(zone: GasZone, context: Context) -> tuple[float | None, float | None]:
    """The pressure where a zone begins and what may be lost in it (Pa), as the job file says."""
    stated = context.job.gas
    if zone.is_first:
        return stated.delivery_pressure, stated.allowed_drop
    said = (r for r in stated.regulators if r.element == zone.start.guid)
    return next(((r.outlet_pressure, r.allowed_drop) for r in said), (None, None))


def service_of(zone: GasZone, context: Context) -> GasService | Answer:
    """The gas in a zone, or the key of the job file that is missing."""
    stated = context.job.gas
    supplied = gas(context)
    if supplied is None:
        key = "kind" if stated.heating_value is not None else "heating_value"
        return not_known(SUPPLIED, key, cause=key)
    _, drop = _in_job_file(zone, context)
    pressure, where = zone_pressure_pa(zone, context), "gas" if zone.is_first else "gas.regulators"
    keys = ("delivery_pressure" if zone.is_first else "outlet_pressure", "allowed_drop")
    for key, value in zip(keys, (pressure, drop), strict=True):
        if value is None:
            names = key.replace("_", " "), zone.start, f"{where}.{key}"
            cause = f"{key} {zone.start.guid}"
            return not_known(OF_ZONE if zone.is_first else BEHIND, *names, cause=cause)
    assert pressure is not None
    assert drop is not None
    if drop >= pressure:
        return not_known(DROP_TOO_LARGE, zone.start, where, cause=f"drop {zone.start.guid}")
    return GasService(supplied, pressure, drop)
