"""Rules about the pressure at the appliances: what the piping loses, and what is too much."""

from ifclint.checks import Bounds, Fact, check, given, not_known
from ifclint.engineering.units import M_PER_FT, PA_PER_IN_WC, PA_PER_PSI
from ifclint.engineering.wording import number_text
from ifclint.findings import Answer, Change, Settles, Step
from ifclint.packs import Context
from ifclint.plumbing import GasAppliance, GasSegment
from ifclint.plumbing.gas.gas_piping import GasZone
from ifclint.plumbing.gas.inputs import btu_text
from ifclint.rules.gas.caution import gas_rule
from ifclint.rules.gas.pipes import GIVE_INPUT, enlarged, names_of
from ifclint.rules.gas.sizing import LISTED, Sized, SizedSystem, least_inputs, least_plan, plan

NOT_FED = Fact(
    "whether the piping to {} is large enough, and what pressure arrives, is not known: no meter "
    "is known to feed it.",
    "Join the piping from the meter to the appliance: it is sized from the meter on.",
)
LOST = Fact(
    "between {} and {} in wc are lost on the way to {}, by what {} takes, which nothing states.",
    GIVE_INPUT,
)


def _reached(appliance: GasAppliance) -> bool:
    return appliance.segment is not None


def _is_cut_off(appliance: GasAppliance) -> bool:
    """Whether piping is drawn to it that no source feeds."""
    return appliance.joined and appliance.length_m is None


@gas_rule(
    title="Pressure at every gas appliance within the allowed drop",
    clauses={"upc": "1208.4.2", "ipc": "IFGC 402.6", "irc": "G2413.6"},
    applies=lambda appliance: _reached(appliance) or _is_cut_off(appliance),
    settles=Settles.LINE,
    of_load=True,
)
def gas_pressure_drop(appliance: GasAppliance, context: Context) -> Answer:
    """What the piping loses must leave the appliance the pressure it is listed for.

    The losses of all runs between the meter (or the last regulator) and the appliance with every
    appliance burning, by the code's equation and the true bore, against the allowed drop. Where
    every run on the way may carry its load they lose no more than is allowed: the tables are the
    code's own method, and their figures are the equation's, rounded. Where inputs are not stated it
    is wrong only with the least of those listed. Of piping that no meter feeds neither the size nor
    the pressure is judged, and that is said.
    """
    if _is_cut_off(appliance):
        return not_known(NOT_FED, appliance)
    made = least_plan(context)
    lost, highest = _lost_pa(appliance, made), _lost_pa(appliance, plan(context))
    if isinstance(lost, Answer):
        return lost
    service = made.services[given(appliance.segment).zone]
    assert not isinstance(service, Answer)
    assert not isinstance(highest, Answer)
    drop, most = lost / PA_PER_IN_WC, service.drop_pa / PA_PER_IN_WC
    path = _path(appliance, made)
    worst = max(path, key=lambda sized: sized.drop_pa)
    return check(
        _drop(appliance, path, drop, highest / PA_PER_IN_WC, context),
        at_most=most,
        unit="in wc",
        message=f"{number_text(drop)} in wc are lost on the way to {appliance.label}; "
        f"{number_text(most)} in wc are allowed.",
        remedy=enlarged(worst, f"Enlarge the pipe that loses most: {worst.segment.label}."),
        steps=lambda: (*_losses(path), Step("Lost in all", drop, "in wc")),
    )


def _path(appliance: GasAppliance, made: SizedSystem) -> list[Sized]:
    """The runs on the way to an appliance, from where its zone begins."""
    zone = given(appliance.segment).zone
    return [made.sized[segment] for segment in appliance.segments if segment.zone is zone]


def _lost_pa(appliance: GasAppliance, made: SizedSystem) -> float | Answer:
    """What the runs on the way to an appliance lose; no more than is allowed where each serves."""
    lost, service = made.drop_pa[appliance], made.services[given(appliance.segment).zone]
    if isinstance(lost, Answer) or isinstance(service, Answer):
        return lost
    sized = (s for s in _path(appliance, made) if not s.segment.is_connector)
    return min(lost, service.drop_pa) if all(s.serves for s in sized) else lost


