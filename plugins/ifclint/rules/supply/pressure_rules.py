"""The rule that every fixture has pressure enough while water runs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from operator import itemgetter

from ifclint.checks import Fact, advise, given, not_known, require
from ifclint.engineering.arithmetic import not_below_zero, or_zero
from ifclint.engineering.friction import pressure_of_head_pa
from ifclint.engineering.tolerance import at_least
from ifclint.engineering.units import M3_PER_S_PER_GPM, M_PER_FT, PA_PER_PSI
from ifclint.engineering.wording import apart_text, number_text
from ifclint.findings import Answer, Change, Measure, Outcome, Settles, Step
from ifclint.ifc.elements import WATER_SUPPLY, Element, System
from ifclint.packs import Context, derived, rule
from ifclint.plumbing.facts import JOIN_ENDS
from ifclint.plumbing.supply.segments import WaterSegment
from ifclint.plumbing.supply.water_fixtures import Tap, WaterFixture
from ifclint.rules.supply.beginnings import Beginning, beginnings, set_to
from ifclint.rules.supply.critical import Needed, needed
from ifclint.rules.supply.heads import governing_m
from ifclint.rules.supply.losses import Loss
from ifclint.rules.supply.missing import Reason, Unknown, left_open
from ifclint.rules.supply.pressure_model import solution, solve_again
from ifclint.rules.supply.readings import other_reading
from ifclint.rules.supply.regulators import setting_pa
from ifclint.rules.supply.sizing import as_remedy, made_larger, upsizings
from ifclint.rules.supply.solved_supply import NOT_FED, Pressure, Solution, psi

FLUSHED = frozenset({"water-closet", "urinal", "irrigation"})  # what water of lesser quality is for
NO_PRESSURE_NEEDED = frozenset({"floor-drain", "floor-sink"})  # a trap primer
METHODS = {"hazen-williams": "Hazen and Williams", "darcy-weisbach": "Darcy and Weisbach"}

NOT_JOINED = Fact(
    "No water piping is joined to {}, so nothing is known of its pressure, and its demand is "
    "counted in no pipe.",
    "Connect the fixture's water ports to their branches, or draw the branches and stops up to the "
    "fixture.",
)
PIPE_NEAR = Fact(
    "No water piping is joined to {}: {} ends {} from it. Nothing is known of its pressure, and "
    "its demand is counted in no pipe.",
    JOIN_ENDS,
)
OTHER_WATER = Fact(
    "{} takes non-potable water; whether it may, and the pressure of that water, are not known.",
    "Lead potable water to it; closets, urinals and irrigation alone are flushed with other water.",
)


@rule(
    title="Pressure enough at every fixture",
    subject=WaterFixture,
    clauses={"upc": "608.1", "ipc": "604.3 and E103.1", "irc": "P2903.1"},
    needs=("known_kind",),
    applies=lambda fixture: fixture.kind not in NO_PRESSURE_NEEDED,
    settles=Settles.PRESSURE,
)
def pressure_at_fixture(fixture: WaterFixture, context: Context) -> Iterator[Answer]:
    """A shower that dribbles, and scalds when a closet flushes, for want of pressure.

    The residual pressure at each connection at the probable demand: the main at that flow, less
    meter, backflow preventer and other devices, regulator fall-off, friction in pipe and fittings,
    and height; against what the fixture needs (IPC: by fixture; UPC: 15 psi anywhere; an emergency
    shower or eyewash its standard's 30 psi at the 20 gpm and less that it takes). Where a loss is
    not known the pressure is an upper bound: too low is then wrong all the same. The larger pipe
    that would do is named: the fewest runs for the critical fixture, then what the next needs more,
    none larger than what is made larger before it. What a tankless heater, a softener or a filter
    takes is counted where the job file tells it; else it is asked where the upper end of the usual
    range would leave too little. Behind a pump or tank the pressure begins anew. Too little that
    would be enough if fixtures flush the other way, where they do not state how, is asked about
    too. That the pressure of non-potable water at closets and urinals is not judged is told once.
    """
    want = needed(fixture, context)
    if want is None:
        return
    if not fixture.joined:
        others = _on_other_water(context)
        if fixture not in others or fixture.kind not in FLUSHED:
            yield _not_joined(fixture, want, fixture in others, context)
        elif fixture is _flushed_so(context)[0]:
            yield _other_water(_flushed_so(context))
        return
    said = [
        _connection(fixture, tap, pressure, want, context)
        for tap, pressure in solution(context).by_branch(fixture)
    ]
    unknown = [answer for answer in said if answer.outcome is Outcome.UNVERIFIED]
    yield from (answer for answer in said if answer.outcome is not Outcome.UNVERIFIED)
    yield from unknown[:1]  # what is missing is mostly missing for both connections


def _connection(
    fixture: WaterFixture, tap: Tap, pressure: Pressure, want: Needed, context: Context
) -> Answer:
    solved, need = solution(context), Measure(want.psi, "psi", "at least")
    residual = pressure.residual_psi
    if residual is None:
        return left_open(
            f"The residual pressure at {fixture.label} is not known",
            pressure.missing or NOT_FED, context, fixture.element_ids,
            steps=budget(tap, pressure, want, context), required=need,
        )  # fmt: skip
    measured = Measure(residual, "psi", "at most" if pressure.missing else "")
    if pressure.missing and at_least(residual, want.psi, "psi"):
        return left_open(
            f"{fixture.label} has at most {number_text(residual, 3)} psi; how much less is not "
            "known",
            pressure.missing, context, fixture.element_ids,
            steps=budget(tap, pressure, want, context), measured=measured, required=need,
        )  # fmt: skip
    asked = _if_read_otherwise(fixture, tap, pressure, want, context)
    if asked is not None:
        return asked
    left = residual - psi(pressure.unstated_pa)
    if at_least(residual, want.psi, "psi") and not at_least(left, want.psi, "psi"):
        return left_open(
            f"{fixture.label} has at most {number_text(residual, 3)} psi, and may have as little "
            f"as {number_text(not_below_zero(left), 3)}",
            Unknown(Reason.DEVICE), context, fixture.element_ids,
            steps=budget(tap, pressure, want, context),
            measured=Measure(residual, "psi", "at most"), required=need,
        )  # fmt: skip
    return require(
        at_least(residual, want.psi, "psi"),
        message=_short_of(fixture, tap, residual, want.psi),
        measured=measured,
        required=need,
        remedy=lambda: _remedy(fixture, solved, tap, want.psi - residual),
        steps=lambda: budget(tap, pressure, want, context),
        about=tap.segment.key if tap.segment is not None else "",
        clause=want.limit.clause,
        provenance=want.limit.provenance,
    )


def _if_read_otherwise(
    fixture: WaterFixture, tap: Tap, pressure: Pressure, want: Needed, context: Context
) -> Answer | None:
    """The question left where too little is enough, if fixtures that do not state how they flush
    flush the other way; None where it is not."""
    residual, reading = given(pressure.residual_psi), other_reading(context)
    if reading is None or at_least(residual, want.psi, "psi"):
        return None
    other = solution(reading.context).at(tap).residual_psi
    need = needed(reading.of[fixture], reading.context)
    if other is None or need is None or not at_least(other, need.psi, "psi"):
        return None
    return reading.asked(
        _short_of(fixture, tap, residual, want.psi),
        f"flushed the other way it would have {number_text(other, 3)} psi, and need "
        f"{number_text(need.psi)}.",
        fixture.element_ids, about=tap.segment.key if tap.segment is not None else "",
        measured=Measure(residual, "psi"), required=Measure(want.psi, "psi", "at least"),
        steps=budget(tap, pressure, want, context),
    )  # fmt: skip


def _short_of(fixture: WaterFixture, tap: Tap, residual: float, want: float) -> str:
    """What is left at a fixture; a negative figure is none: the piping would lose more than the
    pressure there is."""
    if residual < 0.0:
        return (
            f"Nothing is left for {fixture.label} on its {tap.service} side while water runs: the "
            f"piping to it would lose {number_text(-residual, 3)} psi more than there is. It needs "
            f"{number_text(want)} psi."
        )
    return (
        f"{fixture.label} has {apart_text(residual, want, 'psi')} on its {tap.service} side while "
        f"water runs and needs {number_text(want)}."
    )


@derived
def _on_other_water(context: Context) -> dict[WaterFixture, None]:
    """The fixtures that non-potable water alone is led to: that piping is set aside."""
    network = context.plumbing.network
    unjoined = [f for f in context.plumbing.supply.fixtures if not f.joined]
    beside = {f: [network.elements[i] for i in network.neighbours(f.index)] for f in unjoined}
    return {f: None for f in unjoined if any(e.system is System.NON_POTABLE for e in beside[f])}


@derived
def _flushed_so(context: Context) -> list[WaterFixture]:
    """Those of them that such water is for."""
    return [fixture for fixture in _on_other_water(context) if fixture.kind in FLUSHED]


def _other_water(fixtures: list[WaterFixture]) -> Answer:
    """Told once: what is set aside is judged by nobody, and keeps no building from a pass."""
    first, *more = fixtures
    others = f" and {len(more)} more" if more else ""
    return advise(
        f"{first.label}{others} take non-potable water, whose piping is set aside: its sizes and "
        "pressures are not judged.",
        "Have the piping of non-potable water sized by itself, from its own pump or service.",
        elements=tuple(guid for fixture in fixtures for guid in fixture.element_ids),
        about="non-potable water",
    )


def _not_joined(
    fixture: WaterFixture, want: Needed, on_other_water: bool, context: Context
) -> Answer:
    """No potable water is led to a fixture, or its pipe ends at a small gap before it."""
    network, least = context.plumbing.network, Measure(want.psi, "psi", "at least")
    if on_other_water:
        return not_known(OTHER_WATER, fixture, required=least)
    for near in network.near_at(fixture.index):
        pipe = network.elements[near.b[0]]
        if pipe.system in WATER_SUPPLY:
            ids = (*fixture.element_ids, pipe.guid)
            return not_known(PIPE_NEAR, fixture, pipe, near.apart, elements=ids, required=least)
    return not_known(NOT_JOINED, fixture, required=least)


def _remedy(fixture: WaterFixture, solved: Solution, tap: Tap, short_psi: float) -> str | Change:
    """What of the larger pipe for all fixtures leads to this one; where pipe is not enough, how
    much more pressure all that begin at one place need there, as the worst off of them."""
    larger = larger_pipe(solved.context)
    if tap not in larger.short_psi:
        return as_remedy(made_larger(solved, tap, larger.sizes_in))
    set_at = _set_at(solved, tap)
    needed_psi = max(short_psi, _worst_psi(solved.context)[set_at.guid])
    text = (
        f"Raise the pressure by {number_text(needed_psi, 3)} psi, by the regulator's setting or a "
        "pump, or take less loss in devices: larger pipe in a few runs is not enough."
    )
    return Change("work", (set_at.guid,), "more pressure", text)


@derived
def _worst_psi(context: Context) -> dict[str, float]:
    """What the worst off of all that is fed there lacks, by GlobalId of where pressure is set."""
    worst, solved = dict[str, float](), solution(context)
    for tap, short_psi in larger_pipe(context).short_psi.items():
        guid = _set_at(solved, tap).guid
        worst[guid] = max(short_psi, worst.get(guid, short_psi))
    return worst


def _set_at(solved: Solution, tap: Tap) -> Element:
    """Where the pressure at a connection is set: the last regulator that governs, or pump or tank
    where it begins anew, on the path to it; else where the water comes from."""
    segment = given(tap.segment)
    begun_at = beginnings(solved.context)
    for line in reversed(segment.to_source):
        if governing_m(solved, line) is not None:
            return line.elements[-1]
        if line.number in begun_at:
            return begun_at[line.number].element
    return segment.distribution.elements[segment.source]


@dataclass(frozen=True)
class LargerPipe:
    """Sizes of lines by number with which fixtures have their pressure, and the connections that
    are short of it with any, with how much as drawn."""

    sizes_in: Mapping[int, float]
    short_psi: Mapping[Tap, float]


@derived
def larger_pipe(context: Context) -> LargerPipe:
    """The larger pipe that all fixtures need together: the fewest runs for the one that is worst
    off, then what the next needs more, and so on."""
    drawn = solved = solution(context)
    short = dict[Tap, float]()
    wanted = [
        (residual - want.psi, n, tap, want.psi)
        for n, fixture in enumerate(solved.supply.fixtures)
        if fixture.joined and (want := needed(fixture, context)) is not None
        for tap, pressure in drawn.by_branch(fixture)
        if (residual := pressure.residual_psi) is not None
        and not at_least(residual, want.psi, "psi")
    ]
    for left, _, tap, want_psi in sorted(wanted, key=itemgetter(0, 1)):
        residual = solved.at(tap).residual_psi
        if residual is None or at_least(residual, want_psi, "psi"):
            continue
        changes = upsizings(solved, tap, (want_psi - residual) * PA_PER_PSI)
        if changes is None:
            short[tap] = -left
            continue
        sizes = {n: size for change in changes for n, size in change.sizes_in.items()}
        solved = solve_again(solved, sizes)
    return LargerPipe(solved.sizes_in, short)


def budget(tap: Tap, pressure: Pressure, want: Needed | None, context: Context) -> tuple[Step, ...]:
    """The pressure from the main to a connection, line by line; from a regulator that governs on,
    what comes before it no longer counts."""
    if tap.segment is None:
        return ()
    solved = solution(context)
    private = tap.segment.source in solved.supply.sources.private
    steps = [] if private and beginnings(context) else [_main_step(solved)]
    base, base_m = "the main", solved.main_z_m
    for words, lost in solved.fixed_pa.items():
        if lost:
            steps.append(Step(f"less {words}", -psi(lost), "psi", "job file"))
    for line in solved.to_source(tap.segment):
        along, set_at = _along(context, *line)
        steps += along
        base, base_m = set_at or (base, base_m)
    rise = pressure.elevation_m - base_m
    steps.append(
        Step(
            f"Height of the connection above {base}, {rise / M_PER_FT:.1f} ft",
            -psi(pressure_of_head_pa(rise)), "psi", "0.433 psi a foot",
        )
    )  # fmt: skip
    if pressure.residual_psi is not None:
        steps.append(Step("Residual pressure", pressure.residual_psi, "psi"))
    if want is not None:
        steps.append(Step(f"Needed by {want.words}", want.psi, "psi", want.limit.clause))
    return tuple(steps)


@derived
def _along(
    context: Context, segment: WaterSegment, m3_per_s: float | None, taken: Loss
) -> tuple[list[Step], tuple[str, float] | None]:
    """The steps along a line at what passes it; where the pressure is set anew at its end, what
    sets it and how high that stands."""
    solved, set_at = solution(context), None
    steps = _segment_steps(segment, m3_per_s, taken, context)
    begun = beginnings(context).get(segment.number)
    if begun is not None:
        set_at = begun.element.label, or_zero(begun.height_m)
        steps.append(_begun_step(begun, context))
    valve_m = governing_m(solved, segment)
    if valve_m is not None:
        valve, head = segment.elements[-1], solved.heads[segment.number].flowing_pa
        set_at, setting = (valve.label, valve_m), given(setting_pa(valve, context))
        words = f"{valve.label} then gives its {psi(setting):.0f} psi less fall-off"
        left = psi(given(head) - pressure_of_head_pa(valve_m))
        steps.append(Step(words, left, "psi"))
    return steps, set_at


def _begun_step(begun: Beginning, context: Context) -> Step:
    flowing = set_to(begun, context)[1]
    if flowing is None:
        return Step(f"Pressure behind {begun.element.label} while water runs: not known")
    return Step(f"{begun.element.label} gives while water runs", psi(flowing), "psi", "as set")


def _main_step(solved: Solution) -> Step:
    water = solved.context.job.water
    if solved.flowing_pa is None:
        return Step("Pressure of the main while water runs: not known")
    static, residual, at = water.static_pressure, water.residual_pressure, ""
    if water.flow_at_residual is not None and static is not None and residual is not None:
        at = f", from {psi(static):.0f} psi standing and {psi(residual):.0f} psi at the flow "
        at += "measured, by the power 1.85"
    return Step(f"Main at the building's demand{at}", psi(solved.flowing_pa), "psi", "job file")


def _segment_steps(
    segment: WaterSegment, m3_per_s: float | None, found: Loss, context: Context
) -> list[Step]:
    """Of one line, at what passes it."""
    if found.unknown and not found.total_pa:
        return [Step(f"{segment.label}: loss not known")]
    flow = "flow not known"
    if m3_per_s is not None:
        flow = f"{number_text(m3_per_s / M3_PER_S_PER_GPM, 3)} gpm"
    feet = f"{found.equivalent_m / M_PER_FT:.1f} ft with fittings"
    if found.allowance_m:
        feet += f", {found.allowance_m / M_PER_FT:.1f} ft of it the allowance where none is drawn"
    method = METHODS[context.job.water.friction]
    steps = []
    if found.friction_pa:
        words = f"{segment.label}: {flow}, {feet}"
        steps.append(Step(words, -psi(found.friction_pa), "psi", method))
    if found.devices_pa:
        steps.append(Step(f"Devices in {segment.label}", -psi(found.devices_pa), "psi"))
    return steps


RULES = (pressure_at_fixture,)
