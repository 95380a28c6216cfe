"""Every run with its load, what it may carry at its length, and the drop to appliances."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from ifclint.checks import Fact, given, not_known
from ifclint.engineering.units import J_PER_M3_PER_BTU_PER_FT3, M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.engineering.wording import feet_text, number_text
from ifclint.findings import Answer, Step
from ifclint.packs import Context, derived
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.gas_piping import GasZone
from ifclint.plumbing.gas.inputs import CFH, inputs, outlet_inputs
from ifclint.rules.gas.capacity import GasCapacity, GasService, Sizing, table_material
from ifclint.rules.gas.lengths import METHODS, fitting_lengths, lengths_of, method_of
from ifclint.rules.gas.zone_service import service_of

LISTED = 20  # appliances named one by one among the steps of a finding
NO_TABLE = Fact(
    "The code's tables hold no {} gas pipe.",
    "Use a material for which the code has a capacity table, or size by its listing.",
)
OUTSIDE = Fact(
    "No gas table here holds {} over {} at {} psi and a drop of {} in wc{}.",
    "Correct gas.delivery_pressure and gas.allowed_drop (or those of the regulator) to what a "
    'table is printed for, or size by gas.sizing = "equation".',
)
NO_BORE = Fact(
    "No inside diameter is listed for {}.",
    'Size it by the code\'s table: gas.sizing = "table" in the job file.',
)
FLOW_DESIGNATION = Fact(
    "flow designation (EHD)",
    "Write the maker's flow designation of each nominal size into the job file, gas.csst_ehd.",
    asked_once=True,
)
INPUT = Fact("input", "Give the appliance its input, or write it into the job file, gas.loads.")
DROP = Fact(
    "Neither bore nor capacity table is listed for {}, so its drop cannot be computed.",
    "Use a trade size of the material; of corrugated tube, take the drop from its maker's table.",
)


@dataclass(eq=False)
class Sized:
    """A run as it is sized. `capacity` is None where `missing` says why (an unverified answer)."""

    segment: GasSegment
    load_w: float
    unknown: tuple[GasAppliance, ...]  # of those it feeds, the ones whose input nobody tells
    length_m: float
    method: str
    sizing: Sizing | None = None
    capacity: GasCapacity | None = None
    missing: Answer | None = None
    fittings_m: float = 0.0
    drop_pa: float = 0.0  # in this run
    lost_pa: float | Answer = 0.0  # from where its zone begins to its end

    @property
    def load(self) -> float:
        """The load in the unit of the capacity."""
        if self.sizing is None or self.capacity is None:
            return 0.0
        return self.sizing.service.gas.amount(self.load_w, self.capacity.unit)

    @property
    def spare(self) -> float | None:
        """What it may carry beyond its load."""
        return None if self.capacity is None else self.capacity.value - self.load

    @property
    def spare_w(self) -> float | None:
        """The same as an input."""
        if self.spare is None or self.sizing is None or self.capacity is None:
            return None
        return self.spare / self.sizing.service.gas.amount(1.0, self.capacity.unit)

    @property
    def serves(self) -> bool | None:
        """Whether it carries its load; None where nothing tells what it may carry."""
        if self.sizing is None or self.capacity is None:
            return None
        return self.sizing.serves(self.capacity, self.load_w)

    @property
    def smallest(self) -> float | None:
        return self.sizing.smallest(self.load_w, self.length_m) if self.sizing else None


@dataclass
class SizedSystem:
    """All runs of a building, sized; `drop_pa` to every appliance from where its zone begins."""

    sized: dict[GasSegment, Sized]
    services: dict[GasZone, GasService | Answer]
    drop_pa: dict[GasAppliance, float | Answer] = field(default_factory=dict)


@derived
def plan(context: Context) -> SizedSystem:
    """The piping as it is."""
    return plan_with(context, {})


@derived
def least_plan(context: Context) -> SizedSystem:
    """The same with the least listed of every input that is not stated."""
    least = least_inputs(context)
    return plan_with(context, least) if least else plan(context)


@derived
def least_inputs(context: Context) -> dict[GasAppliance, float]:
    """The least listed input (W) of the appliances of which neither model nor job file tells it."""
    known = {a: taken for a, taken in inputs(context).items() if taken is not None}
    return {a: t.least_watts for a, t in known.items() if t.least_watts < t.watts}


def plan_with(context: Context, instead_w: Mapping[GasAppliance, float]) -> SizedSystem:
    """The piping with other inputs of some appliances."""
    piping = context.plumbing.gas
    if piping is None:
        return SizedSystem({}, {})
    takes: dict[GasAppliance, float | None] = {
        a: instead_w.get(a, known.watts if known else None) for a, known in inputs(context).items()
    }
    services = {zone: service_of(zone, context) for zone in piping.zones}
    extra = fitting_lengths(piping.segments, context)
    lengths = lengths_of(context, extra)
    made = SizedSystem({}, services)
    for segment in piping.segments:
        sized = _sized(segment, takes, services[segment.zone], lengths[segment], context)
        sized.fittings_m = extra[segment]
        made.sized[segment] = sized
        sized.lost_pa = _lost(sized, made, context)  # runs come after what feeds them
    for appliance in piping.appliances:
        if appliance.segment is not None:
            made.drop_pa[appliance] = made.sized[appliance.segment].lost_pa
    return made


def _sized(
    segment: GasSegment,
    takes: Mapping[GasAppliance, float | None],
    service: GasService | Answer,
    length_m: float,
    context: Context,
) -> Sized:
    load = sum(watts for a in segment.appliances if (watts := takes[a]) is not None)
    told = outlet_inputs(context)
    load += sum(told[outlet].watts for outlet in segment.outlets if outlet in told)
    unknown = tuple(a for a in segment.appliances if takes[a] is None)
    sized = Sized(segment, load, unknown, length_m, method_of(context))
    material = table_material(segment.material, segment.first.called)
    size = _size(segment, material, context)
    if isinstance(service, Answer):
        sized.missing = service
    elif not segment.material or material is None:
        sized.missing = _no_material(segment)
    elif size is None:
        sized.missing = _no_size(segment, material)
    else:
        sized.sizing = _sizing(context, service, material)
        sized.capacity = sized.sizing.capacity(size, length_m)
        if sized.capacity is None:
            sized.missing = _outside(sized.sizing, size, length_m)
    return sized


@derived
def _sizing(context: Context, service: GasService, material: str) -> Sizing:
    """One for all runs alike, so that its table is looked for once."""
    return Sizing(context.code, service, material, context.job.gas.sizing == "equation")


def _no_material(segment: GasSegment) -> Answer:
    if not segment.material:
        return not_known("material_known", segment, cause="material_known")
    return not_known(NO_TABLE, segment.material, cause=f"no table of {segment.material}")


def _size(segment: GasSegment, material: str | None, context: Context) -> float | None:
    """The size that tables and bores are asked for; of CSST the flow designation."""
    if material != "csst":
        return segment.size_in
    stated = segment.first.properties.number("ehd")
    if stated is not None:
        return stated
    by_size = context.job.gas.csst_ehd
    return float(by_size[segment.size_in]) if segment.size_in in by_size else None


def _no_size(segment: GasSegment, material: str) -> Answer:
    if material == "csst":
        return not_known(FLOW_DESIGNATION, segment)
    return not_known("size_in", segment, cause="size_in")


def _outside(sizing: Sizing, size: float, length_m: float) -> Answer:
    if sizing.by_equation:
        return not_known(NO_BORE, sizing.size_words(size))
    length = feet_text(length_m / M_PER_FT)
    service, nearest = sizing.service, sizing.nearest_drop_in_wc
    told = (
        sizing.size_words(size), length, number_text(service.pressure_pa / PA_PER_PSI, 3),
        number_text(service.drop_pa / PA_PER_IN_WC, 3),
        "" if nearest is None else f"; the nearest drop of a table is {number_text(nearest)} in wc",
    )  # fmt: skip
    return not_known(OUTSIDE, *told)


def steps_of(sized: Sized, context: Context, least: Sized | None = None) -> tuple[Step, ...]:
    """How load and capacity of a run come about, as the piping is; `least` is the run under the
    least inputs listed."""
    assert sized.capacity is not None
    known = inputs(context)
    segment, supplied = sized.segment, given(sized.sizing).service.gas
    steps = [
        stated.step(a) for a in segment.appliances[:LISTED] if (stated := known[a]) is not None
    ]
    if len(segment.appliances) > LISTED:
        rest = sum(stated.btu_per_h for a in segment.appliances[LISTED:] if (stated := known[a]))
        steps.append(
            Step(f"{len(segment.appliances) - LISTED} more appliances", round(rest), "Btu/h")
        )
    told = outlet_inputs(context)
    steps += [told[outlet].step(outlet) for outlet in segment.outlets if outlet in told]
    untold = [outlet for outlet in segment.outlets if outlet not in told]
    if untold:
        steps.append(Step(f"{len(untold)} capped outlets whose load is not known: not counted"))
    if sized.capacity.unit == CFH:
        value = round(supplied.heating_value_j_per_m3 / J_PER_M3_PER_BTU_PER_FT3)
        steps.append(Step("Divided by the heating value", float(value), "Btu/ft³", supplied.basis))
    steps.append(Step("Load", sized.load, sized.capacity.unit))
    if least is not None and least.load < sized.load:
        words = "Load with the least inputs listed"
        steps.append(Step(words, least.load, sized.capacity.unit))
    words = f"Length, by the {METHODS[sized.method]} method"
    steps.append(Step(words, sized.length_m / M_PER_FT, "ft"))
    if context.job.gas.fittings:
        clause = context.code.table("gas_fitting_lengths").clause
        feet = sized.fittings_m / M_PER_FT
        steps.append(Step("of which fittings of this run", feet, "ft", clause))
    return (*steps, *sized.capacity.steps)


def _lost(sized: Sized, made: SizedSystem, context: Context) -> float | Answer:
    """The pressure lost between the beginning of its zone and the end of a run."""
    segment, service = sized.segment, made.services[sized.segment.zone]
    before = (
        made.sized[segment.up].lost_pa if segment.up and segment.up.zone is segment.zone else 0.0
    )
    if isinstance(before, Answer):
        return before
    if isinstance(service, Answer):
        return service
    if segment.is_connector:
        return before
    if sized.unknown:
        first = sized.unknown[0]
        return not_known(INPUT, first, elements=[first.element.guid], cause=f"input {first.key}")
    size = _size(segment, sized.sizing.material, context) if sized.sizing is not None else None
    if sized.sizing is None or size is None:
        return sized.missing or _no_material(segment)
    length = segment.length_m + sized.fittings_m
    drop = sized.sizing.drop_pa(size, length, sized.load_w, service.pressure_pa - before)
    if drop is None:
        return not_known(DROP, segment)
    sized.drop_pa = drop
    return before + drop


def amount_text(value: float, unit: str) -> str:
    return f"{number_text(value)} {unit}"