def _drop(
    appliance: GasAppliance, path: list[Sized], low: float, high: float, context: Context
) -> float | Bounds:
    """What is lost, in of water; between bounds where inputs are not stated."""
    if low == high:
        return low
    fed = dict.fromkeys(a for sized in path for a in sized.segment.appliances)
    doubtful = [a for a in fed if a in least_inputs(context)]
    ends = number_text(low), number_text(high)
    names = names_of(doubtful)
    ids = [*appliance.element_ids, *(a.element.guid for a in doubtful)]
    return Bounds(LOST, *ends, appliance, names, low=low, high=high, elements=ids)


def _losses(path: list[Sized]) -> list[Step]:
    """What the runs of a path lose, in order; of a long path those that lose most."""
    most = sorted(path, key=lambda sized: -sized.drop_pa)[:LISTED]
    steps = [_loss(sized) for sized in path if sized in most]
    if len(path) > LISTED:
        rest = sum(sized.drop_pa for sized in path) - sum(sized.drop_pa for sized in most)
        steps.append(Step(f"{len(path) - LISTED} more pipes", rest / PA_PER_IN_WC, "in wc"))
    return steps


def _loss(sized: Sized) -> Step:
    feet = number_text((sized.segment.length_m + sized.fittings_m) / M_PER_FT)
    words = f"{sized.segment.label}, {feet} ft, {btu_text(sized.load_w)}"
    return Step(words, sized.drop_pa / PA_PER_IN_WC, "in wc", given(sized.sizing).drop_law)


@gas_rule(
    title="Pressure reduced before an appliance that cannot take it",
    clauses={"upc": "1208.8", "ipc": "IFGC 410.1", "irc": "G2421.1"},
    applies=_reached,
    of_load=True,
)
def gas_line_regulator(appliance: GasAppliance, context: Context) -> Answer:
    """An appliance given more pressure than its own controls are made for can flood with gas.

    The pressure in the last zone before the appliance against what appliance controls are usually
    listed for, unless a regulator stands on the way. Where no regulator stands behind the zone's
    beginning, one there serves all of its appliances; else one at the head of the branch of those
    that lack it.
    """
    zone = given(appliance.segment).zone
    service = plan(context).services[zone]
    if isinstance(service, Answer):
        return service
    limit, psi = context.code.limit("gas_appliance_max_psi"), service.pressure_pa / PA_PER_PSI
    return check(
        psi,
        at_most=limit,
        message=f"{appliance.label} is given {number_text(psi)} psi; appliance controls are "
        f"usually listed for {number_text(limit.value)} psi.",
        remedy=_regulated(appliance, zone),
        limit_step="Usual limit of controls",
    )


def _regulated(appliance: GasAppliance, zone: GasZone) -> Change:
    """One regulator where the zone begins, or before the branch of those that lack one; before the
    appliance where it alone does."""
    branch = _branch_without(given(appliance.segment), zone)
    if zone.regulators and len(branch.appliances) > 1:
        at, where = branch.first.guid, f"in {branch.label}, or one before each appliance, or show"
    elif zone.regulators or len(zone.appliances) < 2:
        at, where = appliance.element.guid, "before the appliance, or show"
    else:
        at = zone.start.guid
        where = f"behind {zone.start.label}, or one before each appliance, or show"
    they = "it is" if at == appliance.element.guid else "they are"
    text = f"Set a line regulator {where} that {they} listed for this pressure."
    return Change("part", (at,), "gas line regulator", text)


def _branch_without(segment: GasSegment, zone: GasZone) -> GasSegment:
    """The first run before an appliance that feeds appliances of its zone alone."""
    above = segment.up
    while above is not None and all(given(a.segment).zone is zone for a in above.appliances):
        segment, above = above, above.up
    return segment
