"""The gas at the beginning of every zone of one pressure: what it is, at what pressure and drop."""

from ifclint.checks import Fact, given, not_known
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer
from ifclint.job.model import RegulatorSection
from ifclint.packs import Context
from ifclint.plumbing.gas.gas_piping import GasZone, is_regulator
from ifclint.plumbing.gas.inputs import gas
from ifclint.rules.gas.capacity import GasService

LESS = 0.9  # of the pressure delivered: less than this is another. Ours, no source
SUPPLIED = Fact(
    "The gas supplied is not described.",
    "Write gas.{0} into the job file, as the gas supplier states it.",
)
OF_ZONE = Fact("the {} at {} is not known.", "Write {2} into the job file.")
BEHIND = Fact(
    OF_ZONE.words, "Write {2} into the job file, with the regulator's GlobalId as its element."
)
TWO_PRESSURES = Fact(
    "the gas begins at {}, and the job file says that {} psi are delivered, the regulator {} psi.",
    "Write the regulator into gas.regulators with its outlet_pressure, or correct "
    "gas.delivery_pressure.",
)
DROP_TOO_LARGE = Fact(
    "the allowed drop at {} is not less than the pressure there, so that no pressure need arrive.",
    "Correct {1}.allowed_drop in the job file.",
)


def zone_pressure_pa(zone: GasZone, context: Context) -> float | None:
    """The pressure (gauge) at the beginning of a zone, as the job file or else the regulator tells.

    A regulator that tells no less than what comes to it tells that, and not what it is set to. One
    where the piping begins that tells less than is delivered contradicts the job file.
    """
    stated, _ = _in_job_file(zone, context)
    if _contradicts(zone, context):
        return None
    if stated is not None:
        return stated
    plate = _plate_pa(zone)
    if zone.above is None:
        return plate if _is_before_delivery(zone, context) else None
    before = zone_pressure_pa(zone.above, context)
    return None if plate is None or (before is not None and at_least(plate, before)) else plate


def _in_job_file(zone: GasZone, context: Context) -> tuple[float | None, float | None]:
    """The pressure where a zone begins and what may be lost in it (Pa), as the job file says: of
    its regulator, also where the piping begins there, else what is delivered."""
    stated = context.job.gas
    if (said := _regulator_of(zone, context)) is not None:
        return said.outlet_pressure, said.allowed_drop
    here = _is_delivered(zone, context)
    return (stated.delivery_pressure, stated.allowed_drop) if here else (None, None)


def _plate_pa(zone: GasZone) -> float | None:
    """What the regulator at which a zone begins tells of its setting."""
    told = zone.start.properties.positive("downstream_pressure_pa")
    return told if is_regulator(zone.start) else None


def _is_delivered(zone: GasZone, context: Context) -> bool:
    """Whether the job file's delivery pressure is that of a zone: the first, or, where that begins
    at a regulator which tells more (the first stage of propane), one behind it that tells as much.
    """
    if zone.is_first:
        return not _is_before_delivery(zone, context)
    told, stated = _plate_pa(zone), context.job.gas.delivery_pressure
    before = zone.above is not None and _is_before_delivery(zone.above, context)
    return before and bool(told and stated) and given(told) * LESS <= given(stated)


def _is_before_delivery(zone: GasZone, context: Context) -> bool:
    """Whether piping begins at a regulator that tells more than is said to be delivered."""
    told, stated = _plate_pa(zone), context.job.gas.delivery_pressure
    if not zone.is_first or told is None or stated is None:
        return False
    return _regulator_of(zone, context) is None and told * LESS > stated


def _regulator_of(zone: GasZone, context: Context) -> RegulatorSection | None:
    said = (r for r in context.job.gas.regulators if r.element == zone.start.guid)
    return next(said, None)


def _contradicts(zone: GasZone, context: Context) -> bool:
    """Whether piping begins at a regulator that tells less than what is said to be delivered, or
    more, and none behind it tells as much."""
    plate, stated = _plate_pa(zone), context.job.gas.delivery_pressure
    if not zone.is_first or plate is None or stated is None:
        return False
    if _is_before_delivery(zone, context):
        return not any(_is_delivered(z, context) for z in given(context.plumbing.gas).zones)
    return _regulator_of(zone, context) is None and not at_least(plate, LESS * stated)


def service_of(zone: GasZone, context: Context) -> GasService | Answer:
    """The gas in a zone, or the key of the job file that is missing."""
    stated = context.job.gas
    supplied = gas(context)
    if supplied is None:
        key = "kind" if stated.heating_value is not None else "heating_value"
        return not_known(SUPPLIED, key, cause=key)
    if _contradicts(zone, context):
        told = (stated.delivery_pressure, _plate_pa(zone))
        figures = (number_text(given(pa) / PA_PER_PSI) for pa in told)
        return not_known(TWO_PRESSURES, zone.start, *figures, cause=zone.start.guid)
    is_delivered = _is_delivered(zone, context) and _regulator_of(zone, context) is None
    _, drop = _in_job_file(zone, context)
    pressure, where = zone_pressure_pa(zone, context), "gas" if is_delivered else "gas.regulators"
    keys = ("delivery_pressure" if is_delivered else "outlet_pressure", "allowed_drop")
    for key, value in zip(keys, (pressure, drop), strict=True):
        if value is None:
            names = key.replace("_", " "), zone.start, f"{where}.{key}"
            cause = f"{key} {zone.start.guid}"
            return not_known(OF_ZONE if is_delivered else BEHIND, *names, cause=cause)
    assert pressure is not None
    assert drop is not None
    if drop >= pressure:
        return not_known(DROP_TOO_LARGE, zone.start, where, cause=f"drop {zone.start.guid}")
    return GasService(supplied, pressure, drop)
