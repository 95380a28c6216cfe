"""Schedules of the permit set: gas appliances, gas pipe, and the questions of the job file."""

from ifclint.engineering.units import M_PER_FT, PA_PER_IN_WC, W_PER_BTU_PER_H
from ifclint.engineering.wording import number_text
from ifclint.findings import Column, Schedule
from ifclint.ifc.elements import Element, Role
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.inputs import CFH, gas, inputs
from ifclint.rules.gas.lengths import METHODS, method_of
from ifclint.rules.gas.sizing import Sized, least_inputs, plan, plan_with

METERS = (
    Column("meter", "Meter"), Column("service", "Service"), Column("storey", "Storey"),
    Column("size_in", "Size", "in"),
)  # fmt: skip
SERVES = {None: "not known", True: "yes", False: "no"}


def appliance_schedule(context: Context) -> Schedule:
    """Every gas appliance: its input and where it is known from, its length, drop and room."""
    piping = context.plumbing.gas
    appliances = piping.appliances if piping else []
    total = sum(known.btu_per_h for known in inputs(context).values() if known)
    return Schedule(
        "gas-appliances",
        "Gas appliances",
        (
            Column("appliance", "Appliance"),
            Column("kind", "Kind"),
            Column("storey", "Storey"),
            Column("space", "Space"),
            Column("input_btu_h", "Input", "Btu/h"),
            Column("basis", "Known from"),
            Column("length_ft", "From the meter", "ft"),
            Column("drop_in_wc", "Pressure lost", "in wc"),
            Column("spare_btu_h", "Room to grow", "Btu/h"),
        ),
        tuple(_appliance_row(a, context) for a in appliances),
        f"Connected load {number_text(float(round(total)))} Btu/h. Room to grow: what the "
        "appliance could take more before a pipe on its way is too small, by tables alone.",
    )


def meter_schedule(context: Context) -> Schedule:
    """The gas meters, with those of water one schedule."""
    piping = context.plumbing.gas
    meters = [e for e in piping.members if e.role is Role.METER] if piping else []
    return Schedule("meters", "Meters", METERS, tuple(_meter_row(e) for e in meters))


def _meter_row(meter: Element) -> dict[str, object]:
    return {
        "element_id": meter.guid, "meter": meter.label, "service": "gas",
        "storey": meter.storey, "size_in": meter.size_in,
    }  # fmt: skip


def _appliance_row(appliance: GasAppliance, context: Context) -> dict[str, object]:
    known, made = inputs(context)[appliance], plan(context)
    lost = made.drop_pa.get(appliance)
    return {
        "element_id": appliance.element.guid,
        "appliance": appliance.label,
        "kind": appliance.kind.replace("-", " "),
        "storey": appliance.element.storey,
        "space": appliance.element.space,
        "input_btu_h": round(known.btu_per_h) if known else None,
        "basis": known.basis if known else "not known",
        "length_ft": None if appliance.length_m is None else appliance.length_m / M_PER_FT,
        "drop_in_wc": lost / PA_PER_IN_WC if isinstance(lost, float) else None,
        "spare_btu_h": spare_btu_per_h(appliance, context),
    }


def spare_btu_per_h(appliance: GasAppliance, context: Context) -> float | None:
    """What an appliance could take more before a pipe on its way is too small; None: not known."""
    made, spares = plan(context), []
    for segment in appliance.segments:
        sized = made.sized[segment]
        if sized.spare_w is None:
            return None
        spares.append(sized.spare_w / W_PER_BTU_PER_H)
    return float(round(min(spares))) if spares else None


def run_schedule(context: Context) -> Schedule:
    """Every gas pipe: size, length, load, what it may carry, the smallest size that would do."""
    piping, supplied = context.plumbing.gas, gas(context)
    made = plan(context)
    how = context.job.gas.sizing
    words = "the code's tables" if how == "table" else "the code's equations"
    fuel = f"{supplied.name} gas, " if supplied else ""
    return Schedule(
        "gas-pipes",
        "Gas pipe",
        (
            Column("pipe", "Pipe"),
            Column("storey", "Storey"),
            Column("material", "Material"),
            Column("size_in", "Size", "in"),
            Column("own_ft", "Own length", "ft"),
            Column("length_ft", "Sized by length", "ft"),
            Column("appliances", "Appliances"),
            Column("load", "Load"),
            Column("capacity", "May carry"),
            Column("spare", "Spare"),
            Column("unit", "Unit"),
            Column("needed_in", "Smallest size", "in"),
            *_tube_columns(context),
        ),
        tuple(
            _run_row(segment, made.sized[segment])
            for segment in (piping.segments if piping else [])
        ),
        f"By the {METHODS[method_of(context)]} method and {words}; {fuel}"
        f"{'with' if context.job.gas.fittings else 'without'} the equivalent length of fittings.",
    )


def _run_row(segment: GasSegment, sized: Sized) -> dict[str, object]:
    allowed = sized.capacity
    is_tube = sized.sizing is not None and sized.sizing.sized_by_ehd
    return {
        "element_id": segment.first.guid,
        "pipe": segment.first.label,
        "storey": segment.first.storey,
        "material": segment.material or None,
        "size_in": segment.size_in,
        "own_ft": segment.length_m / M_PER_FT,
        "length_ft": sized.length_m / M_PER_FT,
        "appliances": len(segment.appliances),
        "load": sized.load if allowed else None,
        "capacity": allowed.value if allowed else None,
        "spare": sized.spare,
        "unit": allowed.unit if allowed else CFH,
        "needed_in": sized.smallest if allowed and not is_tube else None,
        "needed_ehd": sized.smallest if allowed and is_tube else None,
    }


def _tube_columns(context: Context) -> tuple[Column, ...]:
    """Of corrugated tube the smallest flow designation, which is no size in inches."""
    sized = plan(context).sized.values()
    has_tube = any(s.sizing is not None and s.sizing.sized_by_ehd for s in sized)
    return (Column("needed_ehd", "Smallest flow designation", "EHD"),) if has_tube else ()


def what_if_schedule(context: Context) -> Schedule:
    """Every question of the job file with the pipes it concerns."""
    return Schedule(
        "gas-what-if",
        "Gas piping with another appliance",
        (
            Column("question", "If"),
            Column("pipe", "Pipe"),
            Column("size_in", "Size", "in"),
            Column("load", "Load"),
            Column("capacity", "May carry"),
            Column("unit", "Unit"),
            Column("needed_in", "Smallest size", "in"),
            *_tube_columns(context),
            Column("serves", "Would serve"),
        ),
        tuple(_answers(context)),
        "Questions of the job file (gas.what_if), each asked alone.",
    )


def _answers(context: Context) -> list[dict[str, object]]:
    piping = context.plumbing.gas
    by_guid = {a.element.guid: a for a in piping.appliances} if piping else {}
    rows = []
    for question in context.job.gas.what_if:
        appliance = by_guid.get(question.element)
        instead = {appliance: question.input} if appliance else {}
        asked = plan_with(context, instead)
        least = plan_with(context, {**least_inputs(context), **instead})
        for segment in appliance.segments if appliance else ():
            sized = asked.sized[segment]
            answers = {sized.serves, least.sized[segment].serves}
            serves = SERVES[answers.pop()] if len(answers) == 1 else "not known"
            row = _run_row(segment, sized) | {"question": question.name, "serves": serves}
            del row["spare"]
            rows.append(row)
    return rows
